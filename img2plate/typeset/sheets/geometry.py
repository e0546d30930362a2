"""Where things lie on a sheet: arithmetic in mm from the upper left corner, nothing drawn.

+--------------------------------+
| tile name          way up, map |  head
| r   band: numbers, seam marks  |
| u  +------------------------+  |
| l  | cells, true scale      |  |
| e  +------------------------+  |
| r   band, then the ruler       |
| legend                         |
| name, page, how it was made    |  foot
+--------------------------------+
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise
from math import ceil

import numpy as np

from img2plate.base.arrays import Cells
from img2plate.base.errors import OptionError
from img2plate.base.printer import RULER_MM
from img2plate.split.tiles import Tile
from img2plate.typeset.sheets.printing import MARGIN, Printing

HEAD = 22.0
BAND = 10.0
"""Round the cells, for numbers and seam marks."""
RULER = 9.0
LEGEND = 30.0
"""At least so much is kept for the legend and the foot below."""
FOOT = 5.0
"""Kept at the lower end of each page."""
OVERLAP = 2
"""Pegs that two parts of one tile share."""
LEAST_PEGS = 4
"""Pegs a side that a page must add; below that a plate would take a heap of paper."""
_OPPOSITE = {"left": "right", "right": "left"}


@dataclass(frozen=True)
class Page:
    """A sheet of paper as it is turned, and where the cells start.

    On a printer that prints 100 mm as 99.4 mm all is drawn 100 / 99.4 times as large: then width
    and height are what the paper measures in mm that come out true.
    """

    width: float
    height: float
    pitch: float
    margin: float = MARGIN
    stretch: tuple[float, float] = (1.0, 1.0)
    """How much larger to draw across and down, so that it comes out true."""
    shift: tuple[float, float] = (0.0, 0.0)
    """How far right and down these cells lie from the first ones of the page."""

    @property
    def left(self) -> float:
        """Left edge of the cells."""
        return self.margin + RULER + BAND + self.shift[0]

    @property
    def top(self) -> float:
        """Upper edge of the cells."""
        return self.margin + HEAD + BAND + self.shift[1]

    @property
    def lower_end(self) -> float:
        """Lower end of what may be printed above the foot."""
        return self.height - self.margin - FOOT

    @property
    def pegs_across(self) -> int:
        """Pegs that fit beside each other."""
        return int((self.width - self.left - BAND - self.margin) / self.pitch + 1e-9)

    @property
    def pegs_down(self) -> int:
        """Pegs that fit below each other."""
        room = self.height - self.top - BAND - RULER - LEGEND - self.margin
        return int(room / self.pitch + 1e-9)


@dataclass(frozen=True)
class Part:
    """What one page shows of a tile, in whole-plate pegs; the whole tile when it fits."""

    tile: Tile
    x: int
    y: int
    width: int
    height: int
    number: int
    """From 1."""
    count: int
    """Parts of this tile."""
    across: int = 1
    """Parts of this tile beside each other; the numbers run in reading order."""
    mirrored: bool = False
    """Whether it is printed as seen from the other side."""

    @property
    def is_last(self) -> bool:
        """Whether no page of this tile follows."""
        return self.number == self.count

    def touches(self, edge: str) -> bool:
        """Whether an edge of this part (of the plate, not of the print) is the tile's own edge."""
        tile = self.tile
        return {
            "left": self.x == tile.x,
            "top": self.y == tile.y,
            "right": self.x + self.width == tile.x + tile.width,
            "bottom": self.y + self.height == tile.y + tile.height,
        }[edge]

    def cells(self, cells: Cells) -> Cells:
        """(height, width) view of the plate's cells as they are printed."""
        shown = cells[self.y : self.y + self.height, self.x : self.x + self.width]
        return shown[:, ::-1] if self.mirrored else shown

    def column(self, place: int) -> int:
        """Plate column, from 0, of a printed column counted from the left."""
        return self.x + (self.width - 1 - place if self.mirrored else place)

    def place_of(self, column: float) -> float:
        """Printed place, in pegs from the left, of a plate column's middle (or of any point)."""
        return self.width - 1 - (column - self.x) if self.mirrored else column - self.x

    def printed_edge(self, edge: str) -> str:
        """On which side of the print an edge of the plate is."""
        return _OPPOSITE.get(edge, edge) if self.mirrored else edge

    def joins(self) -> list[Join]:
        """Where this page is laid over others of the same tile."""
        sides = (
            ("left", self.number - 1),
            ("right", self.number + 1),
            ("top", self.number - self.across),
            ("bottom", self.number + self.across),
        )
        return [
            Join(edge, other, f"{min(self.number, other)}+{max(self.number, other)}")
            for edge, other in sides
            if not self.touches(edge)
        ]


