"""Bayer matrices and void-and-cluster masks against their published properties."""

from __future__ import annotations

import numpy as np
import pytest
from support import make_palette, read_table

from img2plate.colour.palette import Bead, Palette
from img2plate.colour.spaces import linear2lab
from img2plate.plate.shade import masks
from img2plate.plate.shade.ordered import dither_ordered

SHARES = [1 / 16, 1 / 8, 1 / 4, 1 / 2]


@pytest.mark.parametrize("side", [2, 4, 8])
def test_bayer_matrices_are_the_published_ones(side: int) -> None:
    rows = [r["ranks"].split() for r in read_table("bayer.csv") if int(r["side"]) == side]
    np.testing.assert_array_equal(masks.bayer(side), np.array(rows, int))


def low_power(ranks: np.ndarray, share: float) -> float:
    """Normalised power at low radial frequencies; white noise gives about 1."""
    side = len(ranks)
    pattern = (ranks < share * side * side) - share
    power = np.abs(np.fft.fft2(pattern)) ** 2 / (side**2 * share * (1 - share))
    frequency = np.hypot(*np.meshgrid(np.fft.fftfreq(side), np.fft.fftfreq(side)))
    return float(power[(frequency > 0) & (frequency < 0.5 * min(share, 1 - share) ** 0.5)].mean())


@pytest.mark.parametrize("side", [32, 64])
def test_blue_noise_has_the_properties_of_void_and_cluster(side: int) -> None:
    """Ulichney 1993: ranks once each, little power at low frequencies, dots apart."""
    ranks = masks.blue_noise(side)
    np.testing.assert_array_equal(np.sort(ranks.ravel()), np.arange(side * side))
    for share in SHARES:
        assert low_power(ranks, share) < (0.5 if share == 1 / 2 else 0.2)
        noise = np.random.default_rng(1).permutation(side * side).reshape(side, side)
        assert low_power(ranks, share) < 0.5 * low_power(noise, share)
    y, x = np.nonzero(ranks < side * side / 16)
    away = [np.abs(a[:, None] - a[None]) for a in (y, x)]
    distance = np.hypot(*(np.minimum(d, side - d) for d in away))
    np.fill_diagonal(distance, np.inf)
    assert distance.min() >= 2


def test_a_mask_depends_on_its_seed_alone() -> None:
    first = masks.blue_noise(16, seed=3).copy()
    masks.blue_noise.cache_clear()
    np.testing.assert_array_equal(masks.blue_noise(16, seed=3), first)
    assert (masks.blue_noise(16, seed=4) != first).any()


def test_black_and_white_is_the_plain_threshold() -> None:
    """Where the definitions coincide: white where linear light is above the threshold.

    Up to 0.5, that is: nearer to white, two beads so unlike are not worth the little they gain.
    """
    palette = Palette("two", (Bead("k", "k", (0, 0, 0)), Bead("w", "w", (255, 255, 255))))
    light = 0.02 + 0.48 * np.random.default_rng(0).random((40, 33))
    thresholds = masks.thresholds(masks.bayer(), (40, 33))
    rgb = np.repeat(light[..., None], 3, axis=2)
    cells = dither_ordered(rgb, np.ones(light.shape, bool), palette, thresholds)
    expected = light > thresholds
    close = np.abs(light - thresholds) < 1e-6
    np.testing.assert_array_equal(cells[~close], expected[~close])


@pytest.mark.parametrize("mask", [masks.bayer, masks.blue_noise])
def test_an_even_colour_between_two_beads_keeps_its_light(mask: object) -> None:
    palette = make_palette(24, seed=5)
    thresholds = masks.thresholds(mask(), (64, 64))  # type: ignore[operator]
    for one, two, share in ((0, 1, 0.3), (4, 9, 0.5), (7, 2, 0.15)):
        wanted = palette.linear[one] * (1 - share) + palette.linear[two] * share
        filled = np.ones((64, 64), bool)
        cells = dither_ordered(np.tile(wanted, (64, 64, 1)), filled, palette, thresholds)
        got = palette.linear[cells].mean(axis=(0, 1))
        nearest = palette.lab[((palette.lab - linear2lab(wanted)) ** 2).sum(1).argmin()]
        off = np.linalg.norm(linear2lab(got) - linear2lab(wanted))
        assert off <= np.linalg.norm(nearest - linear2lab(wanted)) + 1e-6
        assert off < 6
