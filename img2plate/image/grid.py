"""The grid: one target colour per cell, and the way from a picture's pixels to it.

Averages are taken in linear light with alpha premultiplied: a half-transparent red pixel weighs
half a red, and black-and-white stripes average to the grey that the eye sees.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from img2plate.base.arrays import Mask
from img2plate.image.kind.kind import Kind


@dataclass(frozen=True, eq=False)
class Grid:
    """The picture at bead resolution, or at a whole multiple of it (`per_cell` samples a side)."""

    rgb: NDArray[np.float32]
    """(h, w, 3) linear light 0..1."""
    cover: NDArray[np.float32]
    """(h, w) share of the cell that the picture covers, 0..1."""
    source: str = ""
    """What it was made from, for people: file name and the way taken."""
    kind: Kind = Kind.PHOTO
    """Of the picture. A sprite's cells are its native pixels; made smaller, it is as a drawing."""
    per_cell: int = 1
    """Samples along one side of a bead's cell."""
    flat: NDArray[np.int16] | None = None
    """(h, w) which flat colour of a drawing each cell has, -1 where it is shaded or empty; None for
    what was averaged. Cells of one flat colour are equal in `rgb`."""

    @property
    def is_sprite(self) -> bool:
        """Whether each cell is one native pixel of a sprite."""
        return self.kind.is_sprite

    @property
    def filled(self) -> Mask:
        """(h, w) bool, where a bead is wanted: at least half covered."""
        return np.asarray(self.cover >= 0.5)
