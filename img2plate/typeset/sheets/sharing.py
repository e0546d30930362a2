"""Which tiles share a page: in the order to build in, beside and below each other.

+-----------------------------+
| names of all                |
| A1 ...          B1 ...      |
|  +-------+       +-------+  |
|  |       |       |       |  |  each with its own band of numbers and marks
|  +-------+       +-------+  |
| A2 ...                      |
|  +-------+                  |
+-----------------------------+
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from img2plate.base.arrays import Cells
from img2plate.base.printer import RULER_MM
from img2plate.split.tiles import Tile
from img2plate.typeset.sheets.geometry import (
    BAND,
    LEGEND,
    RULER,
    Page,
    Part,
    parts_of,
    usable_pages,
)
from img2plate.typeset.sheets.legend import fits
from img2plate.typeset.sheets.printing import Printing

APART = 2 * BAND + 4.0
"""Between the cells of neighbours on a page: both bands, and a little air, mm."""
LABEL = 6.0
"""Above the band of a tile that shares its page, mm; the head has room for those of the first."""
LEAST_WIDE = 74.0
"""What a label takes: tiles with fewer pegs do not come closer, mm."""


@dataclass(frozen=True)
class Frame:
    """A part of a tile, and where its cells lie."""

    part: Part
    page: Page

    @property
    def right(self) -> float:
        """Right edge of the cells."""
        return self.page.left + self.part.width * self.page.pitch

    @property
    def bottom(self) -> float:
        """Lower edge of the cells."""
        return self.page.top + self.part.height * self.page.pitch


@dataclass(frozen=True)
class Leaf:
    """What one page shows."""

    frames: tuple[Frame, ...]

    @property
    def is_shared(self) -> bool:
        """Whether several tiles lie on it."""
        return len(self.frames) > 1

    @property
    def bottom(self) -> float:
        """Lower edge of the lowest cells."""
        return max(frame.bottom for frame in self.frames)

    @property
    def end(self) -> float:
        """What lies below the cells, their bands and both rulers starts here."""
        top = self.frames[0].page.top
        return max(self.bottom + BAND + RULER, top + RULER_MM) + 3


def share_pages(
    tiles: Sequence[Tile], cells: Cells, pitch: float, printing: Printing
) -> tuple[Page, tuple[Leaf, ...]]:
    """The paper, turned such that fewest pages are needed, and what lies on each, in order.

    Upright when equal. Raises OptionError when the paper is too small.
    """
    colours = [frozenset(np.unique(tile.of(cells)).tolist()) - {-1} for tile in tiles]
    ways = [
        (page, _share(tiles, colours, page, mirrored=printing.mirrored))
        for page in usable_pages(pitch, printing)
    ]
    return min(ways, key=lambda way: len(way[1]))


def _share(
    tiles: Sequence[Tile], colours: Sequence[frozenset[int]], page: Page, *, mirrored: bool
) -> tuple[Leaf, ...]:
    """Fill page after page; a tile that is larger than a page is cut over pages of its own."""
    leaves: list[Leaf] = []
    shown: frozenset[int] = frozenset()
    for tile, own in zip(tiles, colours, strict=True):
        parts = parts_of(tile, page, mirrored=mirrored)
        if len(parts) == 1 and leaves:
            more = _with(leaves[-1], parts[0], len(shown | own))
            if more:
                leaves[-1], shown = more, shown | own
                continue
        leaves += [Leaf((Frame(part, page),)) for part in parts]
        shown = own
    return tuple(leaves)


def _with(leaf: Leaf, part: Part, colours: int) -> Leaf | None:
    """The page with one more tile, beside the last one or below all; None if it does not fit.

    colours: how many the page then shows.
    """
    if leaf.frames[0].part.count > 1:
        return None
    first, last = leaf.frames[0].page, leaf.frames[-1]
    wide, high = part.width * first.pitch, part.height * first.pitch
    beside = max(last.right - first.left, last.page.shift[0] + LEAST_WIDE - BAND) + APART
    for shift in (
        (beside, last.page.shift[1]),
        (0.0, leaf.bottom - first.top + 2 * BAND + LABEL),
    ):
        frame = Frame(part, replace(first, shift=shift))
        grown = Leaf((*leaf.frames, frame))
        inside = frame.page.left + max(wide, LEAST_WIDE - BAND) <= first.width - first.margin - BAND
        low = frame.page.top + high + BAND + RULER + LEGEND <= first.height - first.margin
        if inside and low and fits(first, colours, grown.end):
            return grown
    return None
