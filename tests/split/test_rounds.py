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
from img2plate.split.tiles import split


def plan(columns: int, rows: int, owned: int) -> tuple[Round, ...]:
    plate = make_plate(columns * 2, rows * 2, colours=40, seed=columns)
    plate.cells[:] = np.abs(plate.cells)
    return plan_rounds(plate, split(plate, (2, 2)), owned)


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
