"""What the checker may know of a figure: plates as places of a lattice, and declared exceptions."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Voxels = NDArray[np.int64]
"""(n, 3) int64 lattice places."""


@dataclass(frozen=True, eq=False)
class Solid:
    """What is checked of one plate."""

    name: str
    group: str
    voxels: Voxels

    @property
    def axis(self) -> int:
        """Axis that it is square to; -1 when it is not flat."""
        spans = np.ptp(self.voxels, axis=0)
        flat = np.flatnonzero(spans == 0)
        # A single row of beads is flat two ways; the later axis is as good.
        return int(flat[-1]) if len(flat) else -1


@dataclass(frozen=True)
class Exceptions:
    """Plates, by name, that are meant to do what the others may not."""

    sliding: frozenset[str] = frozenset()
    """Come out within their plane: not interlocked, but kept from leaving it."""
    tabbed: frozenset[str] = frozenset()
    """Have single tabs instead of even fingers: lids, shelves, strips."""
    strips: frozenset[str] = frozenset()
    """Go through other plates, and leave along their slots; each must be gripped by two."""


@dataclass(frozen=True)
class Step:
    """One step of putting a group together."""

    name: str
    axis: int
    step: int
    """The plate comes from far along (axis, step), so moves the other way."""
