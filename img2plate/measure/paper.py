"""What light falls on a cell, by the white paper round it.

Dividing by it evens the light out and takes the cast away: colours are relative to the paper.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from img2plate.base.arrays import Mask
from img2plate.colour.spaces import bytes2linear
from img2plate.measure.card import Box
from img2plate.measure.find import PX_PER_MM, RectifiedCard

OUTSIDE = 1.9
"""So far outside a cell's line paper is looked at, mm."""
_WIDE = 1.0
"""Width of the ring of paper, mm; its inner edge keeps clear of the line."""
INSET = 2.0
"""Beads are looked at so far inside the line, mm."""
_CLIPPED = 253
_DARK, _MOST_DARK = 0.85, 0.12
"""Pixels under so much of the ring's brightness are the printed number, up to 0.06 of it; more
is a shadow."""
_UNEVEN = 0.05
"""How far the ring may be from a plane, as a part of its light; rendered photos under smooth light
have up to 0.02, a shadow's edge 0.2 and more."""
_PARTS = 12
"""Parts of the ring that are looked at for that."""


def paper_light(card: RectifiedCard, box: Box) -> NDArray[np.float64] | str:
    """(h, w, 3) linear light of paper over the inside of a box, as a plane through the ring of
    paper round it; in words why not, when that is clipped or no plane."""
    around = card.srgb[card.part(box, OUTSIDE)]
    ring = _ring(around.shape[:2])
    grey = around.min(axis=2)
    is_paper = ring & (grey >= np.median(grey[ring]) * _DARK)
    if np.median(around[is_paper].max(axis=1)) >= _CLIPPED:
        return "clipped: too bright"
    y, x = np.nonzero(is_paper)
    at = np.stack([np.ones(len(x)), x - around.shape[1] / 2, y - around.shape[0] / 2], axis=1)
    light = bytes2linear(around[is_paper]).astype(np.float64)
    plane, *_ = np.linalg.lstsq(at, light, rcond=None)
    too_dark = 1 - np.count_nonzero(is_paper) / np.count_nonzero(ring)
    if too_dark > _MOST_DARK or _unevenness(at, light, at @ plane) > _UNEVEN:
        return "in glare or at the edge of a shadow"
    side = round((box.side - 2 * INSET) * PX_PER_MM)
    along = np.arange(side) - side / 2
    white = plane[0] + along[None, :, None] * plane[1] + along[:, None, None] * plane[2]
    return np.asarray(np.maximum(white, 1e-3))


def _ring(shape: tuple[int, ...]) -> Mask:
    """(h, w) the paper within a box's surroundings."""
    width = round(_WIDE * PX_PER_MM)
    ring = np.ones(shape, np.bool_)
    ring[width:-width, width:-width] = False
    return ring


def _unevenness(
    at: NDArray[np.float64], light: NDArray[np.float64], plane: NDArray[np.float64]
) -> float:
    """How far one part of the ring is from the plane at most, as a part of its light: `at` (n, 3)
    is 1, x, y from the middle, `light` and `plane` (n, 3) linear."""
    off = (light / np.maximum(plane, 1e-3) - 1).mean(axis=1)
    turn = np.arctan2(at[:, 2], at[:, 1]) / (2 * np.pi) + 0.5
    part = np.minimum((turn * _PARTS).astype(np.intp), _PARTS - 1)
    count = np.maximum(np.bincount(part), 20)  # a few pixels say nothing
    return float(np.abs(np.bincount(part, off) / count).max())
