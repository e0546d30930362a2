"""A finished plate and its place in the figure."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from img2plate.plate.plate import Plate
from img2plate.solid.faces import FAR, NORMAL, Places
from img2plate.solid.turn import Turn, box_corners

_ROUNDING = 1e-6
"""Beads that a sloping plate may reach into a place by without counting."""


@dataclass(frozen=True, eq=False)
class Piece:
    """One plate of a figure."""

    name: str
    group: str
    """Part or join that it is of."""
    role: str
    """`wall`, `lid`, `slide`, `shelf`, `divider`, `strip`, `lug`, `fin` or `collar`."""
    plate: Plate
    places: Places
    """Figure coordinates of each cell, each (h, w), of empty ones too."""
    seen: str
    """Face whose way of looking the plate takes."""
    thickness_mm: float
    turn: Turn | None = None
    """How it slopes: its places are then those before it is turned; None: it does not."""

    @property
    def title(self) -> str:
        """Group and name, as `body front`."""
        return f"{self.group} {self.name}"

    @property
    def axis(self) -> int:
        """Axis that the plate is square to."""
        return NORMAL[self.seen]

    @property
    def outward(self) -> int:
        """1 or -1: which way along its axis the seen side looks."""
        return 1 if self.seen in FAR else -1

    @cached_property
    def voxels(self) -> NDArray[np.int64]:
        """(n, 3) int64 figure coordinates of its beads, rows of the plate first."""
        filled = self.plate.filled
        return np.stack([axis[filled] for axis in self.places], axis=1)

    @property
    def normal(self) -> NDArray[np.float64]:
        """(3,) where the seen side looks in the figure, of unit length."""
        normal = np.zeros(3)
        normal[self.axis] = self.outward
        return self.turn.vectors(normal) if self.turn else normal

    def in_figure(self, points: NDArray[Any]) -> NDArray[np.float64]:
        """(..., 3) points of its lattice, where a bead is v to v + 1, in the figure."""
        return self.turn.points(points) if self.turn else np.asarray(points, dtype=np.float64)

    @cached_property
    def corners(self) -> NDArray[np.float64]:
        """(8, 3) corners of the box of its beads, sloping as they do, in the figure."""
        return self.in_figure(box_corners(self.voxels))

    @property
    def bounds(self) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
        """First and last place of the figure that it reaches into, each (3,)."""
        if self.turn is None:
            return self.voxels.min(axis=0), self.voxels.max(axis=0)
        low, high = self.corners.min(axis=0), self.corners.max(axis=0)
        return (
            np.floor(low + _ROUNDING).astype(np.int64),
            np.ceil(high - _ROUNDING).astype(np.int64) - 1,
        )
