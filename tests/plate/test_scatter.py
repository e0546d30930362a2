"""Scatter: blue-noise spacing, shares met, and the cells that beads never go on.

Spacing is checked against the properties of void-and-cluster patterns (R. Ulichney, Proc. SPIE
1913, 332-343, 1993): radially averaged low-frequency power well under that of white noise, which
is about 1, and a larger smallest distance.
"""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy import ndimage
from scipy.spatial import cKDTree

from img2plate.base.errors import OptionError
from img2plate.colour.palette import Bead, Palette
from img2plate.plate.plate import Plate
from img2plate.plate.scatter import ScatterOptions, scatter

GREYS = Palette(
    "greys",
    tuple(Bead(code, code, (v, v, v)) for code, v in (("d", 90), ("b", 128), ("l", 166), ("k", 0))),
)
DARK, BASE, LIGHT, INK = range(4)


def flat(height: int, width: int) -> Plate:
    return Plate(np.full((height, width), BASE, np.int16), GREYS)


def scattered(plate: Plate, *wishes: str, **more: object) -> NDArray[np.int16]:
    return scatter(plate, ScatterOptions(wishes, **more)).plate.cells  # type: ignore[arg-type]


def low_power(ones: NDArray[np.bool_]) -> float:
    share, size = ones.mean(), len(ones)
    spectrum = np.abs(np.fft.fft2(ones - share)) ** 2 / (size**2 * share * (1 - share))
    radius = np.hypot(*np.meshgrid(np.fft.fftfreq(size), np.fft.fftfreq(size)))
    low = (radius > 0) & (radius < 0.5 * np.sqrt(min(share, 1 - share)))
    return float(spectrum[low].mean())


def nearest(ones: NDArray[np.bool_]) -> float:
    places = np.argwhere(ones)
    return float(cKDTree(places, boxsize=ones.shape).query(places, 2)[0][:, 1].min())


@pytest.mark.parametrize("percent", [6.25, 12.5, 25])
@pytest.mark.parametrize("seed", [0, 1])
def test_spacing_is_blue_noise(percent: float, seed: int) -> None:
    ones = scattered(flat(64, 64), f"b:l:{percent}", seed=seed) == LIGHT
    white = np.random.default_rng(seed).permutation(ones.ravel()).reshape(ones.shape)
    # Keeping beads apart at the edges costs a little of the mask's evenness at 25%.
    assert low_power(ones) < (0.2 if percent < 20 else 0.25) < 0.8 < low_power(white)
    if percent < 10:
        assert nearest(ones) >= 2 > nearest(white)


def test_both_companions_are_each_evenly_spread() -> None:
    cells = scattered(flat(64, 64), "b::12.5")
    assert (cells == LIGHT).sum() == (cells == DARK).sum() == 256
    for which in (LIGHT, DARK):
        assert low_power(cells == which) < 0.5


@settings(max_examples=40, deadline=None)
@given(
    height=st.integers(4, 40),
    width=st.integers(4, 40),
    percent=st.integers(1, 100),
    seed=st.integers(0, 3),
)
@example(height=7, width=15, percent=70, seed=0)  # 73.5 beads: two floats lie on either side of it
def test_the_share_is_met_and_none_touch_unless_forced(
    height: int, width: int, percent: int, seed: int
) -> None:
    plate = flat(height, width)
    ones = scattered(plate, f"b:l:{percent}", seed=seed) == LIGHT
    assert ones.sum() == round(Fraction(percent * height * width, 100))
    if percent <= 50:
        assert not (ones[1:] & ones[:-1]).any()
        assert not (ones[:, 1:] & ones[:, :-1]).any()
    again = scattered(plate, f"b:l:{percent}", seed=seed) == LIGHT
    assert (again == ones).all()


@settings(max_examples=40, deadline=None)
@given(seed=st.integers(0, 10_000))
def test_lines_lone_beads_and_other_colours_are_left_alone(seed: int) -> None:
    rng = np.random.default_rng(seed)
    rough = ndimage.gaussian_filter(rng.standard_normal((40, 40)), 1.5)
    cells = np.where(rough > 0, BASE, INK).astype(np.int16)
    cells[19:22], cells[:, 20] = INK, INK
    cells[20, 3:17] = BASE  # a line of one bead
    cells[18:23, 30:35] = INK
    cells[20, 32] = BASE  # a lone bead
    got = scattered(Plate(cells, GREYS), "b:l:30")
    changed = got != cells
    assert (cells[changed] == BASE).all()
    assert (got[changed] == LIGHT).all()
    assert not changed[20, 3:17].any()
    for y, x in np.argwhere(changed):  # each lies in a 2 x 2 block of its own colour
        blocks = [
            cells[v : v + 2, u : u + 2]
            for v in (y - 1, y)
            for u in (x - 1, x)
            if v >= 0 and u >= 0 and v < 39 and u < 39
        ]
        assert any((block == BASE).all() for block in blocks)
    assert got[20, 32] == BASE


