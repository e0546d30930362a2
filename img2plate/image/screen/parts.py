"""Parts of a picture whose corners lie on one raster, each with the borders of its art."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from img2plate.base.arrays import Pixels
from img2plate.image.screen.best_box import Floats, best_box, best_span
from img2plate.image.screen.borders import settled
from img2plate.image.screen.corners import Corners, corners
from img2plate.image.screen.rasters import Raster, Worth, likely_rasters, worth

Box = tuple[int, int, int, int]
TILE = 16
"""Pixels of a side by which parts are looked for."""
AIR = 0.05
"""Nats that a tile without corners costs: parts do not grow into what is empty."""
WORST = -12.0
"""Nats of a tile at the least: those at the rim of art hold much of what is round it."""
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
    framed: bool
    """Whether there is an edge along all of its sides."""
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
    rasters = likely_rasters(left, size)
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
    values = _tiles(found, raster, size, worth(raster.pitch, lossy=lossy))
    (left, top, right, bottom), score = best_box(np.maximum(values, WORST) - AIR)
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
    best = settled(pixels, found, box, raster, each, lossy=lossy)
    part = Part(best.box, raster, best.worth, best.framed, *_counts(found, raster, best.box))
    return part if part.worth >= LEAST_WORTH and min(part.cells) >= LEAST_CELLS else None


def _counts(found: Corners, raster: Raster, box: Box) -> tuple[int, int]:
    """Corners of a part on its raster, and those within it that lie beside."""
    within = found.only(found.inside((box[0] + 1, box[1] + 1, box[2] - 1, box[3] - 1)))
    on = int(raster.holds(found.only(found.inside(box))).sum())
    return on, int((~raster.holds(within)).sum())


def _tiles(found: Corners, raster: Raster, size: tuple[int, int], each: Worth) -> Floats:
    """(down, across) what the corners of each tile are worth."""
    across, down = (-(-(length + 1) // TILE) for length in size)
    tile = found.y // TILE * across + found.x // TILE
    values = np.where(raster.holds(found), each.on, each.off)
    return np.asarray(np.bincount(tile, values, across * down).reshape(down, across), np.float64)


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
    start, end, _ = best_span(np.maximum(values, WORST))
    lines = [first + (low + place) // 2 * raster.pitch for place in (start, end - 1)]
    return lines[0], lines[1]


def _overlap(a: Box, b: Box) -> bool:
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]
