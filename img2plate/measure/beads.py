"""Which pixels of a cell are beads: told from holes, gaps, shadow and gloss by shape.

Of the common colours it is the beads' whose patches are rings of a bead's size. The middle of the
rings is measured, as blur mixes least in there. Lengths are those of the 5 mm card.
"""

from __future__ import annotations

from functools import cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from img2plate.base.arrays import Floats, Mask
from img2plate.measure.find import PX_PER_MM

_NEAR = 6.5
"""CIELAB distance within which pixels are of one colour; shading over a bead is about this."""
_CORE = 0.3
"""Innermost part of the beads' pixels that is measured."""
_LEAST_LEFT = 0.04
_CANDIDATES = 4
"""Beads, holes, gaps, shadow."""
_LEAST_RINGNESS = 0.2
_SURELY_RINGS = 0.7
_SECTORS = 6
_BETWEEN_MM, _FULL = (3.0, 3.9), 0.68
"""So far from the middle of a bead are gaps; where more is full, it was no bead's middle. On
rendered cells, right ones had up to 0.60, most wrong ones over 0.75."""
_MIDDLE_MM = (1.76, 2.0)
"""The middle of the ring, where blur mixes least in."""
_RING_MM = (1.5, 2.3)
"""From the hole to the rim of a bead of 5 mm, seen from above, without its edges."""
BEAD_MM = (1.3, 2.45)
"""The same with its edges."""


class Beads(NamedTuple):
    """What of a cell is beads."""

    used: Mask
    """(h, w) pixels to measure."""
    away_mm: Floats | None
    """(h, w) how far each pixel is from the middle of the nearest bead; None when no bead's shape
    was found, and `used` is of whatever is most common."""


def find_beads(lab: Floats) -> Beads:
    """Find the beads in the CIELAB colours (h, w, 3) of a cell.

    Of the common colours the one whose patches are most like rings shows where the beads are.
    """
    left = np.ones(lab.shape[:2], np.bool_)
    first, best, most = left, None, _LEAST_RINGNESS
    for number in range(_CANDIDATES):
        patch = _one_colour(lab, left)
        first = first if number else patch
        fit = _ring_fit(patch)
        peak = float(np.quantile(fit, 0.995))
        if peak > most:
            best, most = (fit, patch), peak
        left &= ~patch
        if most > _SURELY_RINGS or left.mean() < _LEAST_LEFT:
            break
    if best is None:
        return Beads(_innermost(first), None)
    fit, patch = best
    away = _away_mm(fit, lab.shape[:2])
    if _is_full_between(patch, away):
        away = _away_mm(_disc_fit(patch), lab.shape[:2])
    rings = np.asarray((away > _MIDDLE_MM[0]) & (away < _MIDDLE_MM[1]))
    colour = np.median(lab[patch], axis=0)
    own = rings & (_away2(lab, colour) < (2 * _NEAR) ** 2)
    return Beads(own if own.sum() > rings.sum() / 4 else rings, away)


def _is_full_between(patch: Mask, away_mm: Floats) -> bool:
    """Whether what was taken for holes are the gaps between beads, whose holes look like them.

    Beads that stand close have four gaps round them where gaps have four beads.
    """
    between = (away_mm > _BETWEEN_MM[0]) & (away_mm < _BETWEEN_MM[1])
    return bool(between.any() and patch[between].mean() > _FULL)


def _away_mm(fit: NDArray[np.float32], shape: tuple[int, ...]) -> Floats:
    """(h, w) how far a pixel is from the nearest bead's middle, from how well a bead fits, at half
    the size."""
    import cv2

    # Gaps between beads look a little like holes: of two places under 3 mm apart the better one.
    reach = 2 * round(1.5 * PX_PER_MM) + 1
    highest = cv2.dilate(fit, np.ones((reach, reach), np.uint8))
    peak = (fit == highest) & (fit > 0.5 * fit.max())
    weight = np.maximum(fit - 0.6 * highest, 0).astype(np.float64) + 1e-6
    total = cv2.blur(weight, (3, 3))
    rows, columns = np.mgrid[: fit.shape[0], : fit.shape[1]]
    y = (cv2.blur(weight * rows, (3, 3)) / total)[peak] * 2 + 0.5
    x = (cv2.blur(weight * columns, (3, 3)) / total)[peak] * 2 + 0.5
    v, u = np.mgrid[: shape[0], : shape[1]]
    return np.asarray(np.hypot(v[..., None] - y, u[..., None] - x).min(axis=2) / PX_PER_MM)


