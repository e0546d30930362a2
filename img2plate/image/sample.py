"""Pixels to cells: average the picture over each cell, in linear light, alpha premultiplied."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from img2plate.base.arrays import Pixels
from img2plate.colour.spaces import byte2linear_table
from img2plate.image.grid import Grid
from img2plate.image.kind.kind import Kind
from img2plate.image.sizing import Framing

if TYPE_CHECKING:
    from scipy.sparse import csr_array


def sample(
    pixels: Pixels,
    framing: Framing,
    *,
    source: str = "",
    per_cell: int = 1,
    kind: Kind = Kind.PHOTO,
    smooth: bool = True,
) -> Grid:
    """Average a picture over the cells of a framing, `per_cell` samples along a cell's side.

    A cell that reaches outside the picture is covered by so much less. With `smooth`, samples finer
    than pixels change evenly from one pixel to the next; without, pixels are squares of one colour.
    """
    left, top, right, bottom = framing.box
    columns = axis_weights(pixels.shape[1], left, right, framing.size[0] * per_cell, smooth)
    rows = axis_weights(pixels.shape[0], top, bottom, framing.size[1] * per_cell, smooth)
    alpha = pixels[..., 3]
    opaque = bool(alpha.min() == 255)
    weight = None if opaque else np.divide(alpha, 255, dtype=np.float32)
    ones = np.ones((pixels.shape[0], 1), np.float32)
    if weight is None:
        cover = (rows @ ones) * (columns @ np.ones((pixels.shape[1], 1), np.float32)).T
    else:
        cover = _both_axes(rows, weight, columns)
    rgb = np.empty((*cover.shape, 3), np.float32)
    table = byte2linear_table()
    for channel in range(3):  # one at a time: a third of the memory
        plane = table[pixels[..., channel]]
        if weight is not None:
            plane *= weight
        rgb[..., channel] = _both_axes(rows, plane, columns)
    rgb /= np.maximum(cover, 1e-6)[..., None]
    return Grid(np.clip(rgb, 0, 1), np.clip(cover, 0, 1), source, kind, per_cell)


def covered(pixels: Pixels, framing: Framing) -> NDArray[np.float32]:
    """(h, w) share of each cell of a framing that a picture covers, 0..1."""
    left, top, right, bottom = framing.box
    columns = axis_weights(pixels.shape[1], left, right, framing.size[0], True)
    rows = axis_weights(pixels.shape[0], top, bottom, framing.size[1], True)
    return _both_axes(rows, np.divide(pixels[..., 3], 255, dtype=np.float32), columns)


def cells_as_they_are(pixels: Pixels, *, source: str = "", times: int = 1) -> Grid:
    """One cell for each pixel of a sprite (or `times` x `times` cells), colours untouched."""
    if times > 1:
        pixels = pixels.repeat(times, axis=0).repeat(times, axis=1)
    cover = np.divide(pixels[..., 3], 255, dtype=np.float32)
    return Grid(byte2linear_table()[pixels[..., :3]], cover, source, Kind.OWN_SIZE)


def finer(grid: Grid, per_cell: int) -> Grid:
    """Repeat each cell: what a sprite's picture is at `per_cell` samples a side."""
    rgb = grid.rgb.repeat(per_cell, axis=0).repeat(per_cell, axis=1)
    cover = grid.cover.repeat(per_cell, axis=0).repeat(per_cell, axis=1)
    return Grid(rgb, cover, grid.source, grid.kind, per_cell)


def coarser(grid: Grid, factor: int) -> Grid:
    """Average `factor` x `factor` samples: the same picture on fewer cells, `per_cell` as it was.

    Rows and columns at the end that do not fill a cell are left out.
    """
    height, width = (side // factor // grid.per_cell * grid.per_cell for side in grid.cover.shape)
    whole = (
        grid.rgb[: height * factor, : width * factor],
        grid.cover[: height * factor, : width * factor],
    )
    rgb, cover = (
        plane.reshape(height, factor, width, factor, -1).mean(axis=(1, 3), dtype=np.float32)
        for plane in whole
    )
    return Grid(rgb, cover[..., 0], grid.source, grid.kind, grid.per_cell)


def _both_axes(
    rows: csr_array, plane: NDArray[np.float32], columns: csr_array
) -> NDArray[np.float32]:
    """Weigh a plane along both axes."""
    return np.ascontiguousarray((columns @ (rows @ plane).T).T, dtype=np.float32)


def axis_weights(length: int, start: float, stop: float, count: int, smooth: bool) -> csr_array:
    """(count, length) weights of pixels in cells that divide start..stop evenly.

    Reducing, or not smooth: the exact share of each pixel in each cell. Enlarging: straight lines
    between pixel centres. What lies outside 0..length weighs nothing, so rows there sum to less
    than 1.
    """
    from scipy.sparse import csr_array

    step = (stop - start) / count
    edges = start + step * np.arange(count + 1)
    if step >= 1 or not smooth:
        reach = int(np.ceil(step)) + 1
        first = np.floor(edges[:-1]).astype(np.int64)
        index = first[:, None] + np.arange(reach)
        low = np.maximum(index, edges[:-1, None])
        high = np.minimum(index + 1, edges[1:, None])
        weights = np.maximum(high - low, 0) / step
    else:
        centre = (edges[:-1] + edges[1:]) / 2
        first = np.floor(centre - 0.5).astype(np.int64)
        part = centre - 0.5 - first
        inside = (centre > 0) & (centre < length)
        index = np.clip(np.stack([first, first + 1], axis=1), 0, length - 1)
        weights = np.stack([1 - part, part], axis=1) * inside[:, None]
    usable = (index >= 0) & (index < length) & (weights > 0)
    row = np.broadcast_to(np.arange(count)[:, None], index.shape)[usable]
    shape = (count, length)
    return csr_array((weights[usable].astype(np.float32), (row, index[usable])), shape=shape)
