"""What lies behind the picture of a plate: the lightest ground that its edge stands off."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from img2plate.colour.palette import Palette
from img2plate.colour.spaces import hex2srgb, linear2lab, srgb2linear
from img2plate.plate.plate import Plate
from img2plate.typeset.look import GROUND

GROUNDS = (GROUND, "#a3b0b6", "#3d4b53")
"""Light as all pictures have it, middle, dark; all of them neutral."""
PLAIN = 14.0
"""Difference in CIELAB (1976) from which a bead plainly stands off its ground; by eye."""
_FEW = 0.04
"""Share of a plate's edge that may not stand off it."""


def ground_for(*plates: Plate) -> str:
    """The ground of plates that are shown beside each other.

    Light, unless more than a few beads at the edge of one would be lost on it; else the ground on
    which the fewest are.
    """
    lost = [max(_lost(plate, ground) for plate in plates) for ground in GROUNDS]
    if lost[0] <= _FEW:
        return GROUNDS[0]
    return GROUNDS[int(np.argmin(lost))]


def off_ground(palette: Palette, ground: str) -> NDArray[np.float64]:
    """(n,) difference of each colour from a ground, CIELAB (1976)."""
    lab = linear2lab(srgb2linear(np.array([hex2srgb(ground)]) / 255))[0]
    return np.asarray(np.linalg.norm(palette.lab - lab, axis=1), dtype=np.float64)


def _lost(plate: Plate, ground: str) -> float:
    """Share of the beads at the edge that hardly stand off a ground."""
    beads = plate.cells[_edge(plate)]
    if not len(beads):
        return 0.0
    return float((off_ground(plate.palette, ground)[beads] < PLAIN).mean())


def _edge(plate: Plate) -> NDArray[np.bool_]:
    """(h, w) bool: beads beside an empty cell or the plate's own border."""
    filled = np.pad(plate.filled, 1)
    inner = filled[:-2, 1:-1] & filled[2:, 1:-1] & filled[1:-1, :-2] & filled[1:-1, 2:]
    return np.asarray(plate.filled & ~inner)