def _innermost(patch: Mask) -> Mask:
    """(h, w) the inner part of patches: blur mixes their edges with what is beside them."""
    import cv2

    depth = cv2.distanceTransform(patch.astype(np.uint8), cv2.DIST_L2, cv2.DIST_MASK_PRECISE)
    return np.asarray(patch & (depth >= np.quantile(depth[patch], 1 - _CORE)))


def _one_colour(lab: Floats, left: Mask) -> Mask:
    """(h, w) the pixels of the most common colour of those that are left."""
    colours = lab[left]
    centre = _fullest_place(colours)
    for near in (1.3 * _NEAR, _NEAR, _NEAR, 0.8 * _NEAR):  # mean shift, narrowing
        used = _away2(colours, centre) < near**2
        if not used.any():
            return left
        centre = colours[used].mean(axis=0)
    patch = np.zeros_like(left)
    patch[left] = _away2(colours, centre) < _NEAR**2
    return patch


def _away2(lab: Floats, centre: Floats) -> Floats:
    """(...) squared CIELAB distance of colours (..., 3) to one; summed channel by channel, which is
    several times as fast as along the short last axis."""
    off = [lab[..., channel] - centre[channel] for channel in range(3)]
    return np.asarray(off[0] ** 2 + off[1] ** 2 + off[2] ** 2)


def _ring_fit(patch: Mask) -> NDArray[np.float32]:
    """(h / 2, w / 2) how well a bead fits at a place, -1..1.

    It is full on all sectors of the ring but the one where gloss may be, and bare in the hole.
    """
    *sectors, hole, _ = _covered(patch)
    return np.asarray(np.sort(sectors, axis=0)[1] - hole)


def _disc_fit(patch: Mask) -> NDArray[np.float32]:
    """(h / 2, w / 2) how well a bead fits whose hole looks like itself, 0..1."""
    *_, disc = _covered(patch)
    return np.maximum(disc, 0) ** 4  # sharper, as its peak is broad


def _covered(patch: Mask) -> list[NDArray[np.float32]]:
    """How much of each part of a bead a patch covers, at half the size."""
    import cv2

    small = cv2.resize(patch.astype(np.float32), None, fx=0.5, fy=0.5, interpolation=cv2.INTER_AREA)
    return [
        cv2.filter2D(small, -1, kernel, borderType=cv2.BORDER_CONSTANT)
        for kernel in _bead_kernels()
    ]


@cache
def _bead_kernels() -> tuple[NDArray[np.float32], ...]:
    """Means over each sector of a bead's ring, over its hole, over all of it; half the size."""
    scale = PX_PER_MM / 2
    reach = round(2.5 * scale)
    y, x = np.ogrid[-reach : reach + 1, -reach : reach + 1]
    distance = np.hypot(x, y) / scale
    sector = np.floor((np.arctan2(y, x) / (2 * np.pi) + 0.5) * _SECTORS) % _SECTORS
    ring = (distance > _RING_MM[0]) & (distance < _RING_MM[1])
    parts = [ring & (sector == number) for number in range(_SECTORS)]
    parts += [distance < _RING_MM[0] - 0.5, distance < _RING_MM[1]]
    return tuple((part / part.sum()).astype(np.float32) for part in parts)


def _fullest_place(lab: Floats) -> NDArray[np.float64]:
    """(3,) the CIELAB place with the most of the colours (n, 3) round it."""
    size, low, shape = 5.0, np.array([-10.0, -130.0, -130.0]), (24, 52, 52)
    bins = np.clip((lab - low) / size, 0, np.array(shape) - 1).astype(np.intp)
    flat = np.ravel_multi_index((bins[:, 0], bins[:, 1], bins[:, 2]), shape)
    full = np.bincount(flat, minlength=int(np.prod(shape))).reshape(shape)
    for axis in range(3):  # with the bins beside it
        full = full + np.roll(full, 1, axis) + np.roll(full, -1, axis)
    place = np.array(np.unravel_index(int(full.argmax()), shape))
    return np.asarray((place + 0.5) * size + low)
