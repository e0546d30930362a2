"""Error diffusion: what a bead misses of its cell's colour is handed on to the cells after it.

Rows are walked in turns from the left and from the right (serpentine), in linear light, where
light adds up. The nearest bead is looked for in CIELAB. Error does not pass a hard edge of the
picture, nor into or out of cells without a bead.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from img2plate.base.arrays import Cells, Floats
from img2plate.colour.palette import Palette
from img2plate.colour.spaces import RGB2XYZ, WHITE_XYZ, linear2lab

HARD_EDGE_DE = 40.0
"""CIELAB difference of two cells' targets that error does not pass; chosen by trying, no source."""


@dataclass(frozen=True)
class Kernel:
    """Where error goes, when a row is walked from the left."""

    weights: tuple[tuple[int, int, int], ...]
    """(dx, dy, weight)."""
    divisor: int


KERNELS = {
    # R. W. Floyd, L. Steinberg, "An Adaptive Algorithm for Spatial Greyscale", Proc. Society for
    # Information Display 17(2), 75-77, 1976.
    "floyd-steinberg": Kernel(((1, 0, 7), (-1, 1, 3), (0, 1, 5), (1, 1, 1)), 16),
}


def diffuse(
    rgb: Floats, filled: NDArray[np.bool_], palette: Palette, kernel: Kernel, strength: float = 1.0
) -> Cells:
    """Choose beads for (h, w, 3) linear-light colours where `filled` (h, w) says so.

    `strength` 0..1 is the share of the error that is handed on. Returns (h, w) int16.
    """
    from img2plate.plate.diffuse_loops import walk

    weights = np.array(kernel.weights, dtype=np.float64)
    weights[:, 2] *= strength / kernel.divisor
    return walk(
        np.ascontiguousarray(rgb, dtype=np.float64),
        np.ascontiguousarray(linear2lab(np.asarray(rgb, dtype=np.float64))),
        np.ascontiguousarray(filled),
        np.ascontiguousarray(palette.linear),
        np.ascontiguousarray(palette.lab),
        weights,
        RGB2XYZ / WHITE_XYZ[:, None],
        HARD_EDGE_DE**2,
    )
