"""Tiles cover the plate exactly, and seams lie between neighbours."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support import make_plate

from img2plate.base.errors import OptionError
from img2plate.base.words import column_letters
from img2plate.split.tiles import join, split


@settings(deadline=None)
@given(st.integers(1, 70), st.integers(1, 70), st.integers(1, 30), st.integers(1, 30))
def test_tiles_put_together_give_the_plate_back(width, height, across, down) -> None:
    plate = make_plate(width, height, seed=width)
    cut = split(plate, (across, down))
    whole = join(cut, [tile.of(plate.cells) for tile in cut.tiles], plate.size)
    np.testing.assert_array_equal(whole, plate.cells)
    assert sum(tile.width * tile.height for tile in cut.tiles) == width * height
    assert all(tile.width <= across and tile.height <= down for tile in cut.tiles)
    columns, rows = cut.map_size
    assert len(cut.tiles) == columns * rows
    assert len(cut.seams) == (columns - 1) * rows + columns * (rows - 1)


def test_seams_are_named_once_and_touch_their_tiles() -> None:
    cut = split(make_plate(58, 87), (29, 29))
    assert [seam.number for seam in cut.seams] == list(range(1, 8))
    first = cut.seams[0]
    assert (first.first.name, first.second.name, first.is_vertical) == ("A1", "B1", True)
    assert (first.at, first.span) == (29, (0, 28))
    below = cut.seams[1]
    assert (below.first.name, below.second.name, below.is_vertical) == ("A1", "A2", False)
    assert {seam.number for seam in cut.seams_of(cut.tiles[0])} == {1, 2}


def test_column_letters_go_on_after_z() -> None:
    assert [column_letters(n) for n in (0, 25, 26, 27, 701, 702)] == [
        "A", "Z", "AA", "AB", "ZZ", "AAA",
    ]  # fmt: skip


def test_a_board_without_pegs() -> None:
    with pytest.raises(OptionError, match="no pegs"):
        split(make_plate(3, 3), (0, 29))
