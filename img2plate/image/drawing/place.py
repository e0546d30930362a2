"""Where a drawing's cells lie: moved by at most half a cell, so that edges fall between beads.

Edges of areas want to lie on the borders of cells, lines in their middle; a drawing that is
symmetric keeps its axis on a border or in the middle of a cell.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from img2plate.base.arrays import Mask
from img2plate.image.drawing.labels import Labels
from img2plate.image.drawing.thin import Thin

_GAIN = 0.85
"""A move must bring the mean distance down to this share of what it is."""
_LINES = 1.5
"""Weight of lines beside edges."""
_SYMMETRIC, _SYMMETRIC_FIGURE = 0.985, 0.95
"""Share of the pixels, and of those that are not ground, that are as their mirror image is."""


@dataclass(frozen=True)
class Place:
    """How one axis lies."""

    move: int
    """Pixels that the cells' borders are moved by."""
    axis: float | None
    """Where the drawing is mirrored, in pixels; None when it is not symmetric."""


def place(labels: Labels, thin: Thin, each: int, *, may_move: bool) -> tuple[Place, Place]:
    """The best place across and down; borders of cells are at multiples of `each` before."""
    across = _best(labels, thin.mask, thin.middle, each, may_move)
    down = _best(labels.T, thin.mask.T, thin.middle.T, each, may_move)
    return across, down


def mirrored(cells: NDArray[np.int16], axis: float | None, each: int) -> NDArray[np.int16]:
    """Cells (h, w) with the left half mirrored onto the right, at an axis in pixels."""
    if axis is None:
        return cells
    total = round(2 * axis / each) - 1  # column c is mirrored at total - c
    columns = np.arange(cells.shape[1])
    other = total - columns
    right = (columns > other) & (other >= 0)
    out = cells.copy()
    out[:, columns[right]] = cells[:, other[right]]
    return out


def _best(
    labels: Labels, thin: NDArray[np.bool_], middle: NDArray[np.bool_], each: int, may_move: bool
) -> Place:
    """The place along the second axis."""
    axis = _axis(labels)
    if not may_move:
        on_grid = axis is not None and abs((2 * axis / each) % 1 - 0.5) > 0.5 - 2 / each
        return Place(0, axis if on_grid else None)
    moves = np.arange(each) - each // 2
    costs = _costs(labels, thin, middle, each)[moves % each]
    if axis is not None:
        on_axis = [round(axis % each) % each, round((axis + each / 2) % each) % each]
        costs = np.where(np.isin(moves % each, on_axis), costs, np.inf)
        # Of equals the smaller move.
        near = min(np.flatnonzero(np.isfinite(costs)), key=lambda i: (costs[i], abs(moves[i])))
        return Place(int(moves[near]), axis)
    best = int(costs.argmin())
    stays = costs[best] > _GAIN * costs[each // 2]
    return Place(0 if stays else int(moves[best]), None)


def _costs(
    labels: Labels, thin: NDArray[np.bool_], middle: NDArray[np.bool_], each: int
) -> NDArray[np.float64]:
    """(each,) mean distance, in cells, of what should lie otherwise, by where borders lie."""
    edge = (labels[:, 1:] != labels[:, :-1]) & ~thin[:, 1:] & ~thin[:, :-1]
    at_edge = np.bincount((np.arange(1, labels.shape[1])) % each, edge.sum(axis=0), each)
    upright = middle.copy()
    upright[1:-1] &= middle[:-2] | middle[2:]
    at_line = np.bincount(np.arange(labels.shape[1]) % each, upright.sum(axis=0), each)
    off = (np.arange(each)[None, :] - np.arange(each)[:, None]) % each / each
    lines = np.abs((off + 0.5 / each) % 1 - 0.5)
    total = at_edge.sum() + _LINES * at_line.sum()
    found = np.minimum(off, 1 - off) @ at_edge + _LINES * (lines @ at_line)
    return np.asarray(found / max(total, 1))


def _even(labels: Labels) -> Mask:
    """(h, w) bool: pixels whose neighbours have their own label."""
    import cv2

    plane, kernel = np.ascontiguousarray(labels), np.ones((3, 3), np.uint8)
    return np.asarray(cv2.dilate(plane, kernel) == cv2.erode(plane, kernel))


def _axis(labels: Labels) -> float | None:
    """Where the columns are mirrored; None when they are not."""
    ground = np.bincount(np.concatenate([labels[0], labels[-1], labels[:, 0], labels[:, -1]]))
    figure = labels != ground.argmax()
    columns = np.flatnonzero(figure.any(axis=0))
    if not len(columns):
        return None
    first, last = int(columns[0]), int(columns[-1])
    part, shown = labels[:, first : last + 1], figure[:, first : last + 1]
    even = _even(part)
    same = (part == part[:, ::-1]) | ~even | ~even[:, ::-1]  # edges may be a pixel off
    either = shown | shown[:, ::-1]
    if same.mean() < _SYMMETRIC or same[either].mean() < _SYMMETRIC_FIGURE:
        return None
    return (first + last + 1) / 2
