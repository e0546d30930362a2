"""The colour of the beads in each cell of a straightened card.

The white paper round a cell says what light falls on it: dividing by it evens the light out and
takes the cast away, so colours are relative to the paper. In a cell, beads are told from their
holes, the gaps between them, shadow and gloss by shape: of the common colours it is theirs whose
patches are rings of a bead's size.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from img2plate.base.arrays import Floats, Mask
from img2plate.colour.difference import delta_E_CIE2000
from img2plate.colour.spaces import bytes2linear, linear2lab
from img2plate.measure.card import CELLS, LINE, STEP_GREYS, STEPS, Box
from img2plate.measure.find import PX_PER_MM, Straight

_RING = (0.9, 1.9)
"""Where paper is looked at outside a cell's line, mm."""
_INSET = 2.0
"""Beads are looked at so far inside the line, mm."""
_NEAR = 6.5
"""CIELAB distance within which pixels are of one colour; shading over a bead is about this."""
_CLIPPED = 253
_LEAST_CONTRAST = 0.7
"""How dark a cell's line must be against paper; blur spreads it."""
_EMPTY_SHARE = 0.9
_CORE = 0.3
"""Innermost part of the beads' pixels that is measured."""
_LEAST_LEFT = 0.04
_CANDIDATES = 4
"""Beads, holes, gaps, shadow."""
_LEAST_RINGNESS = 0.2
_SURELY_RINGS = 0.7
_SECTORS = 6
_MIDDLE_MM = (1.76, 2.0)
"""The middle of the ring, where blur mixes least in."""
_RING_MM = (1.5, 2.3)
"""From the hole to the rim of a bead of 5 mm, seen from above, without its edges."""


@dataclass(frozen=True, eq=False)
class Cell:
    """What was seen in one cell."""

    number: int
    """From 1, as printed."""
    linear: NDArray[np.float64] | None
    """(3,) linear light relative to the paper; None when it could not be measured."""
    spread: float = 0.0
    """Mean CIEDE2000 of the beads' pixels to their colour."""
    trouble: str = ""
    """Why it could not be measured: empty, blurred, clipped, outside the photo, shaded."""
    used: Mask | None = None
    """(h, w) which pixels of the cell counted as beads."""


def read_cells(card: Straight) -> tuple[Cell, ...]:
    """Measure each cell of a card."""
    return tuple(_read_cell(card, number, box) for number, box in enumerate(CELLS, 1))


def grey_error(card: Straight) -> float:
    """Mean CIEDE2000 of the printed grey steps to what they should be: printer and camera."""
    off = []
    for box, grey in zip(STEPS, STEP_GREYS, strict=True):
        white = _paper(card, box)
        if white is None:
            continue
        inner = card.srgb[card.part(box, -2.0)]
        got = np.median(bytes2linear(inner).reshape(-1, 3), axis=0) / white.mean(axis=(0, 1))
        want = bytes2linear(np.full(3, grey, np.uint8)).astype(np.float64)
        off.append(float(delta_E_CIE2000(linear2lab(got.astype(np.float64)), linear2lab(want))))
    return float(np.mean(off)) if off else 0.0


def _read_cell(card: Straight, number: int, box: Box) -> Cell:
    """Measure one cell, or say why not."""
    import cv2

    if not card.seen[card.part(box, _RING[1])].all():
        return Cell(number, None, trouble="outside the photo")
    white = _paper(card, box)
    if white is None:
        return Cell(number, None, trouble="clipped: too bright")
    if _line_contrast(card, box) < _LEAST_CONTRAST:
        return Cell(number, None, trouble="blurred")
    inner = card.srgb[card.part(box, -_INSET)]
    light: Floats = np.asarray(bytes2linear(inner) / white, dtype=np.float32)
    lab = linear2lab(light)
    paper = np.array([100.0, 0.0, 0.0])
    if np.mean(np.linalg.norm(lab - paper, axis=2) < 6) > _EMPTY_SHARE:
        return Cell(number, None, trouble="empty")
    used = _bead_pixels(linear2lab(cv2.GaussianBlur(light, (0, 0), 0.6)))
    colour = np.median(light[used], axis=0)
    spread = float(np.mean(delta_E_CIE2000(lab[used], linear2lab(colour))))
    return Cell(number, np.clip(colour, 0, 1), spread, used=used)


def _paper(card: Straight, box: Box) -> NDArray[np.float64] | None:
    """(h, w, 3) linear light of paper over the inside of a box, as a plane through what is seen
    of it all round; None when it is clipped."""
    rows, columns = card.part(box, _RING[1])
    around = card.srgb[rows, columns]
    width = round((_RING[1] - _RING[0]) * PX_PER_MM)
    ring = np.ones(around.shape[:2], np.bool_)
    ring[width:-width, width:-width] = False
    grey = around.min(axis=2)
    bright = np.median(grey[ring])
    ring &= grey >= bright * 0.85  # not the printed number
    if np.median(around[ring].max(axis=1)) >= _CLIPPED:
        return None
    y, x = np.nonzero(ring)
    plane = np.stack([np.ones(len(x)), x - around.shape[1] / 2, y - around.shape[0] / 2], axis=1)
    fit, *_ = np.linalg.lstsq(plane, bytes2linear(around[ring]).astype(np.float64), rcond=None)
    side = round((box.side - 2 * _INSET) * PX_PER_MM)
    at = np.arange(side) - side / 2
    white = fit[0] + at[None, :, None] * fit[1] + at[:, None, None] * fit[2]
    return np.asarray(np.maximum(white, 1e-3))


