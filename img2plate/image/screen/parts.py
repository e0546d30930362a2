"""Parts of a picture whose corners lie on one raster, each with the borders of its art."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from img2plate.base.arrays import Pixels
from img2plate.image.screen.best_box import best_box, best_span
from img2plate.image.screen.borders import settled
from img2plate.image.screen.corners import Corners, corners
from img2plate.image.screen.rasters import Raster, Worth, likely_rasters, worth

Box = tuple[int, int, int, int]
TILE = 16
"""Pixels of a side by which parts are looked for."""
AIR = 0.05
"""Nats that a tile without corners costs: parts do not grow into what is empty."""
LEAST_WORTH = 45.0
"""Nats of a part."""
LEAST_CELLS = 8
"""Across and down."""
MOST_PARTS = 8


@dataclass(frozen=True)
class Part:
    """A part that seems to have a grid."""

    box: Box
    """Left, top, right, bottom, on lines of the raster."""
    raster: Raster
    worth: float
    """Nats."""
    on: int
    """Corners on the raster."""
    stray: int
    """Corners beside it."""

    @property
    def cells(self) -> tuple[int, int]:
        """Columns and rows."""
        left, top, right, bottom = self.box
        return (right - left) // self.raster.pitch, (bottom - top) // self.raster.pitch

    @property
    def area(self) -> int:
        """In pixels."""
        left, top, right, bottom = self.box
        return (right - left) * (bottom - top)


def find_parts(pixels: Pixels, *, lossy: bool = False, most: int = MOST_PARTS) -> list[Part]:
    """Parts of a picture (h, w, 4), best first; none of them overlap."""
    size = pixels.shape[1], pixels.shape[0]
    left, parts = corners(pixels, lossy=lossy), list[Part]()
    rasters = likely_rasters(left, size, lossy=lossy)
    while rasters and len(parts) < most:
        found = [(_coarse(left, raster, size, lossy=lossy), raster) for raster in rasters]
        found = [one for one in found if one[0][1] >= LEAST_WORTH]
        if not found:
            break
        (box, _), raster = max(found, key=lambda one: one[0][1])
        rasters = [raster for _, raster in found]
        part = _settled(pixels, left, raster, box, lossy=lossy)
        taken = left.inside(box)
        if part is not None and not any(_overlap(part.box, other.box) for other in parts):
            parts.append(part)
            taken |= left.inside(part.box)
        left = left.only(~taken)
    return parts


def _coarse(
    found: Corners, raster: Raster, size: tuple[int, int], *, lossy: bool
) -> tuple[Box, float]:
    """The rectangle of tiles that is worth most, in pixels."""
    each, on = worth(raster.pitch, lossy=lossy), raster.holds(found)
    across, down = (-(-(length + 1) // TILE) for length in size)
    tile = found.y // TILE * across + found.x // TILE
    values = np.bincount(tile, np.where(on, each.on, each.off), across * down)
    (left, top, right, bottom), score = best_box(values.reshape(down, across) - AIR)
    return (left * TILE, top * TILE, right * TILE, bottom * TILE), score


def _settled(
    pixels: Pixels, found: Corners, raster: Raster, box: Box, *, lossy: bool
) -> Part | None:
    """A part on its lines, out of a rectangle of tiles; None when too little is left."""
    raster = _finer(found, raster, box)
    each = worth(raster.pitch, lossy=lossy)
    height, width = pixels.shape[:2]
    for _ in range(2):
        room = (max(0, box[0] - TILE), max(0, box[1] - TILE),
                min(width, box[2] + TILE), min(height, box[3] + TILE))  # fmt: skip
        on_x = _span(found.only(found.inside((room[0], box[1], room[2], box[3]))), raster, 0, each)
        box = (on_x[0], room[1], on_x[1], room[3])
        on_y = _span(found.only(found.inside(box)), raster, 1, each)
        box = (on_x[0], on_y[0], on_x[1], on_y[1])
        if min(box[2] - box[0], box[3] - box[1]) < raster.pitch:
            return None
    box = settled(pixels, found, box, raster, each, lossy=lossy)
    there = found.only(found.inside(box))
    on = int(raster.holds(there).sum())
    stray = len(there) - on
    part = Part(box, raster, on * each.on + stray * each.off, on, stray)
    return part if part.worth >= LEAST_WORTH and min(part.cells) >= LEAST_CELLS else None


def _finer(found: Corners, raster: Raster, box: Box) -> Raster:
    """The raster, or a finer one on which those corners lie that are beside it.

    In some art most pixels are doubled, but not all.
    """
    there = found.only(found.inside(box))
    beside = there.only(~raster.holds(there))
    for by in (2, 3):
        pitch, rest = divmod(raster.pitch, by)
        if rest or pitch < 2 or len(beside) < 4:
            continue
        finer = Raster(pitch, raster.left % pitch, raster.top % pitch)
        if finer.holds(beside).mean() >= 0.7:
            return _finer(found, finer, box)
    return raster


def _span(found: Corners, raster: Raster, axis: int, each: Worth) -> tuple[int, int]:
    """First and last line on an axis between which corners are worth most."""
    at, first = ((found.x, raster.left), (found.y, raster.top))[axis]
    if not len(at):
        return 0, 0
    on = raster.holds(found)
    line = 2 * ((at - first) // raster.pitch) + np.where((at - first) % raster.pitch, 1, 0)
    low = int(line.min())
    values = np.bincount(line - low, np.where(on, each.on, each.off))
    start, end, _ = best_span(values)
    lines = [first + (low + place) // 2 * raster.pitch for place in (start, end - 1)]
    return lines[0], lines[1]


def _overlap(a: Box, b: Box) -> bool:
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]
