"""One clean colour for each cell of a found grid.

The cells are those that give the picture when enlarged again: by least squares through the kernel
and, where that explains the picture better, through the halved colour channels of JPEG. Clean hard
cells need no more than the middle of each. Cells that only compression or noise tore apart become
one colour again: as many as the picture bears. Of a JPEG file, what it stores says still more.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from img2plate.base.arrays import Pixels
from img2plate.image.counts import colour_count
from img2plate.image.jpeg.source import JpegSource
from img2plate.image.native.axis import AxisGrid
from img2plate.image.native.fit import CellFit, Planes, size
from img2plate.image.native.loops import HARDEST
from img2plate.image.native.luma import CLOSE_CHROMA
from img2plate.image.native.merge import merge_like
from img2plate.image.native.parts import premultiplied, reduced
from img2plate.image.native.solver import kept_cells
from img2plate.image.native.stored_colours import stored_colours

MARGIN = 0.2
"""Share of a cell on each side that is left out: neighbours bleed in there."""
LEAST_SAMPLES, MOST_SAMPLES, MOST_SAMPLED = 3, 9, 1500
"""Along one side of a cell: of many cells fewer, so that a side of the picture gives so many."""
CLEAN = 0.5
"""Error in 8-bit steps up to which nothing was lost."""
MOST_SOLVED = 1_500_000
"""Pixels that are all looked at; a larger picture is made smaller, or only seen at its middles."""
SHARES, MOST_CHOSEN = (0.3, 0.5, 0.7, 1.0, 1.5), 10_000
"""Of the radius within which like colours are merged; and cells up to which all are tried."""


def cell_colours(
    pixels: Pixels, x: AxisGrid, y: AxisGrid, kind: int, source: JpegSource | None = None
) -> Pixels:
    """(rows, columns, 4) uint8 colours of the kept cells of a picture (h, w, 4).

    `source`: the JPEG file that the picture was read from, which says more than its pixels.
    """
    if kind <= HARDEST:
        cells, spread = _middles(pixels, x, y)
        if spread == 0 or (spread < CLEAN and source is None):
            return straight(cells)
        if pixels[..., 0].size > MOST_SOLVED:
            return straight(merge_like(cells, 3.0 + 1.6 * spread))
    times = _times(pixels, min(x.pitch, y.pitch))
    planes = premultiplied(pixels) if times == 1 else reduced(pixels, times)
    opaque = bool(planes[..., 3].min() == 255)
    if opaque and times > 1:
        planes = np.ascontiguousarray(planes[..., :3])
    fit = CellFit(planes, x, y, kind, times)
    cells, left = fit.solved()
    if size(left) < CLEAN and source is None:
        return straight(fit.kept(cells))
    if opaque and times == 1:
        through = CellFit(planes, x, y, kind, jpeg=True)
        cells_then, left_then = through.solved()
        stored = source.coefficients if source else None
        if stored is not None:
            found = stored_colours(stored, x, y, kind, through.kept(cells_then)[..., :3])
            if found is not None:
                return straight(found)
        if size(left_then) < 0.98 * size(left):
            radius = 2.4 + 1.3 * size(left_then)
            return straight(_merged(through, cells_then, radius, CLOSE_CHROMA))
    return straight(_merged(fit, cells, _radius(left, x, y)))


def _merged(
    fit: CellFit, cells: Planes, radius: float, through: NDArray[np.float32] | None = None
) -> Planes:
    """The kept ones of cells, like colours merged within the share of a radius that is best.

    That is by what it takes to name the colour of each cell and the errors of its three channels:
    a wide radius leaves few names, and large errors where it takes colours for one that are two.
    """
    if cells[..., 0].size > MOST_CHOSEN:
        return merge_like(fit.kept(cells), radius, through)
    found: list[tuple[float, Planes]] = []
    for share in SHARES:
        tried = cells.copy()
        merged = merge_like(fit.kept(cells), radius * share, through)
        fit.kept(tried)[:] = merged
        names = max(1, colour_count(straight(merged)))
        found.append((3 * np.log(size(fit.left(tried)) ** 2 + 1) + np.log(names), merged))
    return min(found, key=lambda one: one[0])[1]


def _times(pixels: Pixels, pitch: float) -> int:
    """How many times smaller a large picture is made, at two pixels a cell or more."""
    needed = int(np.ceil(np.sqrt(pixels[..., 0].size / MOST_SOLVED)))
    return max(1, min(needed, int(pitch / 2)))


def _radius(left: Planes, x: AxisGrid, y: AxisGrid) -> float:
    """How far cells of one colour may lie apart, by the errors (h, w, channels) of the fit.

    Plain noise averages out over the pixels of a cell; errors that hang together do not.
    """
    spread = size(left)
    if abs(float((left[:, 1:] * left[:, :-1]).mean())) < 0.1 * spread**2:
        return 0.5 + 3.0 * spread / float(np.sqrt(x.pitch * y.pitch))
    return 3.0 + 1.6 * spread


def straight(planes: NDArray[np.float32]) -> Pixels:
    """Undo `premultiplied`: uint8, alpha all or nothing where it is nearly so; opaque without."""
    if planes.shape[2] == 3:
        planes = np.pad(planes, ((0, 0), (0, 0), (0, 1)), constant_values=255)
    alpha = planes[..., 3:]
    alpha = np.where(alpha < 8, 0, np.where(alpha > 247, 255, alpha))
    colours = np.where(alpha > 0, planes[..., :3] * 255 / np.maximum(planes[..., 3:], 1), 0)
    both = np.concatenate([colours, alpha], axis=-1)
    return np.asarray(np.clip(np.rint(both), 0, 255), dtype=np.uint8)


def _middles(pixels: Pixels, x: AxisGrid, y: AxisGrid) -> tuple[NDArray[np.float32], float]:
    """Middle of each cell: the median when it is clean, else a mean without the outer quarters."""
    at_x, at_y = _positions(x, pixels.shape[1]), _positions(y, pixels.shape[0])
    seen = premultiplied(pixels[at_y[:, :, None, None], at_x[None, None]].reshape(-1, 1, 4))
    rows, down, columns, across = *at_y.shape, *at_x.shape
    seen = seen.reshape(rows, down, columns, across, 4)
    flat = seen.transpose(0, 2, 1, 3, 4).reshape(rows, columns, down * across, 4)
    if flat.shape[2] == 1 or (flat == flat[:, :, :1]).all():
        return flat[:, :, 0], 0.0
    flat.sort(axis=2)
    count = flat.shape[2]
    middle = flat[:, :, count // 2]
    spread = float(np.sqrt(np.mean((flat - middle[:, :, None]) ** 2)))
    if spread < CLEAN:
        return middle, spread
    quarter = count // 4
    return flat[:, :, quarter : count - quarter].mean(axis=2), spread


def _positions(lines: AxisGrid, length: int) -> NDArray[np.int64]:
    """(cells, samples) pixel positions inside the middle of each kept cell."""
    first, count = kept_cells(lines, length)
    most = int(np.clip(MOST_SAMPLED / count, LEAST_SAMPLES, MOST_SAMPLES))
    samples = int(np.clip(round(lines.pitch * (1 - 2 * MARGIN)), 1, most))
    share = (np.arange(samples) + 0.5) / samples * (1 - 2 * MARGIN) + MARGIN
    at = lines.offset + (first + np.arange(count)[:, None] + share) * lines.pitch
    return np.clip(np.floor(at), 0, length - 1).astype(np.int64)
