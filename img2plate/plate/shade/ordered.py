"""Ordered dithering with any palette: each cell has two beads and a share, a mask decides.

The first bead is the nearest to the cell's colour; the second is the one whose mixture with it
comes nearest, with a price on the contrast of the two. The brighter bead is put where the mask's
threshold lies below its share, so that even areas get the mask's own pattern.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from img2plate.base.arrays import Cells, Floats
from img2plate.colour.palette import Palette
from img2plate.colour.spaces import linear2lab

CONTRAST_PRICE = 0.1
"""Share of a mixture's variance (CIELAB, squared) that counts as error; chosen by trying."""


def dither_ordered(
    rgb: Floats,
    filled: NDArray[np.bool_],
    palette: Palette,
    thresholds: NDArray[np.float32],
    strength: float = 1.0,
) -> Cells:
    """Choose beads for (h, w, 3) linear-light colours where `filled` (h, w) says so.

    thresholds: (h, w) from 0 to 1; strength 0..1 weakens the second bead's share. Returns (h, w)
    int16, -1 elsewhere.
    """
    from img2plate.plate.shade.lab_loops import candidates
    from img2plate.plate.shade.ordered_loops import mix

    cells = np.full(filled.shape, -1, np.int16)
    wanted = np.ascontiguousarray(np.asarray(rgb, np.float64)[filled])
    cells[filled] = mix(
        wanted,
        np.ascontiguousarray(linear2lab(wanted)),
        np.ascontiguousarray(thresholds[filled]),
        np.ascontiguousarray(palette.linear),
        np.ascontiguousarray(palette.lab),
        candidates(palette.lab),
        strength,
        CONTRAST_PRICE,
    )
    return cells
