"""Seams: quiet ones against all possible ones, the number of boards, slivers."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import accumulate, pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support import make_palette, make_plate

from img2plate.base.errors import OptionError
from img2plate.plate.plate import Plate
from img2plate.split.cuts import cuts, detail
from img2plate.split.tiles import join, split


def widths(starts: tuple[int, ...], length: int) -> list[int]:
    return [b - a for a, b in pairwise((*starts, length))]


def all_sizes(length: int, count: int, most: int, least: int) -> Iterator[list[int]]:
    """Every way to write a length as so many sizes within bounds."""
    if count == 1:
        if least <= length <= most:
            yield [length]
        return
    for size in range(least, most + 1):
        if (count - 1) * least <= length - size <= (count - 1) * most:
            yield from ([size, *rest] for rest in all_sizes(length - size, count - 1, most, least))


def cheapest(costs: list[int], most: int, least: int) -> tuple[int, int]:
    """Cost and sum of squares of the best cuts, by trying all."""
    length = len(costs) - 1
    count = -(-length // most)
    if count == 1:
        return 0, length**2
    return min(
        (sum(costs[x] for x in accumulate(sizes[:-1])), sum(size**2 for size in sizes))
        for sizes in all_sizes(length, count, most, least)
    )


@st.composite
def plates_and_boards(draw):
    """A plate of up to 12 boards along each axis; small boards, so that all cuts can be tried."""
    most = draw(st.integers(1, 4))
    boards = draw(st.integers(1, 12))
    length = draw(st.integers((boards - 1) * most + 1, boards * most))
    least = draw(st.integers(1, max(1, length // boards)))
    other = draw(st.integers(1, 6))
    return most, length, min(least, most), other, draw(st.integers(0, 1 << 30))


@settings(deadline=None, max_examples=150)
@given(plates_and_boards())
def test_quiet_seams_are_the_cheapest_of_all(case) -> None:
    most, length, least, other, seed = case
    plate = make_plate(length, other, colours=3, seed=seed)
    costs = detail(plate.cells, 1)
    starts = cuts("quiet", costs, most, least)
    sizes = widths(starts, length)
    assert len(starts) == -(-length // most)
    assert max(sizes) <= most
    assert len(starts) == 1 or min(sizes) >= least
    found = int(costs[list(starts)].sum()), sum(size**2 for size in sizes)
    assert found == cheapest(costs.tolist(), most, least)


@pytest.mark.parametrize("boards", range(1, 13))
def test_quiet_seams_of_both_axes_on_up_to_12_x_12_boards(boards: int) -> None:
    """Boards of 3 x 2 pegs with one peg of slack each way, every number of boards to 12 x 12."""
    for seed in range(4):
        size = max(1, boards * 3 - 2), max(1, boards * 2 - 1)
        plate = make_plate(*size, colours=2 + seed, seed=seed)
        cut = split(plate, (3, 2), seams="quiet", smallest=1)
        across = cheapest(detail(plate.cells, 1).tolist(), 3, 1)
        down = cheapest(detail(plate.cells, 0).tolist(), 2, 1)
        assert cut.detail_cut == across[0] + down[0]
        assert cut.map_size == (boards, boards)


@settings(deadline=None)
@given(st.integers(1, 90), st.integers(1, 90), st.integers(1, 30), st.integers(1, 30),
       st.sampled_from(["full", "even", "quiet"]))  # fmt: skip
def test_no_way_takes_more_boards_than_another(width, height, across, down, way) -> None:
    plate = make_plate(width, height, colours=4, seed=width)
    cut = split(plate, (across, down), seams=way, smallest=1)
    assert cut.map_size == (-(-width // across), -(-height // down))
    assert all(tile.width <= across and tile.height <= down for tile in cut.tiles)
    whole = join(cut, [tile.of(plate.cells) for tile in cut.tiles], plate.size)
    np.testing.assert_array_equal(whole, plate.cells)
    if way == "quiet":
        assert cut.detail_cut <= split(plate, (across, down)).detail_cut
        assert cut.detail_cut <= split(plate, (across, down), seams="even").detail_cut


def test_even_tiles_differ_by_a_peg_at_most() -> None:
    for length in range(1, 200):
        sizes = widths(cuts("even", np.zeros(length + 1, np.int64), 29), length)
        assert max(sizes) - min(sizes) <= 1


def test_changes_that_meet_a_seam() -> None:
    """The example in the module's docstring: one change on the left, none on the right."""
    cells = np.array([[0, 0, 0, 1], [0, 2, 0, 1]], np.int16)
    assert detail(cells, 1).tolist() == [0, 1, 1, 0, 0]
    # Between the rows: 0|2 and 2|0, 0|1 below; 0|1 above.
    assert detail(cells, 0).tolist() == [0, 4, 0]


def test_a_mast_is_not_cut_across() -> None:
    """A boat on open sea with a one-bead boom from peg 8 to 12: the seam goes beside it."""
    cells = np.zeros((20, 20), np.int16)
    cells[9, 8:13] = 1
    plate = Plate(cells, make_palette(2))
    plain, quiet = split(plate, (10, 20)), split(plate, (13, 20), seams="quiet")
    assert plain.detail_cut == 4
    assert quiet.detail_cut == 0
    assert quiet.tiles[1].x == 7


def test_slivers_are_refused() -> None:
    plate = make_plate(31, 10)
    assert min(t.width for t in split(plate, (29, 29), seams="quiet", smallest=9).tiles) >= 9
    with pytest.raises(OptionError, match=r"`smallest_tile`.*at most 15$"):
        split(plate, (29, 29), seams="quiet", smallest=16)
    with pytest.raises(OptionError, match="`smallest_tile`"):
        split(plate, (29, 29), seams="quiet", smallest=0)
    with pytest.raises(OptionError, match="`seams`"):
        split(plate, (29, 29), seams="loud")
    assert len(split(make_plate(3, 3), (29, 29), seams="quiet", smallest=9).tiles) == 1
