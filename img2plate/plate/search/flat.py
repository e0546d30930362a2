"""Flat areas: cells without texture get one colour, or a regular mix of two that are near enough.

The search would fill them with a labyrinth of beads that nobody wants to place.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from img2plate.base.arrays import Cells, Floats, Mask
from img2plate.colour.difference import delta_E_HyAB
from img2plate.colour.palette import Palette
from img2plate.colour.spaces import linear2lab

SAME_DE = 0.5
"""HyAB between cells of one flat area: rounding to 8 bits, no more."""
NEAR_ENOUGH = 14.0
"""HyAB within which one bead does for an area."""
PAIR_APART = 24.0
"""HyAB of two beads that may be mixed in one."""
_GAIN = 0.5
"""A mix has to leave no more of the single bead's error than this."""
_ORDER = np.array([[0, 2], [3, 1]])
"""Bayer's 2 x 2 mask: which cells of four get the second bead."""


def settle_flat(start: Cells, lab: Floats, palette: Palette, free: Mask) -> tuple[Cells, Mask]:
    """Fill the flat areas; returns (h, w) beads, and the cells that are still to be searched.

    start: (h, w) int16, the nearest beads; lab: (h, w, 3) CIELAB wanted.
    """
    flat = flat_cells(lab, free)
    cells = start.copy()
    if not flat.any():
        return cells, free
    colours, where = np.unique(np.round(lab[flat] / SAME_DE), axis=0, return_inverse=True)
    seconds, shares = _mixes(colours * SAME_DE, palette)
    y, x = np.nonzero(flat)
    group = where.reshape(-1)
    mixed = _ORDER[y % 2, x % 2] < shares[group]
    firsts = _nearest(colours * SAME_DE, palette)
    cells[y, x] = np.where(mixed, seconds[group], firsts[group])
    return cells, free & ~flat


def flat_cells(lab: Floats, filled: Mask) -> Mask:
    """(h, w) bool: cells in areas of one colour that are at least 3 x 3 cells."""
    import cv2

    plane = np.where(filled[..., None], lab, np.float32(-1000)).astype(np.float32)
    square = np.ones((3, 3), np.uint8)
    spread = (cv2.dilate(plane, square) - cv2.erode(plane, square)).sum(axis=-1)
    core = (spread <= SAME_DE) & filled
    flat = core.copy()
    for axis in (0, 1, 0, 1):  # out to the area's edge and into its corners
        for step in (1, -1):
            there = np.roll(flat, step, axis)
            like = np.abs(plane - np.roll(plane, step, axis)).sum(axis=-1) <= SAME_DE
            border = [slice(None), slice(None)]
            border[axis] = slice(0, 1) if step == 1 else slice(-1, None)
            there[tuple(border)] = False
            flat |= there & like & filled
    return np.asarray(flat)


def _nearest(colours: Floats, palette: Palette) -> NDArray[np.int16]:
    """(n,) the beads nearest to CIELAB colours by HyAB."""
    off = delta_E_HyAB(colours[:, None], palette.lab[None])
    return np.asarray(off.argmin(axis=1), np.int16)


def _mixes(colours: Floats, palette: Palette) -> tuple[NDArray[np.int16], NDArray[np.int64]]:
    """(n,) the bead to mix into the nearest one, and in how many cells of four; 0 for no mix."""
    firsts = _nearest(colours, palette)
    linear = palette.linear
    seconds, shares = firsts.copy(), np.zeros(len(colours), np.int64)
    for i, (colour, first) in enumerate(zip(colours, firsts, strict=True)):
        alone = float(delta_E_HyAB(colour, palette.lab[first]))
        near = np.flatnonzero(delta_E_HyAB(palette.lab[first], palette.lab) <= PAIR_APART)
        if alone <= NEAR_ENOUGH:
            continue
        least = _GAIN * alone
        for share in (1, 2):
            mix = linear2lab(linear[first] * (1 - share / 4) + linear[near] * (share / 4))
            off = delta_E_HyAB(colour, mix)
            if off.min() < least:
                least, seconds[i], shares[i] = float(off.min()), near[off.argmin()], share
    return seconds, shares
