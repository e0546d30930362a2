"""Where things lie on a sheet: arithmetic in mm from the upper left corner, nothing drawn.

+--------------------------------+
| tile name          way up, map |  head
| r   band: numbers, seam marks  |
| u  +------------------------+  |
| l  | cells, true scale      |  |
| e  +------------------------+  |
| r   band, then the ruler       |
| legend                         |
+--------------------------------+
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from math import ceil

from img2plate.base.errors import OptionError
from img2plate.base.lengths import Paper
from img2plate.split.tiles import Tile

MARGIN = 8.0
"""Most printers reach to within 5 mm of the edge; common practice, no source."""
HEAD = 22.0
BAND = 10.0
"""Round the cells, for numbers and seam marks."""
RULER = 9.0
LEGEND = 30.0
"""At least so much is kept for the legend below."""
RULER_MM = 100.0
OVERLAP = 2
"""Pegs that two parts of one tile share."""
LEAST_PEGS = 4
"""Pegs a side that a page must add; below that a plate would take a heap of paper."""


@dataclass(frozen=True)
class Page:
    """A sheet of paper as it is turned, and where the cells start."""

    width: float
    height: float
    pitch: float

    left: float = MARGIN + RULER + BAND
    top: float = MARGIN + HEAD + BAND

    @property
    def pegs_across(self) -> int:
        """Pegs that fit beside each other."""
        return int((self.width - self.left - BAND - MARGIN) / self.pitch + 1e-9)

    @property
    def pegs_down(self) -> int:
        """Pegs that fit below each other."""
        room = self.height - self.top - BAND - RULER - LEGEND - MARGIN
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

    def touches(self, edge: str) -> bool:
        """Whether an edge of this part is the tile's own edge."""
        tile = self.tile
        return {
            "left": self.x == tile.x,
            "top": self.y == tile.y,
            "right": self.x + self.width == tile.x + tile.width,
            "bottom": self.y + self.height == tile.y + tile.height,
        }[edge]


def turn(paper: Paper, board: tuple[int, int], pitch: float) -> Page:
    """Turn the paper so that a board needs the fewest pages; upright when both ways are equal.

    Raises OptionError when the paper is too small for its parts to overlap.
    """
    upright = Page(paper.width_mm, paper.height_mm, pitch)
    lying = Page(paper.height_mm, paper.width_mm, pitch)
    usable = [page for page in (upright, lying) if _fits(page)]
    if not usable:
        raise OptionError(
            f"--pitch: at {pitch:g} mm only {upright.pegs_across} x {upright.pegs_down} pegs fit on"
            f" {paper.name}; choose a larger --paper"
        )
    return min(usable, key=lambda page: pages_for(page, board))


def _fits(page: Page) -> bool:
    """Whether a page holds enough pegs to be of use, besides the overlap."""
    return min(page.pegs_across, page.pegs_down) >= OVERLAP + LEAST_PEGS


def pages_for(page: Page, board: tuple[int, int]) -> int:
    """How many pages a board takes."""
    return len(_cuts(board[0], page.pegs_across)) * len(_cuts(board[1], page.pegs_down))


def parts_of(tile: Tile, page: Page) -> list[Part]:
    """Cut a tile over pages, with an overlap; one part when it fits."""
    across = _cuts(tile.width, page.pegs_across)
    down = _cuts(tile.height, page.pegs_down)
    places = [(x, y) for y in down for x in across]
    return [
        Part(tile, tile.x + x[0], tile.y + y[0], x[1], y[1], number, len(places))
        for number, (x, y) in enumerate(places, 1)
    ]


def _cuts(length: int, most: int) -> list[tuple[int, int]]:
    """Cut a length into stretches (start, length) of at most `most` that overlap, about equal."""
    if length <= most:
        return [(0, length)]
    count = ceil((length - OVERLAP) / (most - OVERLAP))
    step = (length - OVERLAP) / count
    starts = [round(i * step) for i in range(count + 1)]
    return [(a, min(b + OVERLAP, length) - a) for a, b in pairwise(starts)]
