"""The best fit of cells on both axes, through a kernel whose overshoots were clipped to 0..255."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from img2plate.image.native.loops import BICUBIC, LANCZOS
from img2plate.image.native.matrices import Matrix

RELAX = 1.7
"""Share of the correction that a round takes; more than all, as clipped pixels ask for none."""
TWO_PASSES = (BICUBIC, LANCZOS)
"""Kernels of programs that round and clip between the passes across and down, as Pillow does."""


@dataclass(frozen=True, eq=False)
class BothWays:
    """Sampling matrices (length, cells) of both axes, and their pseudo-inverses."""

    forth_x: Matrix
    back_x: Matrix
    forth_y: Matrix
    back_y: Matrix

    def cells(self, planes: Matrix) -> Matrix:
        """Least squares of a picture (channels, h, w)."""
        return np.asarray(self.back_y @ planes @ self.back_x.T, np.float32)

    def shown(self, cells: Matrix, kind: int) -> Matrix:
        """Cells (channels, rows, columns) enlarged, clipped as programs do."""
        across = cells @ self.forth_x.T
        if kind in TWO_PASSES:
            np.clip(across, 0, 255, out=across)
        shown = self.forth_y @ across
        np.clip(shown, 0, 255, out=shown)
        if len(shown) in (2, 4):  # no colour is brighter than its alpha
            np.minimum(shown[:-1], shown[-1:], out=shown[:-1])
        return np.asarray(shown, np.float32)

    def left(self, planes: Matrix, kind: int, rounds: int) -> tuple[Matrix, Matrix]:
        """Errors that the best cells leave after so many rounds of correction, and the cells."""
        cells = self.cells(planes)
        left = np.asarray(planes - self.forth_y @ cells @ self.forth_x.T, np.float32)
        for _ in range(rounds):
            np.clip(cells, 0, 255, out=cells)
            left = np.asarray(planes - self.shown(cells, kind), np.float32)
            cells += RELAX * self.cells(left)
        return left, cells
