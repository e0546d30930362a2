"""Cells that lines take: connected, and one bead wide where a line steps from row to row."""

from __future__ import annotations

from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

_T = TypeVar("_T", bound=np.generic)
_PASSES = 4
_CORNER = 0.85
"""Cells of middle line from which on a cell at a bend is its corner."""
_TURNS = ((0, 1), (1, 2), (2, 3), (3, 0))
"""Pairs of neighbouring sides of a cell, by number: above, right, below, left."""
_SIDES = ((-1, 0), (0, 1), (1, 0), (0, -1))


def line_cells(length: NDArray[np.float32]) -> NDArray[np.bool_]:
    """(k, h, w) bool: the cells that lines take.

    length: (k, h, w) of each colour's middle lines in each cell, in cells.
    """
    taken = length > 0
    # Of equal lengths the earlier cell goes: two neighbours never go together.
    order = np.arange(length[0].size, dtype=np.float64).reshape(length.shape[1:])
    rank = length + order * 1e-9
    for _ in range(_PASSES):
        gone = np.zeros_like(taken)
        for one, two in _TURNS:
            gone |= _brushed(taken, length, rank, one, two)
        if not gone.any():
            break
        taken &= ~gone
    return taken


def _brushed(
    taken: NDArray[np.bool_],
    length: NDArray[np.float32],
    rank: NDArray[np.float64],
    one: int,
    two: int,
) -> NDArray[np.bool_]:
    """Cells at a step of a line, with neighbours on sides `one` and `two` alone, to be left out.

    They are shorter than both neighbours, and no corner from which both arms run on.
    """
    (y1, x1), (y2, x2) = _SIDES[one], _SIDES[two]
    arms = _at(taken, y1, x1) & _at(taken, y2, x2)
    alone = ~_at(taken, -y1, -x1) & ~_at(taken, -y2, -x2) & ~_at(taken, y1 + y2, x1 + x2)
    corner = _at(taken, 2 * y1, 2 * x1) & _at(taken, 2 * y2, 2 * x2)
    least = (rank < _at(rank, y1, x1)) & (rank < _at(rank, y2, x2))
    return np.asarray(taken & arms & alone & ~corner & least & (length < _CORNER))


def _at(plane: NDArray[_T], down: int, across: int) -> NDArray[_T]:
    """Each cell's neighbour so many rows below and columns to the right; 0 outside."""
    wide = np.pad(plane, ((0, 0), (2, 2), (2, 2)))
    height, width = plane.shape[1:]
    return wide[:, 2 + down : 2 + down + height, 2 + across : 2 + across + width]