def test_an_outline_and_a_grid_of_lines_stay() -> None:
    cells = np.full((30, 30), INK, np.int16)
    cells[::3] = BASE
    cells[:, ::3] = BASE
    assert (scattered(Plate(cells, GREYS), "b:l:50") == cells).all()


def test_light_makes_one_side_lighter_and_the_other_darker() -> None:
    cells = np.full((40, 90), INK, np.int16)
    cells[:, :40], cells[:, 50:] = BASE, BASE
    got = scattered(Plate(cells, GREYS), "b::20", light=0)
    assert np.isin(got, (LIGHT, DARK)).sum() == round(0.2 * 3200)
    for area in (got[:, :40], got[:, 50:]):  # within each area by itself
        left, right = area[:, :20], area[:, 20:]
        assert (right == LIGHT).sum() > 100
        assert (left == DARK).sum() > 100
        assert not (left == LIGHT).any()
        assert not (right == DARK).any()
        outer, inner = (area[:, 30:] == LIGHT).sum(), (area[:, 20:30] == LIGHT).sum()
        assert outer > inner
    top = scattered(flat(40, 40), "b::20", light=90)
    assert (top[:20] == LIGHT).any()
    assert not (top[:20] == DARK).any()


@pytest.mark.parametrize(
    ("wish", "said"),
    [
        ("x", "no colour with code 'x'"),
        ("b:y", "no colour with code 'y'"),
        ("b:b", "cannot be its own companion"),
        ("b:l:0", "not a percentage"),
        ("b:l:many", "not a percentage"),
        ("b:l:101", "not a percentage"),
    ],
)
def test_wrong_wishes_are_one_clear_line(wish: str, said: str) -> None:
    with pytest.raises(OptionError, match=said):
        scattered(flat(8, 8), wish)


def test_a_colour_without_companions_asks_for_one() -> None:
    one = Palette("one", (Bead("r", "r", (200, 0, 0)), Bead("g", "g", (0, 200, 0))))
    with pytest.raises(OptionError, match="name one, as r:CODE"):
        scattered(Plate(np.zeros((8, 8), np.int16), one), "r")


def test_light_alone_and_one_colour_twice_are_refused() -> None:
    with pytest.raises(OptionError, match="`light`: needs `scatter`"):
        scatter(flat(8, 8), ScatterOptions((), 45))
    with pytest.raises(OptionError, match="given twice"):
        scattered(flat(8, 8), "b:l", "b:d")


def test_none_lie_beside_an_area_that_has_the_companion_s_colour_already() -> None:
    cells = np.full((24, 24), BASE, np.int16)
    cells[:, :8], cells[:, 20:] = LIGHT, DARK
    got = scattered(Plate(cells, GREYS), "b::12")
    changed = got != cells
    assert changed.sum() == round(0.12 * 24 * 12)
    assert not changed[:, 8].any()
    assert not changed[:, 19].any()
    forced = scattered(Plate(cells, GREYS), "b::48") != cells
    assert forced.sum() == round(0.48 * 24 * 12)


def test_nothing_scattered_is_said_with_the_reason() -> None:
    cells = np.full((9, 9), INK, np.int16)
    cells[4] = BASE
    (note,) = scatter(Plate(cells, GREYS), ScatterOptions(("b:l:30",))).notes
    assert note == "b: nothing scattered; it has no area, only lines and details"
    (note,) = scatter(Plate(cells, GREYS), ScatterOptions(("l:d:30",))).notes
    assert note == "l: nothing scattered; the plate has no bead of it"


def test_a_part_of_the_plate_is_all_that_gets_beads() -> None:
    plate = flat(20, 20)
    where = np.zeros(plate.cells.shape, bool)
    where[3:12, 5:15] = True
    done = scatter(plate, ScatterOptions(("b",)), where).plate.cells != plate.cells
    assert done.any()
    assert not done[~where].any()
