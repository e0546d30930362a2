"""Lines and other thin parts of a drawing: one bead wide, connected, wherever they run.

A part is thin where a disc of a bead and a half does not fit into it. Its middle line says which
cells it takes; where that line steps from row to row, the cell that it only brushes is left out.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from img2plate.base.arrays import Mask
from img2plate.image.drawing.labels import Labels

THICK = 1.5
"""Cells from which on a part is an area."""
LEAST_WIDTH = 0.1
"""Cells: what is finer is left out."""
LEAST_LENGTH = 0.6
"""Cells of middle line from which on it is a line, not the corner of an area."""
LEAST_DOT = 0.2
"""Share of a cell from which on a dot gets a bead."""


@dataclass(frozen=True, eq=False)
class Thin:
    """Thin parts, pixel by pixel."""

    mask: Mask
    """(h, w) bool: pixels of thin parts."""
    middle: Mask
    """(h, w) bool: their middle lines, one pixel wide."""
    dots: Mask
    """(h, w) bool: pixels of parts too small for a line."""


def thin_parts(labels: Labels, shaded: int, each: int) -> Thin:
    """Find thin parts of all flat colours; `shaded`: the label that is none of them."""
    import cv2
    from skimage.morphology import skeletonize

    inner = _inner(labels)
    depth = cv2.distanceTransform(inner.astype(np.uint8), cv2.DIST_L2, 5)
    depth = np.minimum(depth, max(labels.shape))  # of one colour all over it is the largest float
    radius = THICK / 2 * each
    thick = depth > radius
    far = np.full(labels.shape, np.inf, np.float32)
    if thick.any():
        far = cv2.distanceTransform((~thick).astype(np.uint8), cv2.DIST_L2, 5)
    mask = (far > radius + 1) & (labels != shaded)
    middle = skeletonize(mask & inner)
    middle &= depth * 2 + 1 >= LEAST_WIDTH * each
    count, parts = cv2.connectedComponents((mask & inner).astype(np.uint8), connectivity=8)
    length = np.bincount(parts[middle], minlength=count)
    long = length >= LEAST_LENGTH * each
    area = np.bincount(parts.ravel(), minlength=count)
    dot = ~long & ~_attached(parts, labels, mask, count) & (area >= LEAST_DOT * each * each)
    long[0] = dot[0] = False
    return Thin(mask, middle & long[parts], dot[parts])


def _inner(labels: Labels) -> Mask:
    """(h, w) bool: pixels without a neighbour of another label on the right or below."""
    inner = np.ones(labels.shape, np.bool_)
    inner[:, :-1] &= labels[:, 1:] == labels[:, :-1]
    inner[:-1] &= labels[1:] == labels[:-1]
    return inner


def _attached(
    parts: NDArray[np.int32], labels: Labels, mask: Mask, count: int
) -> NDArray[np.bool_]:
    """(count,) bool: thin parts that are a piece of an area of their own colour."""
    attached = np.zeros(count, np.bool_)
    for one, two in (
        (np.s_[:, 1:], np.s_[:, :-1]), (np.s_[:, :-1], np.s_[:, 1:]),
        (np.s_[1:], np.s_[:-1]), (np.s_[:-1], np.s_[1:]),
    ):  # fmt: skip
        joined = mask[one] & ~mask[two] & (labels[one] == labels[two])
        attached[parts[one][joined]] = True
    return attached
