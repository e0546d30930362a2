"""Beads change places: counts stay, and the blurred plate comes nearer to the picture.

What a plate is off is worked out here again, whole and by scipy, from the definition: the sum of
the error times the error under each channel's autocorrelation, weighed by the picture's tone.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.ndimage import correlate
from support import make_palette

from img2plate.colour.look_error import RGB2OPPONENT, View
from img2plate.image.grid import Grid
from img2plate.plate.limits.keep import keep_to
from img2plate.plate.limits.swaps import REACH, _kernels, swap_beads

PALETTE = make_palette(6, seed=2)
VIEW = View(1.0, 5.0)


def off(cells: np.ndarray, rgb: np.ndarray) -> float:
    """Mean over the channels of the squared error that is left under the eye's filters."""
    wanted = rgb @ RGB2OPPONENT.T
    error = np.where(cells[..., None] >= 0, PALETTE.linear[cells] @ RGB2OPPONENT.T - wanted, 0)
    seen = [
        correlate(error[..., c], _kernels(VIEW)[..., c], mode="constant") * error[..., c]
        for c in range(3)
    ]
    return float(np.sum(seen))


def case(seed: int) -> tuple[np.ndarray, np.ndarray]:
    """Random beads for a smooth picture, one corner empty."""
    rng = np.random.default_rng(seed)
    y, x = np.mgrid[:12, :14] / 14
    rgb = np.stack([x, y, 1 - x], axis=-1) * 0.8 + 0.1
    cells = rng.integers(0, 6, (12, 14)).astype(np.int16)
    cells[:3, :2] = -1
    return cells, rgb


@pytest.mark.parametrize("seed", range(4))
def test_counts_stay_and_the_plate_comes_nearer(seed: int) -> None:
    cells, rgb = case(seed)
    limits = np.bincount(cells[cells >= 0], minlength=6)
    found = swap_beads(cells, rgb, PALETTE, limits, VIEW)
    assert ((found < 0) == (cells < 0)).all()
    np.testing.assert_array_equal(np.bincount(found[found >= 0], minlength=6), limits)
    assert off(found, rgb) < 0.5 * off(cells, rgb)


def test_beads_that_are_left_over_come_in() -> None:
    cells, rgb = case(7)
    counts = np.bincount(cells[cells >= 0], minlength=6)
    limits = counts + 5
    found = swap_beads(cells, rgb, PALETTE, limits, VIEW)
    used = np.bincount(found[found >= 0], minlength=6)
    assert (used <= limits).all()
    assert (used != counts).any()
    assert off(found, rgb) < off(swap_beads(cells, rgb, PALETTE, counts, VIEW), rgb)


@pytest.mark.parametrize("spare", [0, 3])
def test_no_change_is_left_that_would_gain(spare: int) -> None:
    """Every swap within reach, and every bead that is left over, tried from the definition.

    What a change of d in a cell adds is 2 d g + d d K(0), g the error under the autocorrelation,
    weighed by the squared slope of the cube root at the cell's luminance; of two cells that
    exchange beads, each takes its share of what they add together.
    """
    cells, rgb = case(3)
    counts = np.bincount(cells[cells >= 0], minlength=6)
    found = swap_beads(cells, rgb, PALETTE, counts + spare, VIEW)
    left = counts + spare - np.bincount(found[found >= 0], minlength=6)
    kernels = _kernels(VIEW)
    channels = np.array([1.0, 2.0, 1.0])
    beads = PALETTE.linear @ RGB2OPPONENT.T * channels
    error = np.where(found[..., None] >= 0, beads[found] - rgb @ RGB2OPPONENT.T * channels, 0)
    gradient = np.stack(
        [correlate(error[..., c], kernels[..., c], mode="constant") for c in range(3)], axis=-1
    )
    weight = np.maximum(rgb @ RGB2OPPONENT[0], 0.02) ** (-4 / 3)
    own = kernels[REACH, REACH]
    at = np.argwhere(found >= 0)
    y, x = at.T
    steps = beads[None] - beads[found[y, x]][:, None]  # (cells, beads, 3)
    put = weight[y, x, None] * (2 * steps * gradient[y, x][:, None] + steps**2 * own).sum(axis=2)
    assert put[:, left > 0].min(initial=0) > -1e-6
    apart = at[:, None] - at[None]
    near = (np.abs(apart) <= REACH).all(axis=2) & (found[y, x][:, None] != found[y, x])
    one, two = np.nonzero(near)
    d = beads[found[y, x][two]] - beads[found[y, x][one]]
    there, here = gradient[y, x][two], gradient[y, x][one]
    weights = weight[y, x]
    cost = weights[one] * (2 * d * here + d**2 * own).sum(axis=1)
    cost += weights[two] * (-2 * d * there + d**2 * own).sum(axis=1)
    between = kernels[tuple((apart[two, one] + REACH).T)]
    cost -= (weights[one] + weights[two]) * (d**2 * between).sum(axis=1)
    assert cost.min() > -1e-6


def test_an_even_error_is_seen_whole() -> None:
    """From near, where the colour filters end within their reach, the weights add up to one.

    A little over: a Gaussian hardly wider than a cell is taken at the cells' middles alone.
    """
    sums = _kernels(View(0.3, 5.0)).sum(axis=(0, 1))[1:]
    assert (sums > 1).all()
    assert (sums < 1.08).all()


def test_the_filters_are_even_and_reach_no_further_than_they_matter() -> None:
    kernels = _kernels(VIEW)
    assert kernels.shape == (2 * REACH + 1, 2 * REACH + 1, 3)
    np.testing.assert_allclose(kernels, kernels[::-1, ::-1])
    np.testing.assert_allclose(kernels, kernels.transpose(1, 0, 2))
    assert (kernels.argmax(axis=0)[REACH] == REACH).all()


def grid_of(cells: np.ndarray) -> Grid:
    """The picture whose nearest beads these are."""
    return Grid(PALETTE.linear.astype(np.float32)[cells], np.ones(cells.shape, np.float32))


@pytest.mark.parametrize("shading", ["none", "bayer"])
def test_what_the_stock_is_short_of_is_named(shading: str) -> None:
    cells = np.arange(24, dtype=np.int16).reshape(4, 6) % 6
    limits = np.array([0, 3, 4, 4, 99, 99])
    kept, (note,) = keep_to(cells, grid_of(cells), PALETTE, limits, shading, "hyab", VIEW)
    assert (np.bincount(kept.ravel(), minlength=6) <= limits).all()
    changed = np.count_nonzero(kept != cells)
    assert note == f"{changed} beads are others than wished, as the stock is short of c0, c1"
    if shading == "none":
        assert changed == 5  # four of c0 and one of c1; no other has to move
    limits = np.array([3, 3, 3, 3, 3, 99])
    _, (note,) = keep_to(cells, grid_of(cells), PALETTE, limits, shading, "hyab", VIEW)
    assert note.endswith("short of c0, c1, c2, c3 and 1 more")
    same, notes = keep_to(cells, grid_of(cells), PALETTE, np.full(6, 4), shading, "hyab", VIEW)
    assert notes == ()
    np.testing.assert_array_equal(same, cells)
