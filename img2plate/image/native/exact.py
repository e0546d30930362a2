"""A clean picture of equal square cells of whole pixels: all its edges lie on one raster.

That is the commonest case, and needs no search: the greatest common divisor of the gaps tells.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from img2plate.base.arrays import Pixels
from img2plate.image.native.native_grid import LEAST_CELLS, NativeGrid, finer_as_good, kept_range

LEAST_GAPS = 8
"""Gaps between edges that hardly share a divisor by chance."""


def exact_grid(pixels: Pixels) -> NativeGrid | None:
    """The coarsest raster of cells of at least 2 px that a picture (h, w, 4) is drawn on.

    The cells are square, unless both axes tell otherwise. None when there is no raster, or when too
    few edges would show it.
    """
    packed = np.ascontiguousarray(pixels).view(np.uint32)[..., 0]
    edges = _edges(packed.T), _edges(packed)
    lengths = pixels.shape[1], pixels.shape[0]
    sides = _sides(*edges)
    if min(sides) < 2 or any(
        n < LEAST_CELLS * side for n, side in zip(lengths, sides, strict=True)
    ):
        return None
    x, y = (_kept(*axis) for axis in zip(edges, lengths, sides, strict=True))
    middles = (
        np.clip(at + side // 2, 0, length - 1)
        for at, side, length in zip((y, x), sides[::-1], lengths[::-1], strict=True)
    )
    cells = pixels[np.ix_(*middles)]
    return NativeGrid(
        (len(x), len(y)),
        (float(sides[0]), float(sides[1])),
        (float(x[0]), float(y[0])),
        1.0,
        "nearest",
        cells,
        finer_as_good(cells, min(sides)),
    )


def _sides(x: NDArray[np.int64], y: NDArray[np.int64]) -> tuple[int, int]:
    """Width and height of a cell, by the edges across and down; 1 and 1 when they do not tell."""
    gaps = np.diff(x), np.diff(y)
    if not (len(x) and len(y)) or len(gaps[0]) + len(gaps[1]) < LEAST_GAPS:
        return 1, 1
    own = int(np.gcd.reduce(gaps[0])), int(np.gcd.reduce(gaps[1]))
    square = int(np.gcd(*own))
    # A multiple is more likely a sprite whose lines are all doubled than cells that are no squares.
    if square in own or min(len(gaps[0]), len(gaps[1])) < LEAST_GAPS:
        return square, square
    return own


def _edges(lines: NDArray[np.uint32]) -> NDArray[np.int64]:
    """First pixels along the first dimension that differ from those before."""
    return np.flatnonzero((lines[1:] != lines[:-1]).any(axis=1)) + 1


def _kept(edges: NDArray[np.int64], length: int, side: int) -> NDArray[np.int64]:
    """Where the kept cells begin."""
    offset = int(edges[0]) % side
    first, count = kept_range(offset, side, length)
    return offset + (first + np.arange(count)) * side