@dataclass(frozen=True)
class Join:
    """A line on which two pages of one tile are laid over each other."""

    edge: str
    """Edge of the part, on the plate."""
    other: int
    """Number of the part beyond."""
    name: str
    """Same on both pages: `1+2`."""


def turn(sizes: Iterable[tuple[int, int]], pitch: float, printing: Printing) -> Page:
    """Turn the paper so that tiles of these sizes need the fewest pages; upright when equal.

    So most tiles stay whole. Raises OptionError when the paper is too small for parts to overlap.
    """
    counted = Counter(sizes)

    def pages(page: Page) -> int:
        return sum(times * pages_for(page, size) for size, times in counted.items())

    return min(usable_pages(pitch, printing), key=pages)


def usable_pages(pitch: float, printing: Printing) -> list[Page]:
    """The paper upright and lying, as far as parts of tiles fit on it.

    Raises OptionError when neither way is large enough.
    """
    upright, lying = _pages(pitch, printing)
    usable = [page for page in (upright, lying) if _fits(page)]
    if not usable:
        raise OptionError(
            f"at {pitch:g} mm only {max(upright.pegs_across, 0)} x {max(upright.pegs_down, 0)}"
            f" pegs fit on {printing.paper.name}",
            field="pitch_mm",
            remedy="choose a larger `paper`, or a smaller `margin_mm`",
        )
    return usable


def _pages(pitch: float, printing: Printing) -> tuple[Page, Page]:
    """The paper upright and lying, in mm that come out true."""
    short, long = printing.paper.width_mm, printing.paper.height_mm
    of_short, of_long = (RULER_MM / measured for measured in printing.measured_mm)
    margin = printing.margin_mm
    return (
        Page(short / of_short, long / of_long, pitch, margin, (of_short, of_long)),
        Page(long / of_long, short / of_short, pitch, margin, (of_long, of_short)),
    )


def _fits(page: Page) -> bool:
    """Whether a page holds enough pegs to be of use, besides the overlap."""
    return min(page.pegs_across, page.pegs_down) >= OVERLAP + LEAST_PEGS


def pages_for(page: Page, size: tuple[int, int]) -> int:
    """How many pages a tile of a size in pegs takes."""
    return len(_cuts(size[0], page.pegs_across)) * len(_cuts(size[1], page.pegs_down))


def parts_of(tile: Tile, page: Page, *, mirrored: bool = False) -> list[Part]:
    """Cut a tile over pages, with an overlap; one part when it fits."""
    across = _cuts(tile.width, page.pegs_across)
    down = _cuts(tile.height, page.pegs_down)
    places = [(x, y) for y in down for x in across]
    count, wide = len(places), len(across)
    return [
        Part(tile, tile.x + x[0], tile.y + y[0], x[1], y[1], number, count, wide, mirrored)
        for number, (x, y) in enumerate(places, 1)
    ]


def has_beads(tile: Tile, cells: Cells) -> bool:
    """Whether a tile needs a board and a page."""
    return bool(np.any(tile.of(cells) >= 0))


def _cuts(length: int, most: int) -> list[tuple[int, int]]:
    """Cut a length into stretches (start, length) of at most `most` that overlap, about equal."""
    if length <= most:
        return [(0, length)]
    count = ceil((length - OVERLAP) / (most - OVERLAP))
    step = (length - OVERLAP) / count
    starts = [round(i * step) for i in range(count + 1)]
    return [(a, min(b + OVERLAP, length) - a) for a, b in pairwise(starts)]
