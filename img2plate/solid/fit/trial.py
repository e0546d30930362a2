"""The test piece: a comb and a strip that show what one's own beads, iron and hand do.

The comb has teeth of 3 beads, notches of 3 cells and a slot of 5. The strip's fingers go into the
notches at a right angle, its long edge is 15 beads, its tab of 5 goes through the slot. Both lie on
one board and are pressed together, so that they have the same thickness.
"""

from __future__ import annotations

import numpy as np

from img2plate.colour.palette import Palette
from img2plate.colour.spaces import hex2srgb, srgb2linear
from img2plate.plate.plate import EMPTY, Plate
from img2plate.plate.shade.match import nearest

COLOURS = ("#2E6F9E", "#F28C28")
"""Comb and strip, as near as the palette has it: told apart at a glance."""
COMB = """
###...###...###
###############
###############
#####.....#####
###############
###############
"""
STRIP = """
...###...###...
###############
###############
.....#####.....
.....#####.....
"""


def trial_plate(palette: Palette) -> Plate:
    """(13, 15) plate with both pieces of the test piece."""
    wanted = np.array([hex2srgb(colour) for colour in COLOURS]) / 255
    indices = nearest(np.asarray(srgb2linear(wanted)), palette)
    gap = np.full((2, 15), EMPTY, dtype=np.int16)
    parts = [
        np.where(np.array([list(row) for row in drawn.split()]) == "#", index, EMPTY)
        for drawn, index in zip((COMB, STRIP), indices, strict=True)
    ]
    cells = np.concatenate([parts[0], gap, parts[1]]).astype(np.int16)
    return Plate(cells, palette, "test-piece", {"source": "img2plate fit"})
