"""The picture as it was given, on a plate's cells: what the figures compare a plate with.

Cells that were recovered from a picture give themselves back whatever they are; only the picture
they were taken from shows whether the grid is the right one.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from img2plate.base.arrays import Floats, Pixels
from img2plate.image.grid import Grid
from img2plate.image.sample import sample
from img2plate.image.sizing import Framing


@dataclass(frozen=True, eq=False)
class Given:
    """A picture, and where a sprite's cells lie on it."""

    pixels: Pixels
    """(h, w, 4) uint8: cropped, and nothing else."""
    offset: tuple[float, float] = (0.0, 0.0)
    """Left and upper edge of the sprite's first cell, in pixels of the picture."""
    cell_px: tuple[float, float] = (1.0, 1.0)
    """Pixels of the picture in a cell of the sprite, across and down."""

    def moved(self, across: int, down: int) -> Given:
        """The same picture when so many of the sprite's first columns and rows are cut off."""
        left, top = self.offset
        return replace(self, offset=(left + across * self.cell_px[0], top + down * self.cell_px[1]))

    def on_cells(self, grid: Grid, framing: Framing, per_cell: int) -> Grid:
        """Average the picture over `per_cell` x `per_cell` samples of each cell of a plate.

        framing: lays the sprite's cells over the plate's. A cell that the picture holds only in
        part shows its rim on. What is more see-through than its cell on the whole is white.
        """
        px = np.array(self.cell_px * 2)
        box = np.array(framing.box) * px + np.array(self.offset * 2)
        pixels, left, top = _with_rim(self.pixels, box, px)
        box += np.array((left, top, left, top))
        on_given = Framing(framing.size, (box[0], box[1], box[2], box[3]))
        fine = sample(
            pixels, on_given, source=grid.source, kind=grid.kind, per_cell=per_cell, smooth=False
        )
        return on_white(fine, grid)


def on_white(fine: Grid, cells: Grid) -> Grid:
    """Lay samples that are more see-through than their cell over white, as empty pegs are shown.

    Without this, see-through samples in a cell that gets a bead would count as black.
    """
    if fine.cover.min() == 1:
        return fine
    whole = cells.cover.repeat(fine.per_cell, axis=0).repeat(fine.per_cell, axis=1)
    share = np.clip(fine.cover / np.maximum(whole, 1e-6), 0, 1)[..., None]
    return replace(fine, rgb=(fine.rgb * share + (1 - share)).astype(np.float32))


def _with_rim(pixels: Pixels, box: Floats, cell_px: Floats) -> tuple[Pixels, int, int]:
    """Repeat the outer pixels as far as a box reaches over them, at most a cell.

    Returns the pixels, and how many were added on the left and at the top.
    """
    height, width = pixels.shape[:2]
    over = np.array([-box[0], -box[1], box[2] - width, box[3] - height])
    left, top, right, bottom = np.ceil(np.clip(over - 1e-6, 0, cell_px)).astype(int).tolist()
    if not (left or top or right or bottom):
        return pixels, 0, 0
    return np.pad(pixels, ((top, bottom), (left, right), (0, 0)), mode="edge"), left, top
