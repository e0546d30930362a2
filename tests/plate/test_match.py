"""Nearest beads against scikit-image brute force, pair by pair."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support import make_palette, read_table

from img2plate.base.errors import OptionError
from img2plate.colour.difference import delta_E_CIE1976, delta_E_CIE2000, delta_E_HyAB
from img2plate.colour.formulas import delta_E_HyAB_hue, linear2lab_ok_hue
from img2plate.colour.palette import Bead, Palette
from img2plate.colour.palette_file import find_palette
from img2plate.colour.spaces import bytes2linear, linear2lab, linear2oklab
from img2plate.plate.shade.match import FEW_PAIRS, nearest
from img2plate.plate.shade.match_loops import squared_ciede2000


def some_colours(count: int, seed: int) -> np.ndarray:
    return bytes2linear(np.random.default_rng(seed).integers(0, 256, (count, 3), dtype=np.uint8))


def test_the_compiled_pair_gives_the_34_published_differences() -> None:
    """Sharma, Wu and Dalal 2005, table 1."""
    for row in read_table("ciede2000.csv"):
        one, two = (np.array([float(row[f"{k}{n}"]) for k in "Lab"]) for n in (1, 2))
        squared = squared_ciede2000(one, np.hypot(*one[1:]), two, np.hypot(*two[1:]), np.inf)
        assert np.sqrt(squared) == pytest.approx(float(row["dE00"]), abs=5.1e-5)


@pytest.mark.parametrize("name", ["css-named", "quay-24", "sea-96"])
def test_ciede2000_nearest_is_scikit_images(name: str) -> None:
    from skimage.color import deltaE_ciede2000

    palette = find_palette(name)
    colours = some_colours(6000, 7)
    lab = linear2lab(colours.astype(np.float64))
    brute = deltaE_ciede2000(lab[:, None, :], palette.lab[None, :, :]).argmin(axis=1)
    np.testing.assert_array_equal(nearest(colours, palette), brute)


@pytest.mark.parametrize("count", [50, 3000])
@settings(deadline=None, max_examples=25)
@given(size=st.integers(40, 200), seed=st.integers(0, 10_000))
def test_any_palette_any_colours(count: int, size: int, seed: int) -> None:
    """Few colours go through numpy, many through the compiled loops."""
    assert (count * size > FEW_PAIRS) == (count == 3000)
    palette, colours = make_palette(size, seed), some_colours(count, seed + 1)
    lab = linear2lab(colours.astype(np.float64))
    brute = delta_E_CIE2000(lab[:, None, :], palette.lab[None, :, :]).argmin(axis=1)
    np.testing.assert_array_equal(nearest(colours, palette), brute)


@pytest.mark.parametrize(
    ("difference", "formula", "space"),
    [
        ("hyab", delta_E_HyAB, linear2lab),
        ("cielab", delta_E_CIE1976, linear2lab),
        ("oklab", delta_E_CIE1976, linear2oklab),
        ("hyab-hue", delta_E_HyAB_hue, linear2lab_ok_hue),
    ],
)
def test_other_differences(difference: str, formula, space) -> None:
    palette, colours = make_palette(60, 1), some_colours(3000, 2)
    points = space(colours.astype(np.float64))
    beads = space(palette.linear)
    brute = formula(points[:, None, :], beads[None, :, :]).argmin(axis=1)
    np.testing.assert_array_equal(nearest(colours, palette, difference=difference), brute)


def test_a_palette_colour_finds_itself_and_of_twins_the_first() -> None:
    palette = make_palette(100, 3)
    palette = Palette("twins", (*palette.beads, Bead("twin", "twin", palette.beads[5].srgb)))
    np.testing.assert_array_equal(nearest(palette.linear, palette), [*range(100), 5])
    many = np.vstack([palette.linear, some_colours(3000, 8)])
    np.testing.assert_array_equal(nearest(many, palette)[:101], [*range(100), 5])


def test_shape_is_kept_and_unknown_differences_are_refused() -> None:
    palette = make_palette(5)
    assert nearest(np.zeros((4, 6, 3)), palette).shape == (4, 6)
    with pytest.raises(OptionError, match="euclid"):
        nearest(np.zeros((1, 3)), palette, difference="euclid")
