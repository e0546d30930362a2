"""A small picture to check a found grid by eye: the source with the grid drawn over it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from img2plate.base.arrays import Pixels

if TYPE_CHECKING:
    from img2plate.image.native.native_grid import NativeGrid

LONG_SIDE = 900
"""Pixels, about: small pictures are enlarged by a whole number, large ones cut to their middle."""
_LINE = np.array([181, 69, 46], np.float32)
_LEAST_LINE_GAP = 4


def draw_check(pixels: Pixels, native: NativeGrid) -> Pixels:
    """(h, w, 4) uint8: the picture on a light ground, each cell's edge as a line."""
    height, width = pixels.shape[:2]
    view = (slice(_start(height), _start(height) + LONG_SIDE),
            slice(_start(width), _start(width) + LONG_SIDE))  # fmt: skip
    part = pixels[view].astype(np.float32)
    alpha = part[..., 3:] / 255
    shown = part[..., :3] * alpha + 233 * (1 - alpha)
    times = max(1, LONG_SIDE // max(part.shape[:2]))
    shown = shown.repeat(times, axis=0).repeat(times, axis=1)
    if native.cells is not None:
        for axis, first in ((0, view[0].start), (1, view[1].start)):
            for at in _lines(native, axis, first, times, shown.shape[axis]):
                line = (at, slice(None)) if axis == 0 else (slice(None), at)
                shown[line] = shown[line] * 0.25 + _LINE * 0.75
    opaque = np.full((*shown.shape[:2], 1), 255)
    return np.concatenate([np.rint(shown), opaque], axis=-1).astype(np.uint8)


def _start(length: int) -> int:
    """Where a cut of at most LONG_SIDE starts."""
    return max(0, (length - LONG_SIDE) // 2)


def _lines(native: NativeGrid, axis: int, first: int, times: int, length: int) -> list[int]:
    """Drawn positions of the grid's lines on one axis; fewer when they would lie too close."""
    assert native.cells is not None
    across = 1 - axis  # native's pairs are x, y
    if native.uneven is not None:
        own = (native.uneven.y, native.uneven.x)[axis]
        return [int(p) for p in (own - first) * times if 0 <= p < length]
    pitch, offset = native.cell_px[across] * times, (native.offset_px[across] - first) * times
    step = max(1, int(np.ceil(_LEAST_LINE_GAP / pitch)))
    at = offset + np.arange(0, native.cells[across] + 1, step) * pitch
    places = np.rint(at).astype(int)
    return [int(p) for p in places if 0 <= p < length]
