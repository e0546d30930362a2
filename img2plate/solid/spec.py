"""What a figure is to be: plain descriptions, with pictures already turned into cells.

`solid/file/figure_file.py` reads them from TOML, `solid/box/build.py` makes plates of them.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from img2plate.base.arrays import Cells
from img2plate.base.credit import Credit
from img2plate.colour.palette import Palette
from img2plate.solid.faces import FACES, OPPOSITE, Size
from img2plate.solid.fit.model import FitModel

COLOUR_ORDER = ("front", "top", "right", "left", "back", "bottom")
"""Of two faces that want an edge bead in different colours, the earlier one gets its way."""
LEAST, MOST = 2, 200
"""Beads along one side of a part; of 2 it can only be a bar, open at both ends."""
LEAST_CLOSED = 3
"""Beads along one side of a closed box."""
LIDS = ("lift", "slide")


@dataclass(frozen=True)
class OpeningSpec:
    """A hole in a face: a window, a slot for coins, a way for a cable or a light."""

    face: str
    cells: tuple[int, int]
    """Empty cells across and down the face."""
    at: tuple[int, int] | None = None
    """Column and row of its upper left cell, from 0, seen from outside; None: in the middle."""
    name: str = "opening"
    line: int = 0
    """Where it begins in its file, from 1; 0: it comes from none."""


@dataclass(frozen=True)
class ShelfSpec:
    """A plate inside, square to the walls, with a tab through each of them."""

    level: int
    """Its layer, counted from the bottom plate, which is 0."""
    colour: int
    """Palette index."""
    line: int = 0
    """Where it begins in its file, from 1; 0: it comes from none."""


@dataclass(frozen=True)
class DividerSpec:
    """An upright plate inside, with a tab through each wall that it ends at."""

    axis: int
    """0: from front to back, 1: from left to right."""
    level: int
    """Its layer from the left, or from the front, which is 0."""
    colour: int
    """Palette index."""
    high: int = 0
    """Beads of it above the bottom; 0: up to the top."""
    line: int = 0
    """Where it begins in its file, from 1; 0: it comes from none."""


@dataclass(frozen=True)
class PartSpec:
    """A box of beads."""

    name: str
    size: Size
    at: tuple[int, int, int] = (0, 0, 0)
    """Its front lower left bead in the figure."""
    cells: Mapping[str, Cells] = field(default_factory=dict)
    """(h, w) cells of each face that is described; others are filled from the nearest."""
    open: frozenset[str] = frozenset()
    """Faces that are left out."""
    lid: str = ""
    """How the top, or `lid_on`, comes off: one of LIDS, or not."""
    lid_on: str = "top"
    """The face that is a lid."""
    colour: int | None = None
    """Palette index for faces that nothing else colours."""
    finger: int = 0
    """Beads of a finger; 0: by the length of each edge."""
    colour_order: tuple[str, ...] = COLOUR_ORDER
    loose: bool = False
    """Whether it only stands there, tied to nothing."""
    inside: str = ""
    """The part that it lies in and comes out of, once the lid is off."""
    plug: tuple[str, str] | None = None
    """Part and face that its walls go into by fingers of their own; open on that side."""
    openings: tuple[OpeningSpec, ...] = ()
    shelves: tuple[ShelfSpec, ...] = ()
    dividers: tuple[DividerSpec, ...] = ()
    line: int = 0
    """Where it begins in its file, from 1; 0: it comes from none."""
    lid_to: str = ""
    """The face that a sliding lid comes out to; empty: see `way_out`."""

    @property
    def faces(self) -> frozenset[str]:
        """Faces that get a plate of the box; a sliding lid is not one of them."""
        gone = self.open | ({self.lid_on} if self.lid == "slide" else set())
        gone |= {self.plug_side} if self.plug else set()
        return frozenset(FACES) - gone

    @property
    def plug_side(self) -> str:
        """The face on which a plugged part is open."""
        return OPPOSITE[self.plug[1]] if self.plug else ""

    @property
    def way_out(self) -> str:
        """The face that a sliding lid comes out to: the front, or up where it is upright."""
        return self.lid_to or ("front" if self.lid_on in ("top", "bottom") else "top")


@dataclass(frozen=True)
class JoinSpec:
    """How two parts hang together: matching openings in two faces that touch, and a connector."""

    name: str
    first: tuple[str, str]
    """Part and face."""
    second: tuple[str, str]
    kind: str
    """`strip`, `plus` or `rod`."""
    beads: int
    """Width of the strip, empty cells of its slot; for a rod the cells of its square hole."""
    at: tuple[int, int] | None = None
    """Column and row of its middle cell on the first face, from 0; None: middle of what touches."""
    upright: bool = False
    """Whether the strip runs along the face's rows downwards."""
    depth: int = 3
    """Beads that it reaches into each part, the wall's own among them."""
    colour: int = 0
    """Palette index of the strips."""
    ears: bool = False
    """Whether strips get an ear in either wall, at opposite ends, so that they cannot slide."""
    line: int = 0
    """Where it begins in its file, from 1; 0: it comes from none."""


