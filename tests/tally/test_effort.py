"""Colour changes along rows, and the hours they and the beads take."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from support import make_plate

from img2plate.split.tiles import split
from img2plate.tally.counts import count, count_plates
from img2plate.tally.effort import Effort, colour_changes, rough_hours
from img2plate.tally.runs import row_runs


def test_changes_are_counted_along_rows_and_over_gaps() -> None:
    cells = np.array([[0, 0, 1, -1, 1, 2], [0, 1, 0, -1, -1, -1], [-1, 2, 2, 2, -1, 0]], np.int16)
    assert colour_changes(cells) == 2 + 2 + 1
    assert colour_changes(cells[:, :1]) == 0
    assert colour_changes(np.full((3, 3), -1, np.int16)) == 0


@given(st.integers(1, 20), st.integers(1, 20), st.integers(1, 4), st.integers(0, 99))
def test_changes_are_one_less_than_the_runs_that_are_read_out(
    width: int, height: int, colours: int, seed: int
) -> None:
    cells = np.random.default_rng(seed).integers(0, colours, (height, width)).astype(np.int16)
    assert colour_changes(cells) == sum(len(row_runs(row)) - 1 for row in cells)


def test_the_formula() -> None:
    effort = Effort(beads=1000, changes=500, colours=10)
    assert effort.hours == pytest.approx((3 * 1000 + 2 * 500 + 60 * 10) / 3600)
    at_hand = Effort(beads=1000, changes=500, colours=0, pace=500)
    assert at_hand.hours == pytest.approx(2.0)
    assert rough_hours(1800) == pytest.approx(2.0)


def test_a_slower_hand_takes_longer_and_more_changes_do_too() -> None:
    plate = make_plate(30, 20)
    tiles = split(plate, (29, 29))
    usual, slow = count(plate, tiles), count(plate, tiles, pace=300)
    assert slow.hours == pytest.approx(3 * usual.hours)
    calm = Effort(usual.beads, usual.changes // 2, len(usual.colours))
    assert calm.hours < usual.hours
    both = count_plates([plate, plate], ["a", "b"])
    assert both.changes == 2 * usual.changes
