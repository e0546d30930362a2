"""Where a sloping plate stands: it is written on the lattice like any other, then turned."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import atan2, cos, degrees, pi, sin
from typing import Any

import numpy as np
from numpy.typing import NDArray

_CORNERS = np.array([[x, y, z] for x in (0, 1) for y in (0, 1) for z in (0, 1)])


def box_corners(voxels: NDArray[np.int64]) -> NDArray[np.int64]:
    """(8, 3) corners of the box that beads at places (n, 3) fill."""
    return np.stack([voxels.min(axis=0), voxels.max(axis=0) + 1])[_CORNERS, [0, 1, 2]]


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

    def levelled(self, normal: NDArray[Any]) -> Turn:
        """The turn about the same line that has what looks to (3,) after this one look up.

        Itself where the line is upright.
        """
        if self.along == 2:
            return self
        one, two = (self.along + 1) % 3, (self.along + 2) % 3
        up = pi / 2 if two == 2 else 0.0
        angle = atan2(self.sin, self.cos) + up - atan2(normal[two], normal[one])
        return replace(self, cos=cos(angle), sin=sin(angle))

    def moved(self, shift: NDArray[Any]) -> Turn:
        """The same turn with everything moved by (3,) beads afterwards."""
        x, y, z = (float(old + new) for old, new in zip(self.shift, shift, strict=True))
        return replace(self, shift=(x, y, z))
