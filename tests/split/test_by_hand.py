"""Seams by hand: read as they are written, tiles as they say, what no board holds refused."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support import make_plate

from img2plate.base.errors import OptionError
from img2plate.split.by_hand import WAYS, read_seams
from img2plate.split.rounds import plan_rounds
from img2plate.split.tiles import join, split


@pytest.mark.parametrize(
    ("text", "columns", "rows"),
    [
        ("29,50/29", (29, 50), (29,)),
        (" 50, 29 / 29 ", (29, 50), (29,)),
        ("29,29,29/", (29,), ()),
        ("/7", (), (7,)),
        ("/", (), ()),
    ],
)
def test_what_is_written_is_read(
    text: str, columns: tuple[int, ...], rows: tuple[int, ...]
) -> None:
    assert read_seams(text) == (columns, rows)


@pytest.mark.parametrize("text", ["", "loud", "29", "29;50/29", "-3/4", "1.5/", "1//2", "1/2/3",
                                  ",1/", "1,/", "999999/"])  # fmt: skip
def test_what_says_nothing_is_refused(text: str) -> None:
    with pytest.raises(OptionError, match=r"`seams`.*29,50/29"):
        read_seams(text)


def test_the_ways_are_no_places() -> None:
    assert [read_seams(way) for way in WAYS] == [None, None, None]


@st.composite
def seams_that_fit(draw):
    """A plate, a board, and seams of each axis with every tile on a board."""
    boards = draw(st.tuples(st.integers(1, 12), st.integers(1, 12)))
    axes = [
        draw(st.lists(st.integers(1, most), min_size=1, max_size=6)) for most in boards
    ]  # widths of tiles
    return boards, axes


@settings(deadline=None)
@given(seams_that_fit())
def test_tiles_are_as_the_seams_say(case) -> None:
    board, axes = case
    places = [np.cumsum(sizes)[:-1] for sizes in axes]
    text = "/".join(",".join(str(peg) for peg in pegs) for pegs in places)
    plate = make_plate(sum(axes[0]), sum(axes[1]), colours=4, seed=7)
    cut = split(plate, board, seams=text)
    assert cut.map_size == (len(axes[0]), len(axes[1]))
    assert [tile.width for tile in cut.tiles if tile.row == 0] == axes[0]
    assert [tile.height for tile in cut.tiles if tile.column == 0] == axes[1]
    whole = join(cut, [tile.of(plate.cells) for tile in cut.tiles], plate.size)
    np.testing.assert_array_equal(whole, plate.cells)
    built = [tile for each in plan_rounds(plate, cut, 2) for tile in each.tiles]
    assert len(built) == len(set(built)) == sum((t.of(plate.cells) >= 0).any() for t in cut.tiles)


@pytest.mark.parametrize("way", WAYS)
def test_a_way_written_out_is_the_same_cut(way: str) -> None:
    plate = make_plate(70, 64, colours=5, seed=3)
    cut = split(plate, (29, 29), seams=way)
    columns = {tile.x for tile in cut.tiles} - {0}
    rows = {tile.y for tile in cut.tiles} - {0}
    text = f"{','.join(map(str, columns))}/{','.join(map(str, rows))}"
    assert split(plate, (29, 29), seams=text) == cut


@settings(deadline=None)
@given(st.integers(1, 60), st.lists(st.integers(0, 70), max_size=5), st.integers(1, 20))
def test_no_tile_is_ever_larger_than_a_board(length: int, pegs: list[int], most: int) -> None:
    text = ",".join(map(str, pegs)) + "/"
    edges = [0, *sorted(set(pegs)), length]
    fits = all(0 < b - a <= most for a, b in pairwise(edges))
    plate = make_plate(length, 1, colours=2)
    if fits:
        assert max(tile.width for tile in split(plate, (most, 9), seams=text).tiles) <= most
    else:
        with pytest.raises(OptionError, match="`seams`"):
            split(plate, (most, 9), seams=text)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("29/29", "columns 30 to 70 are 41 pegs, more than the 29 of a board;"
                  " put a seam after column 58 or before it"),
        ("29,58/", "rows 1 to 40 are 40 pegs, more than the 29 of a board;"
                   " put a seam after row 29 or before it"),
        ("29,58,70/20", "no seam can come after column 70 of 70; give columns from 1 to 69"),
        ("0,29,58/20", "no seam can come after column 0 of 70; give columns from 1 to 69"),
    ],
)  # fmt: skip
def test_what_does_not_fit_is_told_and_what_to_do(text: str, words: str) -> None:
    with pytest.raises(OptionError) as refused:
        split(make_plate(70, 40), (29, 29), seams=text)
    assert str(refused.value) == f"`seams`: {words}"
