"""Plates in space as they are drawn, and the view: from the front, the right and above.

45 degrees round, 30 degrees up. Of a place (x, y, z)

    right on paper  (x + y) a        down on paper  (x - y) b - z h

with a : b : h = 2 : 1 : sqrt 6, which is that view to scale (h is rounded to whole pixels).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import cos, pi, sin, sqrt
from typing import Any

import numpy as np
from numpy.typing import NDArray

from img2plate.solid.turn import Turn, box_corners

_UP = pi / 6
VIEW = np.array([cos(_UP) / sqrt(2), -cos(_UP) / sqrt(2), sin(_UP)])
"""Towards the viewer; how far along it a point lies is its depth."""
DEPTHS = 1 << 12
"""Steps of depth in a bead."""
FAR = 1 << 38
"""Added, so that depths of all beads are over 0."""
Way = tuple[int, int]
"""An axis, and 1 or -1 along it."""


@dataclass(frozen=True, eq=False)
class Slab:
    """A plate in space."""

    voxels: NDArray[np.int64]
    """(n, 3) places of its beads, before they are turned."""
    colours: NDArray[np.int16]
    """(n,) palette indices."""
    axis: int
    share: float
    """Thickness over pitch."""
    hole: float
    """Hole over pitch."""
    is_faint: bool = False
    turn: Turn | None = None
    """How it slopes, if it does."""

    @property
    def middles(self) -> NDArray[np.float64]:
        """(n, 3) middles of its beads, in space."""
        return self.in_space(self.voxels + 0.5)

    @property
    def corners(self) -> NDArray[np.float64]:
        """(8, 3) corners of the box that all its beads lie in, in space."""
        return self.in_space(box_corners(self.voxels))

    def in_space(self, points: NDArray[Any]) -> NDArray[np.float64]:
        """(..., 3) points of its lattice, turned if it slopes."""
        return self.turn.points(points) if self.turn else np.asarray(points, dtype=np.float64)

    def facing(self, towards: Way) -> NDArray[np.bool_]:
        """(n,) beads whose face to that side is not covered by a bead beside it in its plane."""
        axis, step = towards
        if axis == self.axis:
            return np.ones(len(self.voxels), dtype=bool)
        low = self.voxels.min(axis=0) - 1
        taken = np.zeros(self.voxels.max(axis=0) - low + 2, dtype=bool)
        inside = self.voxels - low
        taken[tuple(inside.T)] = True
        inside[:, axis] += step
        return ~np.asarray(taken[tuple(inside.T)])

    def face(self, towards: Way) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Of a bead's face to a side, from the bead's place: one corner (3,), two edges (2, 3)."""
        axis, step = towards
        low, high = np.zeros(3), np.ones(3)
        low[self.axis], high[self.axis] = (1 - self.share) / 2, (1 + self.share) / 2
        low[axis] = high[axis] = high[axis] if step > 0 else low[axis]
        edges = np.zeros((2, 3))
        ways = [a for a in range(3) if a != axis]
        edges[[0, 1], ways] = (high - low)[ways]
        return low, edges


def alike(slabs: Sequence[Slab]) -> list[Slab]:
    """Level slabs that are drawn alike, as one: a few looks instead of many. Others as they are."""
    groups: dict[object, list[Slab]] = {}
    for number, slab in enumerate(slabs):
        kind = (slab.axis, slab.share, slab.hole, slab.is_faint)
        groups.setdefault(kind if slab.turn is None else number, []).append(slab)
    return [group[0] if len(group) == 1 else _as_one(group) for group in groups.values()]


def _as_one(slabs: Sequence[Slab]) -> Slab:
    """All beads of some slabs."""
    voxels = np.concatenate([slab.voxels for slab in slabs])
    return replace(slabs[0], voxels=voxels, colours=np.concatenate([s.colours for s in slabs]))


@dataclass(frozen=True)
class Scale:
    """Pixels of one bead, before averaging."""

    b: int

    @property
    def a(self) -> int:
        """Right on paper for a step along x or y."""
        return 2 * self.b

    @property
    def h(self) -> int:
        """Up on paper for a step along z."""
        return round(sqrt(6) * self.b)

    def project(self, points: NDArray[Any]) -> NDArray[Any]:
        """(..., 3) places to (..., 2) pixels right and down."""
        x, y, z = points[..., 0], points[..., 1], points[..., 2]
        return np.stack([(x + y) * self.a, (x - y) * self.b - z * self.h], axis=-1)
