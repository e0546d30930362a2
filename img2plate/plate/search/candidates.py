"""Which beads are tried in each cell: the nearest to its colour, and none more colourful than it.

Meters like a pink bead in a grey wall, as from afar it tints the wall; people do not.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from img2plate.base.compiled import Real, compiled, compiled_parallel, prange

MOST = 24
"""Beads tried in a cell."""
FURTHEST = 30.0
"""HyAB by which one may be further off than the nearest: removes odd reds and halves the time."""
GREY_CHROMA, GREY_BEAD = 5.0, 10.0
"""A cell of so little chroma takes beads of at most so much, or as much as its nearest has."""
CHROMA_SLOPE = 4.0
"""More chroma that beads may have for each that the cell has above GREY_CHROMA."""
OTHER_HUE = 0.64
"""Cosine of the angle between hues below which a bead has another one than the cell: brown mixed of
olive and brick is brown from afar, and speckled at the table."""
_FAR = np.float32(1e30)


@compiled_parallel
def nearest_beads(
    wanted: NDArray[np.float32], beads: NDArray[np.float32], most: int, furthest: float
) -> NDArray[np.int16]:
    """(h, w, most) the beads nearest by HyAB, nearest first; -1 behind the last that may be tried.

    wanted: (h, w, 3) CIELAB of the cells; beads: (n, 3) CIELAB.
    """
    height, width = wanted.shape[:2]
    found = np.full((height, width, most), -1, np.int16)
    for y in prange(height):
        off = np.empty(len(beads), np.float32)
        for x in range(width):
            _hyab(wanted[y, x], beads, off)
            first, place = np.argmin(off), 0
            limit = off[first] + np.float32(furthest)
            own = np.hypot(wanted[y, x, 1], wanted[y, x, 2])
            most_chroma = GREY_BEAD + CHROMA_SLOPE * max(own - GREY_CHROMA, 0.0)
            most_chroma = max(most_chroma, np.hypot(beads[first, 1], beads[first, 2]) + 0.1)
            while place < most:
                k = np.argmin(off)
                if off[k] > limit:
                    break
                if place == 0 or _may_stand(wanted[y, x], beads[k], own, most_chroma):
                    found[y, x, place] = k
                    place += 1
                off[k] = _FAR
    return found


@compiled
def _may_stand(
    wanted: NDArray[np.float32], bead: NDArray[np.float32], own: Real, most_chroma: Real
) -> bool:
    """Whether a bead is not much more colourful than a cell of chroma `own`, nor of another hue."""
    chroma = np.hypot(bead[1], bead[2])
    if chroma > most_chroma:
        return False
    along = wanted[1] * bead[1] + wanted[2] * bead[2]
    return bool(min(own, chroma) <= GREY_BEAD or along >= OTHER_HUE * own * chroma)


@compiled
def _hyab(one: NDArray[np.float32], beads: NDArray[np.float32], out: NDArray[np.float32]) -> None:
    """HyAB of a colour from each bead."""
    for k in range(len(beads)):
        red, yellow = one[1] - beads[k, 1], one[2] - beads[k, 2]
        out[k] = abs(one[0] - beads[k, 0]) + np.sqrt(red * red + yellow * yellow)
