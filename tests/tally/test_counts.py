"""Counts add up: per colour, per tile, in all."""

from __future__ import annotations

import csv
from math import ceil, pi
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support import make_plate

from img2plate.base.bead import BeadSize, bead_size_for
from img2plate.base.errors import OptionError
from img2plate.split.tiles import split
from img2plate.tally.counts import count, count_plates
from img2plate.tally.table import write_counts


@settings(deadline=None)
@given(st.integers(1, 50), st.integers(1, 50), st.integers(1, 20), st.floats(0, 60))
def test_counts_add_up_to_cells(width, height, colours, spare) -> None:
    plate = make_plate(width, height, colours, seed=height)
    counts = count(plate, split(plate, (13, 7)), spare_percent=spare)
    assert counts.beads == np.count_nonzero(plate.cells >= 0) == plate.bead_count
    for line in counts.colours:
        assert line.beads == np.count_nonzero(plate.cells == line.index) == sum(line.per_tile)
        assert line.beads <= line.with_spares <= ceil(line.beads * (1 + spare / 100)) + 1
    order = [line.beads for line in counts.colours]
    assert order == sorted(order, reverse=True)


def test_ten_percent_of_110_is_11() -> None:
    """In floats 110 * 1.1 is over 121; it must not become 122."""
    plate = make_plate(11, 10, colours=1)
    plate.cells[:] = 0
    counts = count(plate, split(plate, (29, 29)), spare_percent=10)
    assert counts.with_spares == 121


def test_grams_are_those_of_a_tube_of_polyethylene() -> None:
    """5.0 x 2.6 x 5.0 mm from memory; density 0.92 (Cardarelli 2018, 0.912 to 0.925)."""
    volume = pi / 4 * (5.0**2 - 2.6**2) * 5.0
    assert BeadSize().grams == pytest.approx(volume * 0.92e-3)
    assert 0.05 < BeadSize().grams < 0.08
    assert bead_size_for(2.6).grams == pytest.approx(BeadSize().grams * 0.52**3)


def test_how_full_cells_are_when_pressed() -> None:
    """Volume is kept: 72% at 4 mm, 95% at 3 mm (worked out from the sizes, from memory)."""
    assert BeadSize().fill(5.0, 4.0) == pytest.approx(0.716, abs=0.001)
    assert BeadSize().fill(5.0, 3.0) == pytest.approx(0.955, abs=0.001)
    holes = [BeadSize().pressed(5.0, t).hole_mm for t in (5.0, 4.0, 3.5, 3.0, 2.5)]
    assert holes == sorted(holes, reverse=True)
    assert holes[-1] == 0


def test_what_is_counted_when_nothing_else_is_said() -> None:
    """No spare, and the guess of how long it takes."""
    plate = make_plate(31, 20)
    for counts in (count(plate, split(plate, (29, 29))), count_plates([plate], ["a"])):
        assert counts.spare_percent == 0
        assert counts.with_spares == counts.beads == plate.bead_count
        seconds = 3 * counts.beads + 2 * counts.changes + 60 * len(counts.colours)
        assert counts.hours == pytest.approx(seconds / 3600)
        assert (counts.bags, counts.price, counts.unpriced) == (0, None, 0)
        assert all((c.bag, c.bags, c.price) == (None, 0, None) for c in counts.colours)


def test_no_spare_is_a_number_too() -> None:
    plate = make_plate(3, 3)
    assert count(plate, split(plate, (29, 29)), spare_percent=0).with_spares == plate.bead_count


def test_wrong_numbers() -> None:
    plate = make_plate(3, 3)
    for wrong in (
        {"spare_percent": -5},
        {"pace": 0},
        {"pace": float("nan")},
        {"spare_percent": float("nan")},
    ):
        with pytest.raises(OptionError):
            count(plate, split(plate, (29, 29)), **wrong)


def test_the_table_has_a_line_a_colour_and_a_total(tmp_path: Path) -> None:
    plate = make_plate(30, 30, colours=5)
    counts = count(plate, split(plate, (29, 29)), spare_percent=5)
    write_counts(tmp_path / "counts.csv", counts)
    text = (tmp_path / "counts.csv").read_text(encoding="utf-8")
    rows = list(csv.DictReader(text.splitlines()))
    assert len(rows) == 6
    assert sum(int(row["beads"]) for row in rows[:-1]) == int(rows[-1]["beads"]) == counts.beads
    assert sum(int(row["A1"]) for row in rows[:-1]) == int(rows[-1]["A1"])
    assert rows[0]["code"] == counts.colours[0].bead.code
