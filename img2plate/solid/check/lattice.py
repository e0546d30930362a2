"""What the checker may know of a figure: plates as places of a lattice, and declared exceptions."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from img2plate.solid.turn import Turn

Voxels = NDArray[np.int64]
"""(n, 3) int64 lattice places."""
Place = tuple[int, int, int]


@dataclass(frozen=True)
class Pressed:
    """What pressed beads measure, mm."""

    pitch_mm: float
    thick_mm: float
    wide_mm: float
    """A bead with free edges."""


@dataclass(frozen=True, eq=False)
class Solid:
    """What is checked of one plate."""

    name: str
    group: str
    voxels: Voxels
    """Places; of a plate that slopes, those before it is turned."""
    axis: int
    """Axis that it says it is square to, before it is turned."""
    turn: Turn | None = None
    pressed: Pressed | None = None
    """Needed of all plates where any slopes."""

    @cached_property
    def places(self) -> frozenset[Place]:
        """Its voxels as tuples."""
        return frozenset(places_of(self.voxels))

    @cached_property
    def span(self) -> tuple[Place, Place]:
        """First and last place of its voxels along each axis."""
        low, high = self.voxels.min(axis=0).tolist(), self.voxels.max(axis=0).tolist()
        return (low[0], low[1], low[2]), (high[0], high[1], high[2])


@dataclass(frozen=True, eq=False)
class Rod:
    """A bar that is no plate, through holes of at least two plates of different groups."""

    name: str
    voxels: Voxels
    """The places that it fills."""
    axis: int
    """Axis that it runs along."""


@dataclass(frozen=True)
class Held:
    """Where a fin is said to be held upright: how far it leans counts on it."""

    fin: str
    axis: int
    level: int
    """Layer, along the axis, in which a plate has beads on both sides of it."""


@dataclass(frozen=True)
class Exceptions:
    """Plates and groups, by name, that are meant to do what the others may not."""

    sliding: frozenset[str] = frozenset()
    """Come out within their plane: not interlocked, but kept from leaving it."""
    tabbed: frozenset[str] = frozenset()
    """Have single tabs instead of even fingers: lids, shelves, strips."""
    halved: frozenset[str] = frozenset()
    """Where two of these cross, each has one half of the line, so they part one way."""
    lids: frozenset[str] = frozenset()
    """Come off before what lies inside their group does."""
    trays: frozenset[str] = frozenset()
    """Groups that lie inside another one and come out of it by themselves."""
    strips: frozenset[str] = frozenset()
    """Go through other plates, and leave along their slots; each must be gripped by two."""
    eared: frozenset[str] = frozenset()
    """Strips that cannot slide along the way through their two plates."""
    lugs: frozenset[str] = frozenset()
    """Go into slots of a plate of their group within their plane, on either side of a rod."""
    fins: frozenset[str] = frozenset()
    """Stand upright in a slot of one plate of another group, and come out of it."""
    held: tuple[Held, ...] = ()
    """What holds them upright, as it is said."""
    plugs: frozenset[str] = frozenset()
    """Groups whose walls stand in slots of a plate of another group, and come out of it."""
    loose: frozenset[str] = frozenset()
    """Groups that only stand there: nothing has to tie them, and what hangs on them, to others."""


@dataclass(frozen=True)
class Finding:
    """What is wrong, of which plate, and where; without finger strings or lattice numbers."""

    words: str
    plate: str = ""
    """The plate that has the place."""
    place: Place | None = None

    def __str__(self) -> str:
        """The words, and the place if there is one."""
        return f"{self.words} (at {self.place})" if self.place else self.words


@dataclass(frozen=True)
class Step:
    """One step of putting a group together."""

    name: str
    axis: int
    step: int
    """The plate comes from far along (axis, step), so moves the other way."""
    along: tuple[float, float, float] | None = None
    """Unit direction that it comes from, where that is no axis; `axis` and `step` are nearest."""


def places_of(voxels: Voxels) -> set[Place]:
    """Lattice places as tuples."""
    return {(x, y, z) for x, y, z in voxels.tolist()}


def first_place(places: Iterable[Place]) -> Place | None:
    """The first of some places, so that the same one is always named."""
    return min(places, default=None)
