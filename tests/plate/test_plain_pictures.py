"""Neutral stays neutral, flat stays flat, edges stay: on drawn pictures, by all looks."""

from __future__ import annotations

import numpy as np
import pytest
from plain_pictures import PLAIN

from img2plate.colour.look_error import View
from img2plate.colour.palette_file import find_palette
from img2plate.plate.shade.looks import BALANCED, CALM
from img2plate.plate.shade.shading import ShadingOptions, shade
from img2plate.plate.shade.viewing import Viewing

LEAST = {
    "flat areas": 1.0,
    "grey ramp": 1.0,
    "thin line": 1.0,
    "lettering": 0.97,
    "hue gradient": 1.0,
}


@pytest.mark.parametrize("look", [CALM, BALANCED])
@pytest.mark.parametrize("name", PLAIN)
def test_what_a_person_sees_at_once_is_right(name: str, look: str) -> None:
    plain, palette = PLAIN[name](), find_palette("harbour-48")
    grid = plain.on()
    viewing = Viewing(View(2.0, 5.0), plain.on)
    shaded = shade(grid, palette, ShadingOptions("search", look=look), viewing)
    assert plain.good(shaded.cells, grid, palette) >= LEAST[name]


@pytest.mark.parametrize("name", PLAIN)
def test_the_figures_see_what_is_wrong(name: str) -> None:
    """Beads at random are found out: the checks above can fail."""
    plain, palette = PLAIN[name](), find_palette("harbour-48")
    grid = plain.on()
    cells = np.random.default_rng(0).integers(0, len(palette), grid.cover.shape)
    assert plain.good(cells, grid, palette) < LEAST[name] - 0.05


def test_an_edge_between_two_areas_stays_where_it_is() -> None:
    plain, palette = PLAIN["flat areas"](), find_palette("harbour-48")
    shaded = shade(plain.on(), palette, ShadingOptions("search"), Viewing(View(2.0, 5.0), plain.on))
    light = palette.lab[shaded.cells]
    assert (np.abs(light[13] - light[14]).sum(axis=-1)[:9] > 20).all()
