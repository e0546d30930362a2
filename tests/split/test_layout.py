"""Plates on boards: none overlap, gaps are kept, and boards are no fewer than the bound."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from img2plate.base.errors import SizeError
from img2plate.split.layout import lay_out, least_sets

ROOM = (29, 20)
SIZES = st.lists(st.tuples(st.integers(1, 20), st.integers(1, 20)), min_size=1, max_size=9)


@given(SIZES, st.integers(0, 3), st.booleans())
def test_plates_lie_apart_on_their_boards(
    sizes: list[tuple[int, int]], gap: int, may_turn: bool
) -> None:
    found = lay_out(sizes, ROOM, gap, may_turn=may_turn)
    taken = np.zeros((found.sets, ROOM[1] + gap, ROOM[0] + gap), int)
    assert [each.number for each in found.placed] == list(range(len(sizes)))
    for number, place, column, row, is_turned in found.placed:
        wide, high = sizes[number][::-1] if is_turned else sizes[number]
        assert may_turn or not is_turned
        assert column + wide <= ROOM[0]
        assert row + high <= ROOM[1]
        taken[place, row : row + high + gap, column : column + wide + gap] += 1
    assert taken.max() == 1
    assert (taken.reshape(found.sets, -1).sum(axis=1) > 0).all()
    assert found.least <= found.sets <= len(sizes)
    assert found.least == least_sets(sizes, ROOM, gap, may_turn=may_turn)


@pytest.mark.parametrize(
    ("sizes", "gap", "sets"),
    [
        ([(14, 14)] * 9, 1, 3),
        ([(14, 14)] * 9, 2, 9),
        ([(29, 29)] * 2, 1, 2),
        ([(29, 9), (29, 9), (29, 9)], 1, 1),
        ([(15, 15)] * 3, 0, 3),
        ([(20, 9), (9, 20), (20, 9), (9, 20)], 0, 1),
    ],
)
def test_known_layouts_take_the_fewest_boards(
    sizes: list[tuple[int, int]], gap: int, sets: int
) -> None:
    assert lay_out(sizes, (29, 29), gap).sets == sets


def test_a_plate_is_turned_only_where_that_saves_a_board() -> None:
    assert not any(each.is_turned for each in lay_out([(10, 20), (18, 10)], (29, 29), 1).placed)
    rows = [(9, 29), (29, 9), (29, 9)]
    assert lay_out(rows, (29, 29), 1).sets == 1
    assert lay_out(rows, (29, 29), 1, may_turn=False).sets == 2
    assert lay_out([(10, 30)], (30, 10), 1).placed[0].is_turned


def test_a_plate_that_no_board_holds_is_named() -> None:
    with pytest.raises(SizeError, match="plate 2 has 30 x 5 beads"):
        lay_out([(5, 5), (30, 5)], (29, 29), 1)