def _line_contrast(card: Straight, box: Box) -> float:
    """How dark the line round a cell is against the paper, 0..1: the median over its length."""
    grey = bytes2linear(card.srgb[card.part(box, _RING[1])]).mean(axis=2)
    reach = round((_RING[1] + LINE) * PX_PER_MM)
    middle = slice(2 * reach, -2 * reach)
    bands = [
        grey[:reach, middle],
        grey[-reach:, middle],
        grey[middle, :reach].T,
        grey[middle, -reach:].T,
    ]
    profile = np.concatenate([1 - band.min(axis=0) / band.max(axis=0) for band in bands])
    return float(np.median(profile))


def _bead_pixels(lab: Floats) -> Mask:
    """(h, w) pixels in the middle of the beads' rings, or of whatever is most common.

    Of the common colours the one whose patches are most like rings shows where the beads are.
    """
    left = np.ones(lab.shape[:2], np.bool_)
    first, best, most, colour = left, None, _LEAST_RINGNESS, lab[0, 0]
    for number in range(_CANDIDATES):
        patch = _one_colour(lab, left)
        first = first if number else patch
        fit = _ring_fit(patch)
        peak = float(np.quantile(fit, 0.995))
        if peak > most:
            best, most, colour = fit, peak, np.median(lab[patch], axis=0)
        left &= ~patch
        if most > _SURELY_RINGS or left.mean() < _LEAST_LEFT:
            break
    if best is None:
        return _innermost(first)
    rings = _rings(best, lab.shape[:2])
    own = rings & (np.sum((lab - colour) ** 2, axis=2) < (2 * _NEAR) ** 2)
    return own if own.sum() > rings.sum() / 4 else rings


def _rings(fit: NDArray[np.float32], shape: tuple[int, ...]) -> Mask:
    """(h, w) the middle of the ring of each bead, from how well a bead fits, at half the size."""
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
    away = np.hypot(v[..., None] - y, u[..., None] - x).min(axis=2) / PX_PER_MM
    return np.asarray((away > _MIDDLE_MM[0]) & (away < _MIDDLE_MM[1]))


def _innermost(patch: Mask) -> Mask:
    """(h, w) the inner part of patches: blur mixes their edges with what is beside them."""
    import cv2

    depth = cv2.distanceTransform(patch.astype(np.uint8), cv2.DIST_L2, cv2.DIST_MASK_PRECISE)
    return np.asarray(patch & (depth >= np.quantile(depth[patch], 1 - _CORE)))


def _one_colour(lab: Floats, left: Mask) -> Mask:
    """(h, w) the pixels of the most common colour of those that are left."""
    centre = _fullest_place(lab[left])
    for near in (1.3 * _NEAR, _NEAR, _NEAR, 0.8 * _NEAR):  # mean shift, narrowing
        used = left & (np.sum((lab - centre) ** 2, axis=2) < near**2)
        if not used.any():
            return left
        centre = lab[used].mean(axis=0)
    return np.asarray(left & (np.sum((lab - centre) ** 2, axis=2) < _NEAR**2))


def _ring_fit(patch: Mask) -> NDArray[np.float32]:
    """(h / 2, w / 2) how well a bead fits at a place, -1..1.

    It is full on all sectors of the ring but the one where gloss may be, and bare in the hole.
    """
    import cv2

    small = cv2.resize(patch.astype(np.float32), None, fx=0.5, fy=0.5, interpolation=cv2.INTER_AREA)
    *sectors, hole = (
        cv2.filter2D(small, -1, kernel, borderType=cv2.BORDER_CONSTANT)
        for kernel in _bead_kernels()
    )
    return np.asarray(np.sort(sectors, axis=0)[1] - hole)


@cache
def _bead_kernels() -> tuple[NDArray[np.float32], ...]:
    """Means over each sector of a bead's ring, then over its hole, at half the resolution."""
    scale = PX_PER_MM / 2
    reach = round(2.5 * scale)
    y, x = np.ogrid[-reach : reach + 1, -reach : reach + 1]
    distance = np.hypot(x, y) / scale
    sector = np.floor((np.arctan2(y, x) / (2 * np.pi) + 0.5) * _SECTORS) % _SECTORS
    ring = (distance > _RING_MM[0]) & (distance < _RING_MM[1])
    parts = [ring & (sector == number) for number in range(_SECTORS)]
    parts.append(distance < _RING_MM[0] - 0.5)
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
