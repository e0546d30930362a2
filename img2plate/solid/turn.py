"""Where a sloping plate stands: it is written on the lattice like any other, then turned."""

from __future__ import annotations

from dataclasses import dataclass
from math import atan2, degrees
from typing import Any

import numpy as np
from numpy.typing import NDArray


@dataclass(frozen=True)
class Turn:
    """A rotation about a line along an axis through the origin, then a shift; in beads.

    The bead at the place (x, y, z) of the lattice fills x to x + 1 and so on before it is turned.
    """

    along: int
    """Axis of the line. The next axis (x, y, z, x) turns towards the one after it."""
    cos: float
    sin: float
    shift: tuple[float, float, float] = (0.0, 0.0, 0.0)

    @property
    def degrees(self) -> float:
        """Angle of the rotation, over -180 and up to 180."""
        return degrees(atan2(self.sin, self.cos))

    @property
    def matrix(self) -> NDArray[np.float64]:
        """(3, 3) float64 rotation: a column for what each axis becomes."""
        one, two = (self.along + 1) % 3, (self.along + 2) % 3
        matrix = np.zeros((3, 3))
        matrix[self.along, self.along] = 1.0
        matrix[one, one], matrix[two, one] = self.cos, self.sin
        matrix[one, two], matrix[two, two] = -self.sin, self.cos
        return matrix

    def vectors(self, vectors: NDArray[Any]) -> NDArray[np.float64]:
        """(..., 3) directions, turned."""
        return np.asarray(vectors @ self.matrix.T, dtype=np.float64)

    def points(self, points: NDArray[Any]) -> NDArray[np.float64]:
        """(..., 3) points of the lattice to points of the figure, in beads."""
        return np.add(self.vectors(points), self.shift)
