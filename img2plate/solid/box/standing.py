"""A fin while it is being made."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from img2plate.base.arrays import Cells
from img2plate.plate.plate import EMPTY
from img2plate.solid.box.part import Part
from img2plate.solid.spec import FinSpec


@dataclass(eq=False)
class Standing:
    """A fin on its face, from its top row down to the end of its tab."""

    spec: FinSpec
    part: Part
    panel: int
    """Number of the face's panel."""
    line: NDArray[np.int64]
    """(w, 3) figure coordinates of the face's cells below each column."""
    cells: Cells
    """(n, w) its beads, the tab's among them; changed where another fin crosses."""
    out: NDArray[np.int64]
    """(n,) layers off the face of each row: from 1 up outside, 0 and less for the tab."""
    axis: int
    step: int
    """The way out of the face."""
    held_at: int = 0
    """Layer off the face up to which another fin holds it; 0: none does."""

    @property
    def tab(self) -> NDArray[np.intp]:
        """Columns that go through the face."""
        return np.flatnonzero(self.cells[self.out == 0][0] >= 0)

    def filled(self, column: int, out: int) -> bool:
        """Whether there is a bead in a column so many layers off the face."""
        inside = 0 <= column < self.cells.shape[1]
        return inside and bool((self.cells[self.out == out, column] >= 0).any())

    def clear(self, column: int, low: int, high: int) -> None:
        """Take the beads of a column out, from one layer off the face to another."""
        self.cells[(self.out >= low) & (self.out <= high), column] = EMPTY
