"""A finished plate and its place in the figure."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from img2plate.plate.plate import Plate
from img2plate.solid.faces import FAR, NORMAL, Places
from img2plate.solid.turn import Turn


@dataclass(frozen=True, eq=False)
class Piece:
    """One plate of a figure."""

    name: str
    group: str
    """Part or join that it is of."""
    role: str
    """`wall`, `lid`, `slide`, `shelf`, `divider`, `strip` or `fin`."""
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
