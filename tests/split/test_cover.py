"""Boards of several sizes: covers are whole, within what is owned, and have the fewest joins."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from support import make_plate

from img2plate.base.errors import OptionError
from img2plate.base.lengths import Board, Boards, OwnedBoard, owned_boards, parse_boards
from img2plate.plate.plate import Plate
from img2plate.split.cover import Laid, cover, joins_of
from img2plate.split.covered import detail_met
from img2plate.split.tiles import join, split

Pool = tuple[tuple[int, int], ...]


def fewest_joins(size: tuple[int, int], pool: Pool) -> int | None:
    """All covers at all, with tiles of every size: cell by cell, none skipped."""
    best: list[int] = []

    def fill(seen: np.ndarray, left: Pool, parts: list[Laid]) -> None:
        if best and joins_of(parts) >= best[0]:
            return
        free = np.argwhere(~seen)
        if not len(free):
            best[:] = [joins_of(parts)]
            return
        y, x = map(int, free[0])
        for board in sorted(set(left), reverse=True):
            rest = list(left)
            rest.remove(board)
            for height in range(min(board[1], size[1] - y), 0, -1):
                for width in range(min(board[0], size[0] - x), 0, -1):
                    if seen[y : y + height, x : x + width].any():
                        continue
                    more = seen.copy()
                    more[y : y + height, x : x + width] = True
                    fill(more, tuple(rest), [*parts, Laid(x, y, width, height, Board(*board))])

    fill(np.zeros(size[::-1], bool), pool, [])
    return best[0] if best else None


SIDES = st.tuples(st.integers(1, 4), st.integers(1, 4))


@settings(deadline=None, max_examples=60)
@given(st.tuples(st.integers(2, 6), st.integers(2, 5)), SIDES, SIDES, st.integers(1, 3),
       st.integers(1, 3))  # fmt: skip
@example((4, 5), (2, 1), (3, 4), 2, 2)  # two parts narrower than their board, above two small ones
@example((5, 4), (1, 2), (4, 3), 2, 2)
def test_no_cover_has_fewer_joins(size, one, two, first, second) -> None:
    """Beside every cover there is, on small plates; nothing is said to be impossible that is not.

    A cover that only a tile narrower than board and gap allows may be missed: it then has the
    joins that the bound promises at least.
    """
    owned = [OwnedBoard(Board(*one), first)]
    owned += [OwnedBoard(Board(*two), second)] if two != one else []
    pool = tuple(tuple(each.board) for each in owned for _ in range(each.number))
    wanted = fewest_joins(size, pool)
    try:
        found = cover(size, tuple(owned))
    except OptionError:
        assert wanted is None
        return
    assert wanted is not None
    assert found.least_joins <= wanted == found.joins


def whole(cut, plate: Plate) -> None:
    """Tiles make up the plate, each within its board, and seams are where tiles touch."""
    seen = np.zeros(plate.cells.shape, int)
    for tile, board in zip(cut.tiles, cut.boards, strict=True):
        seen[tile.y : tile.y + tile.height, tile.x : tile.x + tile.width] += 1
        assert (tile.width, tile.height) <= tuple(board)
        assert tile.width <= board[0]
        assert tile.height <= board[1]
    assert (seen == 1).all()
    assert len({tile.name for tile in cut.tiles}) == len(cut.tiles)
    parts = [tile.of(plate.cells) for tile in cut.tiles]
    np.testing.assert_array_equal(join(cut, parts, plate.size), plate.cells)


@settings(deadline=None, max_examples=25)
@given(st.integers(20, 60), st.integers(20, 60), st.sampled_from(["full", "quiet"]),
       st.sampled_from(["29x29*4,14x14*9", "29x29,14x14", "20x31*3,13x17,29x14*2"]))  # fmt: skip
@example(44, 49, "quiet", "20x31*3,13x17,29x14*2")  # a join that moved made others longer
def test_plates_are_whole_on_what_is_owned(width, height, seams, text) -> None:
    plate, board = make_plate(width, height, seed=width), parse_boards(text)
    cut = split(plate, board, seams=seams)
    whole(cut, plate)
    for size, number in owned_boards(board):
        assert number is None or cut.boards.count(size) <= number
    for seam in cut.seams:
        first, last = seam.span
        assert first <= last
        assert seam.second.x == seam.at if seam.is_vertical else seam.second.y == seam.at
    if seams == "quiet":
        plain = split(plate, board)
        assert cut.detail_cut <= plain.detail_cut
        assert len(cut.seams) <= len(plain.seams)


def test_small_boards_lie_beside_a_large_one() -> None:
    plate = make_plate(43, 28)
    cut = split(plate, parse_boards("29x29*1,14x14*2"))
    assert [tile.name for tile in cut.tiles] == ["A1", "B1", "A2"]
    assert [tuple(board) for board in cut.boards] == [(29, 29), (14, 14), (14, 14)]
    assert [(s.first.name, s.second.name, s.span) for s in cut.seams] == [
        ("A1", "B1", (0, 13)), ("A1", "A2", (14, 27)), ("B1", "A2", (29, 42)),
    ]  # fmt: skip
    assert not cut.is_grid
    assert cut.cover_words.startswith("3 boards with 3 joins")


def test_quiet_joins_run_where_nothing_changes() -> None:
    """Stripes across but for two columns: the upright join goes between these."""
    plate = make_plate(40, 20, colours=2)
    plate.cells[:] = (np.arange(20) % 2)[:, None]
    plate.cells[:, 15:17] = 0
    cut = split(plate, parse_boards("29x29*1,28x20*1"), seams="quiet")
    assert cut.detail_cut == 0
    assert {tile.x for tile in cut.tiles} == {0, 16}
    parts = [Laid(t.x, t.y, t.width, t.height, Board(29, 29)) for t in cut.tiles]
    assert detail_met(parts, plate.cells) == 0


def test_seams_by_hand_keep_priority_and_get_the_smallest_boards() -> None:
    plate = make_plate(40, 14)
    board = parse_boards("29x29*2,14x14*2")
    cut = split(plate, board, seams="12,26/")
    assert [(tile.x, tile.width) for tile in cut.tiles] == [(0, 12), (12, 14), (26, 14)]
    assert sorted(map(str, cut.boards)) == ["14x14", "14x14", "29x29"]
    with pytest.raises(OptionError, match="do not suffice for 5 tiles"):
        split(plate, board, seams="8,16,24,32/")


def test_what_is_owned_is_read_and_written() -> None:
    board = parse_boards("14x14*2, 29x29*4")
    assert isinstance(board, Boards)
    assert tuple(board) == (29, 29)
    assert str(board) == "14x14*2,29x29*4"
    assert parse_boards(str(board)) == board
    assert type(parse_boards("29x29")) is Board
    for wrong in ("29x29*0", "29x29*a", "29x29,", "29x29*2,29x29", "29*2"):
        with pytest.raises(OptionError):
            parse_boards(wrong)
    with pytest.raises(OptionError, match="do not cover 90 x 90"):
        split(make_plate(90, 90), board)
