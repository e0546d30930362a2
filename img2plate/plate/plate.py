"""The plate: one bead, or none, in each cell."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from img2plate.base.arrays import Cells, Mask
from img2plate.base.credit import Credit
from img2plate.colour.palette import Palette

EMPTY = -1
"""Where no bead lies."""

Made = Mapping[str, str | int | float]
"""How a plate was made: option name and value."""


@dataclass(frozen=True, eq=False)
class Plate:
    """What gets fused in one piece. Row 0 is the top row, as seen."""

    cells: Cells
    """(h, w) int16 index into `palette.beads`, -1 = empty."""
    palette: Palette
    """The colours, with the pitch and the bead they are for."""
    name: str = "plate"
    made: Made = field(default_factory=dict)
    credit: Credit = field(default_factory=Credit)
    """Title, author, licence."""
    laid: Mapping[str, Any] = field(default_factory=dict)
    """How its pack was laid out, as plain JSON (see `pipeline.laid`); empty when it was not."""

    @property
    def size(self) -> tuple[int, int]:
        """Width and height in beads."""
        height, width = self.cells.shape
        return width, height

    @property
    def filled(self) -> Mask:
        """(h, w) bool, where a bead lies."""
        return np.asarray(self.cells >= 0)

    @property
    def bead_count(self) -> int:
        """How many beads the plate takes."""
        return int(np.count_nonzero(self.cells >= 0))

    @property
    def size_mm(self) -> tuple[float, float]:
        """Width and height in mm, cell edge to cell edge."""
        width, height = self.size
        return width * self.palette.pitch_mm, height * self.palette.pitch_mm

    def counts(self) -> NDArray[np.int64]:
        """(n,) int64: beads of each palette colour, in the palette's order."""
        return np.bincount(self.cells[self.cells >= 0], minlength=len(self.palette))

    def linear(self, empty: float = 1.0) -> NDArray[np.float32]:
        """(h, w, 3) float32 linear light of each cell; `empty` is the grey of empty cells."""
        table = np.vstack([self.palette.linear, np.full((1, 3), empty)]).astype(np.float32)
        return table[self.cells]
