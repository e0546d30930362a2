"""Palette health: pairs too alike, gaps, and suggestions that really help."""

from __future__ import annotations

import numpy as np
import pytest
from skimage.color import deltaE_ciede2000, rgb2lab
from support import make_palette

from img2plate.colour.gamut import alike_pairs, reach, srgb_solid, suggest
from img2plate.colour.palette import Bead, Palette
from img2plate.colour.palette_file import find_palette


def test_pairs_are_those_that_scikit_image_finds() -> None:
    palette = find_palette("css-named")
    lab = rgb2lab(palette.srgb[None] / 255)[0]
    all_pairs = deltaE_ciede2000(lab[:, None], lab[None])
    expected = {(int(i), int(j)) for i, j in np.argwhere(all_pairs < 3) if i < j}
    assert {(pair.one, pair.two) for pair in alike_pairs(palette)} == expected
    differences = [pair.difference for pair in alike_pairs(palette)]
    assert differences == sorted(differences)


def test_pearl_and_solid_of_one_colour_are_not_alike() -> None:
    beads = (Bead("a", "a", (90, 90, 90)), Bead("b", "b", (90, 90, 90), "pearl"))
    assert not alike_pairs(Palette("two", beads))


def test_reach_is_zero_on_the_beads_and_falls_with_more_of_them() -> None:
    palette = make_palette(30)
    assert reach(palette.lab, palette).max() < 1e-9
    few = Palette("few", palette.beads[:10])
    solid = srgb_solid()
    assert (reach(solid, palette) <= reach(solid, few) + 1e-9).all()


def test_the_solid_of_srgb_reaches_its_corners_and_no_further() -> None:
    solid = srgb_solid()
    corners = rgb2lab(np.indices((2, 2, 2)).reshape(3, 1, 8).transpose(1, 2, 0).astype(float))[0]
    away = np.abs(solid[:, None] - corners).max(axis=2).min(axis=0)
    assert away.max() < 0.05
    assert solid[:, 0].min() >= -1e-9
    assert solid[:, 0].max() <= 100 + 1e-9


def test_a_missing_tone_is_suggested_first() -> None:
    greys = Palette("greys", tuple(Bead(str(v), "", (v, v, v)) for v in range(0, 256, 15)))
    rng = np.random.default_rng(0)
    reds = np.array([45.0, 60.0, 40.0]) + rng.normal(0, 1, (400, 3))
    blues = np.array([35.0, 20.0, -60.0]) + rng.normal(0, 1, (100, 3))
    tones = np.concatenate([reds, blues, np.tile(greys.lab, (20, 1))])
    first, second = suggest(tones, greys, 2)
    assert first.srgb[0] > 2 * first.srgb[2]
    assert second.srgb[2] > 2 * second.srgb[0]
    assert first.share == pytest.approx(400 / len(tones), abs=0.02)


def test_suggestions_lower_the_difference_each_time() -> None:
    palette = find_palette("quay-24")
    tones = srgb_solid()
    before = reach(tones, palette).mean()
    for count in (1, 3, 6):
        new = [Bead(f"n{i}", "", gap.srgb) for i, gap in enumerate(suggest(tones, palette, count))]
        after = reach(tones, Palette("more", (*palette.beads, *new))).mean()
        assert after < before
        before = after


def test_nothing_is_suggested_when_all_is_reached() -> None:
    palette = make_palette(12)
    assert suggest(palette.lab, palette, 3) == []
