"""Whether soft cells give what a JPEG file stores: with the right grid only its rounding is left.

Pixels of a JPEG file are off by whatever the steps are; coefficients by at most half a step. So the
error of a right grid is known beforehand, of pale pictures as of loud ones.
"""

from __future__ import annotations

from dataclasses import replace
from typing import NamedTuple

import numpy as np

from img2plate.base.arrays import Pixels
from img2plate.image.jpeg.coefficients import Coefficients
from img2plate.image.native.axis import AxisGrid, wrap
from img2plate.image.native.blocks import Matrix
from img2plate.image.native.bounded import BoundedFit
from img2plate.image.native.fit import CellFit
from img2plate.image.native.grid_candidate import Candidate
from img2plate.image.native.loops import SOFT_KINDS
from img2plate.image.native.parts import premultiplied
from img2plate.image.native.solver import kept_cells

ROUNDS = 3
"""Of bringing cells into the bounds, before and after correcting for clipped overshoots."""
RIGHT = 0.36
"""Steps left on average by a grid that is exactly right; plain rounding leaves root 1/12."""
NEAR, APART = 0.45, 3.0
"""Steps left up to which a grid is believed, and how many times that a shifted one must leave."""
FEWEST = 100
"""Stored coefficients other than zero that a belief needs."""
MOST_CELLS, MOST_PIXELS = 3200, 1_000_000
"""On more this takes too long."""


class SoftGrid(NamedTuple):
    """Lines of both axes and a kernel."""

    x: AxisGrid
    y: AxisGrid
    kind: int

    def cells(self, size: tuple[int, int]) -> tuple[int, int]:
        """Rows and columns of the kept cells of a picture (width, height)."""
        return kept_cells(self.y, size[1])[1], kept_cells(self.x, size[0])[1]


def steps_left(stored: Coefficients, grid: SoftGrid, near: Matrix) -> float:
    """Root of the mean square, in steps, that luma's stored coefficients other than zero are off.

    `near`: the kept cells in RGB (rows, columns, 3). Mean levels of blocks do not count.
    """
    fit = BoundedFit(stored, *grid, near)
    fit.correct(fit.solved(rounds=ROUNDS))
    seen = fit.encoded(fit.solved(rounds=ROUNDS))[0]
    luma = fit.models[0]
    off = (seen - luma.channel.stored) / luma.steps
    told = _told(luma.channel.stored, luma.steps)
    return float(np.sqrt(np.mean(off[told] ** 2))) if told.any() else float("inf")


def _told(stored: Matrix, steps: Matrix) -> Matrix:
    told = np.abs(stored) > 0.5 * steps
    told[::8, ::8] = False
    return np.asarray(told)


def explains_file(stored: Coefficients, pixels: Pixels, claim: Candidate) -> bool:
    """Whether soft cells claimed on an opaque picture (h, w, 4) leave what rounding leaves.

    The same cells shifted by half of one must leave far more.
    """
    width, height = stored.size
    grid = SoftGrid(claim.x, claim.y, claim.kind)
    cells = np.prod(grid.cells(stored.size))
    if claim.kind not in SOFT_KINDS or cells > MOST_CELLS or width * height > MOST_PIXELS:
        return False
    luma = stored.channels[0]
    steps = np.tile(luma.steps, [side // 8 for side in luma.stored.shape]).astype(np.float32)
    if _told(luma.stored, steps).sum() < FEWEST:
        return False
    planes = premultiplied(pixels)
    left = steps_left(stored, grid, _near(planes, grid))
    if left > NEAR:
        return False
    shifted = SoftGrid(_half_on(grid.x), _half_on(grid.y), grid.kind)
    return steps_left(stored, shifted, _near(planes, shifted)) >= APART * left


def _near(planes: Matrix, grid: SoftGrid) -> Matrix:
    """(rows, columns, 3) kept cells of a picture (h, w, 4)."""
    fit = CellFit(planes, *grid, jpeg=True)
    return np.asarray(fit.kept(fit.solved()[0])[..., :3])


def _half_on(lines: AxisGrid) -> AxisGrid:
    """The grid shifted by half a cell."""
    return replace(lines, offset=wrap(lines.offset + lines.pitch / 2, lines.pitch), whole=False)
