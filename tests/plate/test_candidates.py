"""Which beads the search may try in a cell."""

from __future__ import annotations

import numpy as np
from skimage.color import rgb2lab

from img2plate.colour.palette_file import find_palette
from img2plate.plate.search.candidates import FURTHEST, MOST, nearest_beads


def tried(rgb: tuple[int, int, int], palette: str = "harbour-48") -> list[str]:
    """Names of the beads for a cell of one colour, nearest first."""
    beads = find_palette(palette)
    wanted = rgb2lab(np.array([[rgb]], np.uint8)).astype(np.float32)
    found = nearest_beads(wanted, beads.lab.astype(np.float32), MOST, FURTHEST)[0, 0]
    return [beads.beads[k].name for k in found if k >= 0]


def test_the_nearest_comes_first_and_grey_takes_no_colour() -> None:
    names = tried((128, 128, 128))
    assert names[0] == "ship grey"
    assert not {"kelp", "port red", "oak"} & set(names)


def test_brown_is_not_mixed_of_olive_and_brick() -> None:
    """A bead of another hue than the cell's is not tried; neutral ones are, for light and shade."""
    names = tried((185, 121, 102))
    assert "deep shell" in names
    assert "kelp" not in names
    assert "iron" in tried((150, 108, 89))
