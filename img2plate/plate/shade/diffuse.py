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
from img2plate.colour.spaces import linear2lab

HARD_EDGE_DE = 40.0
"""CIELAB difference of two cells' targets that error does not pass; chosen by trying, no source."""


@dataclass(frozen=True)
class Kernel:
    """Where error goes, when a row is walked from the left."""

    divisor: int
    rows: tuple[tuple[int, ...], ...]
    """Weights in the cell's own row and those below it; the cell is in the middle column."""

    @property
    def weights(self) -> tuple[tuple[int, int, int], ...]:
        """(dx, dy, weight)."""
        middle = len(self.rows[0]) // 2
        return tuple(
            (x - middle, y, weight)
            for y, row in enumerate(self.rows)
            for x, weight in enumerate(row)
            if weight
        )


KERNELS = {
    # R. W. Floyd, L. Steinberg, "An Adaptive Algorithm for Spatial Greyscale", Proc. Society for
    # Information Display 17(2), 75-77, 1976.
    "floyd-steinberg": Kernel(16, ((0, 0, 7), (3, 5, 1))),
    # J. F. Jarvis, C. N. Judice, W. H. Ninke, "A Survey of Techniques for the Display of Continuous
    # Tone Pictures on Bi-Level Displays", Computer Graphics and Image Processing 5, 13-40, 1976.
    "jarvis-judice-ninke": Kernel(48, ((0, 0, 0, 7, 5), (3, 5, 7, 5, 3), (1, 3, 5, 3, 1))),
    # P. Stucki, "MECCA - a multiple-error correcting computation algorithm for bilevel image
    # hardcopy reproduction", Research Report RZ1060, IBM Research Laboratory, Zurich, 1981.
    "stucki": Kernel(42, ((0, 0, 0, 8, 4), (2, 4, 8, 4, 2), (1, 2, 4, 2, 1))),
    # D. Burkes, "Presentation of the Burkes error filter for use in preparing continuous-tone
    # images for presentation on bi-level devices", unpublished, 1988.
    "burkes": Kernel(32, ((0, 0, 0, 8, 4), (2, 4, 8, 4, 2))),
    # F. Sierra, three-line filter, unpublished, 1989.
    "sierra": Kernel(32, ((0, 0, 0, 5, 3), (2, 4, 5, 4, 2), (0, 2, 3, 2, 0))),
    # B. Atkinson, mid-1980s, no paper; hands on 6/8 of the error, which keeps contrast.
    "atkinson": Kernel(8, ((0, 0, 0, 1, 1), (0, 1, 1, 1, 0), (0, 0, 1, 0, 0))),
}
"""By the name of the shading."""


def diffuse(
    rgb: Floats, filled: NDArray[np.bool_], palette: Palette, kernel: Kernel, strength: float = 1.0
) -> Cells:
    """Choose beads for (h, w, 3) linear-light colours where `filled` (h, w) says so.

    `strength` 0..1 is the share of the error that is handed on. Returns (h, w) int16.
    """
    from img2plate.plate.shade.diffuse_loops import walk
    from img2plate.plate.shade.lab_loops import candidates

    weights = np.array(kernel.weights, dtype=np.float64)
    weights[:, 2] *= strength / kernel.divisor
    return walk(
        np.ascontiguousarray(rgb, dtype=np.float64),
        np.ascontiguousarray(linear2lab(np.asarray(rgb, dtype=np.float32))),
        np.ascontiguousarray(filled),
        np.ascontiguousarray(palette.linear),
        candidates(palette.lab),
        weights,
        HARD_EDGE_DE**2,
    )