@dataclass(frozen=True, eq=False)
class FinSpec:
    """A flat plate that stands upright in a slot of a face."""

    name: str
    host: tuple[str, str]
    """Part and face."""
    cells: Cells
    """(h, w) its beads without the tab; the lowest row lies on the face."""
    at: tuple[int, int]
    """Column and row on the face of its first column, from 0."""
    upright: bool = False
    """Whether its columns run along the face's rows downwards."""
    depth: int = 1
    """Layers that the tab reaches in, the face's own among them."""
    may_lean: bool = False
    tabs: int = 1
    """Tabs side by side; two hold it against turning, and lean no less."""
    collar: bool = False
    """Whether a second plate lies on the face, round the tab and under the shoulders."""
    collar_colour: int | None = None
    """Palette index of the collar; None: as the face below it."""
    line: int = 0
    """Where it begins in its file, from 1; 0: it comes from none."""


@dataclass(frozen=True, eq=False)
class DoorSpec:
    """A door in a wall, that turns on an upright rod and opens to the inside."""

    name: str
    host: tuple[str, str]
    """Part and face."""
    cells: Cells
    """(h, w) its beads; the doorway is one bead larger on every side."""
    at: tuple[int, int]
    """Column and row on the face of its upper left bead, from 0."""
    hinge: str = "left"
    """`left` or `right`, seen from outside."""
    rod_mm: float = 3.0
    """Diameter of the rod."""
    line: int = 0
    """Where it begins in its file, from 1; 0: it comes from none."""


@dataclass(frozen=True, eq=False)
class RoofSpec:
    """Sloping plates on top of a part: a pitched roof, or one plate on a low and a high wall."""

    name: str
    host: str
    """The part that it lies on, which has no top of its own."""
    length: float
    """Along the slope, in beads: from the wall to the ridge, or from the low wall to the high."""
    cells: Cells
    """(h, w) each sloping plate as seen from outside, the row at the ridge first."""
    low: str
    """The wall that it slopes down to; the first of the two of a pitched roof."""
    pitched: bool = True
    eaves: int = 2
    """Beads beyond its slots, down the slope; of a single plate at either end."""
    overhang: int = 1
    """Beads beyond the walls that end under it."""
    gable: Cells | None = None
    """(h, w) colours of what those two walls have above the others; None: as their top row."""
    line: int = 0
    """Where it begins in its file, from 1; 0: it comes from none."""


@dataclass(frozen=True, eq=False)
class FigureSpec:
    """All parts and joins of a figure."""

    name: str
    palette: Palette
    parts: tuple[PartSpec, ...]
    joins: tuple[JoinSpec, ...] = ()
    fins: tuple[FinSpec, ...] = ()
    model: FitModel = field(default_factory=FitModel)
    thickness_mm: float = 4.0
    lid_thickness_mm: float | None = None
    """Of plates that come off; None: half-way from the walls' to where they would fall out."""
    notes: tuple[str, ...] = ()
    """Cautions that the maker asked for, such as lights or magnets."""
    remarks: tuple[str, ...] = ()
    """What was seen and done while the pictures of faces were read, a line each."""
    colourways: Mapping[str, NDArray[np.int16]] = field(default_factory=dict)
    """By name: (n + 1,) int16 new index of each palette colour; the last is -1, an empty cell."""
    doors: tuple[DoorSpec, ...] = ()
    credit: Credit = field(default_factory=Credit)
    """Title, author, licence."""
    roofs: tuple[RoofSpec, ...] = ()

    @property
    def title(self) -> str:
        """What stands on its sheets."""
        return self.credit.title or self.name

    @property
    def lid_mm(self) -> float:
        """Thickness to press lids to: a little more than the walls, so that they go on and off."""
        if self.lid_thickness_mm is not None:
            return self.lid_thickness_mm
        for thin, thick in self.model.thickness_ranges(("holds",)):
            if thin <= self.thickness_mm <= thick:
                return round((self.thickness_mm + thick) / 2, 1)
        return self.thickness_mm
