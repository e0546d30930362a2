"""Rounds: every tile once, no more boards than owned, always a seam open to the next round."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support import make_palette, make_plate

from img2plate.base.errors import OptionError
from img2plate.plate.plate import Plate
from img2plate.split.rounds import Round, plan_rounds
from img2plate.split.rounds_by_hand import parse_rounds, placed_rounds
from img2plate.split.tiles import Split, split


def full(columns: int, rows: int) -> tuple[Plate, Split]:
    """A plate with beads on all of so many boards."""
    plate = make_plate(columns * 2, rows * 2, colours=40, seed=columns)
    plate.cells[:] = np.abs(plate.cells)
    return plate, split(plate, (2, 2))


def plan(columns: int, rows: int, owned: int) -> tuple[Round, ...]:
    return plan_rounds(*full(columns, rows), owned)


def are_neighbours(one, two) -> bool:
    return abs(one.column - two.column) + abs(one.row - two.row) == 1


@settings(deadline=None)
@given(st.integers(1, 9), st.integers(1, 9), st.integers(1, 12))
def test_each_round_lies_against_what_is_built(columns: int, rows: int, owned: int) -> None:
    rounds = plan(columns, rows, owned)
    tiles = [tile for each in rounds for tile in each.tiles]
    assert len({tile.name for tile in tiles}) == len(tiles) == columns * rows
    assert len(rounds) == -(-columns * rows // owned)
    assert all(len(each.tiles) <= owned for each in rounds)
    for number, tile in enumerate(tiles[1:], 1):
        assert any(are_neighbours(tile, other) for other in tiles[:number]), tile.name
    for each in rounds[1:]:
        assert each.joining
    for each in rounds[:-1]:
        assert each.open


@settings(deadline=None)
@given(st.integers(1, 9), st.integers(1, 9), st.integers(1, 12))
def test_every_seam_is_taped_once_and_opened_before_it_is_joined(columns, rows, owned) -> None:
    rounds = plan(columns, rows, owned)
    inner = [seam.number for each in rounds for seam in each.inner]
    joining = [seam.number for each in rounds for seam in each.joining]
    opened: set[int] = set()
    for each in rounds:
        assert {seam.number for seam in each.joining} <= opened
        opened |= {seam.number for seam in each.open}
    assert sorted(joining) == sorted(opened)
    count = (columns - 1) * rows + columns * (rows - 1)
    assert sorted(inner + joining) == list(range(1, count + 1))


def test_four_boards_on_a_square_map_are_used_as_squares() -> None:
    """2 x 2 blocks leave 8 seams open on a 4 x 4 map, rows of 4 would leave 12."""
    rounds = plan(4, 4, 4)
    assert sum(len(each.open) for each in rounds) == 8
    assert {tile.name for tile in rounds[0].tiles} == {"A1", "A2", "B1", "B2"}


@pytest.mark.parametrize(
    ("columns", "rows", "owned", "opened"),
    [(3, 4, 5, 6), (4, 5, 5, 11), (4, 5, 7, 9), (4, 6, 5, 15)],
)
def test_bands_are_walked_there_and_back(columns: int, rows: int, owned: int, opened: int) -> None:
    """Walked one way only, each of these would leave one seam more open, or two."""
    assert sum(len(each.open) for each in plan(columns, rows, owned)) == opened


def test_rounds_are_numbered_from_1_and_a_round_is_one_piece() -> None:
    rounds = plan(5, 4, 3)
    assert [each.number for each in rounds] == list(range(1, 8))
    for each in rounds:
        for number, tile in enumerate(each.tiles[1:], 1):
            assert any(are_neighbours(tile, other) for other in each.tiles[:number])


def test_a_round_in_one_piece_is_worth_open_seams() -> None:
    """Of 4 x 8 boards in rounds of 5, the order with the fewest open seams, 22, tears a round."""
    rounds = plan(4, 8, 5)
    assert sum(len(each.open) for each in rounds) == 24
    for each in rounds:
        for number, tile in enumerate(each.tiles[1:], 1):
            assert any(are_neighbours(tile, other) for other in each.tiles[:number])


def test_all_boards_at_hand_is_one_round() -> None:
    (only,) = plan(3, 2, 6)
    assert not only.open
    assert not only.joining
    assert len(only.inner) == 7


def test_tiles_without_beads_take_no_board() -> None:
    cells = np.zeros((30, 40), np.int16)
    cells[10:20, 10:20] = -1
    plate = Plate(cells, make_palette(1))
    rounds = plan_rounds(plate, split(plate, (10, 10)), 5)
    names = [tile.name for each in rounds for tile in each.tiles]
    assert len(names) == 11
    assert "B2" not in names
    with pytest.raises(OptionError, match="`boards_owned`"):
        plan_rounds(plate, split(plate, (10, 10)), 0)


def by_hand(columns: int, rows: int, text: str, owned: int | None = None) -> tuple[Round, ...]:
    return placed_rounds(*full(columns, rows), parse_rounds(text), owned)


def test_rounds_by_hand_are_built_as_they_are_written() -> None:
    first, second = by_hand(2, 2, "b1, A1/A2,B2", owned=2)
    assert [[tile.name for tile in each.tiles] for each in (first, second)] == [
        ["B1", "A1"],
        ["A2", "B2"],
    ]
    assert [(len(e.inner), len(e.joining), len(e.open)) for e in (first, second)] == [
        (1, 0, 2),
        (1, 2, 0),
    ]


@given(st.data())
def test_what_was_worked_out_can_be_written_by_hand(data: st.DataObject) -> None:
    columns, rows = data.draw(st.integers(1, 5)), data.draw(st.integers(1, 5))
    owned = data.draw(st.integers(1, columns * rows))
    worked_out = plan(columns, rows, owned)
    text = "/".join(",".join(tile.name for tile in each.tiles) for each in worked_out)
    assert by_hand(columns, rows, text, owned) == worked_out


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("A1,A2", "board B1 is in no round"),
        ("A1,A2,B1,B2,C1", "the plate has no board C1"),
        ("A1,A2/B1,B2,A1", "board A1 is named twice"),
        ("A1,A2,B1/B2", "round 1 takes 3 boards, and you own 2"),
        ("A1 and A2", "is not boards as in A1,A2/B1,B2"),
        ("", "is not boards"),
    ],
)
def test_rounds_that_cannot_be_are_refused(text: str, said: str) -> None:
    with pytest.raises(OptionError, match=said):
        by_hand(2, 2, text, owned=2)


def test_boards_without_beads_need_not_be_named() -> None:
    cells = np.zeros((20, 20), np.int16)
    cells[10:, 10:] = -1
    plate = Plate(cells, make_palette(1))
    cut = split(plate, (10, 10))
    for text in ("A1,B1/A2", "A1,B1/A2/B2"):
        assert len(placed_rounds(plate, cut, parse_rounds(text), None)) == 2
