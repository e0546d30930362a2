"""Compiled loops of `swaps`."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from img2plate.base.compiled import compiled

F64s = NDArray[np.float64]
_LEAST_GAIN = 1e-9


class Field(NamedTuple):
    """What the search knows of the plate."""

    beads: F64s
    """(n, 3) opponent channels."""
    kernel: F64s
    """(2 r + 1, 2 r + 1, 3) autocorrelation of the eye's filters."""
    weight: F64s
    """(h, w) of each cell's error."""
    gradient: F64s
    """(h, w, 3) error under the autocorrelation: half the gradient of the squared error."""
    spare: NDArray[np.int64]
    """(n,) beads that are left over."""


@compiled
def sweep(cells: NDArray[np.int16], field: Field) -> int:
    """Visit all cells once; put in a bead that is left over, or swap, whichever gains most.

    Counts the changes; keeps the gradient and the beads left over up to date.
    """
    height, width = cells.shape
    changes = 0
    for y in range(height):
        for x in range(width):
            if cells[y, x] >= 0 and _visit(cells, field, y, x):
                changes += 1
    return changes


@compiled
def _visit(cells: NDArray[np.int16], field: Field, y: int, x: int) -> bool:
    """Make the change that gains most in one cell; whether there is one."""
    height, width = cells.shape
    reach, spare = field.kernel.shape[0] // 2, field.spare
    own = cells[y, x]
    least, best, to_y, to_x = -_LEAST_GAIN, -1, -1, -1
    for k in range(len(field.beads)):
        if spare[k] > 0 and k != own:
            cost = field.weight[y, x] * _cost(field, own, k, y, x)
            if cost < least:
                least, best = cost, k
    for v in range(max(0, y - reach), min(height, y + reach + 1)):
        for u in range(max(0, x - reach), min(width, x + reach + 1)):
            other = cells[v, u]
            if other >= 0 and other != own:
                cost = _swap_cost(field, own, other, y, x, v, u)
                if cost < least:
                    least, best, to_y, to_x = cost, other, v, u
    if best < 0:
        return False
    _put(cells, field, y, x, best)
    if to_y >= 0:
        _put(cells, field, to_y, to_x, own)
    else:
        spare[own] += 1
        spare[best] -= 1
    return True


@compiled
def _cost(field: Field, own: int, k: int, y: int, x: int) -> float:
    """What another bead in one cell adds to the squared error."""
    beads, kernel = field.beads, field.kernel
    reach, cost = kernel.shape[0] // 2, 0.0
    for c in range(3):
        d = beads[k, c] - beads[own, c]
        cost += 2 * d * field.gradient[y, x, c] + d * d * kernel[reach, reach, c]
    return cost


@compiled
def _swap_cost(field: Field, own: int, other: int, y: int, x: int, v: int, u: int) -> float:
    """What two beads that change places add to the squared error."""
    beads, kernel, gradient = field.beads, field.kernel, field.gradient
    reach = kernel.shape[0] // 2
    one, two = field.weight[y, x], field.weight[v, u]
    cost = 0.0
    for c in range(3):
        d = beads[other, c] - beads[own, c]
        middle = kernel[reach, reach, c]
        cost += one * (2 * d * gradient[y, x, c] + d * d * middle)
        cost += two * (-2 * d * gradient[v, u, c] + d * d * middle)
        cost -= (one + two) * d * d * kernel[v - y + reach, u - x + reach, c]
    return cost


@compiled
def _put(cells: NDArray[np.int16], field: Field, y: int, x: int, k: int) -> None:
    """Put another bead into a cell."""
    height, width = cells.shape
    beads, kernel, gradient = field.beads, field.kernel, field.gradient
    reach, own = kernel.shape[0] // 2, cells[y, x]
    for v in range(max(0, y - reach), min(height, y + reach + 1)):
        for u in range(max(0, x - reach), min(width, x + reach + 1)):
            for c in range(3):
                d = beads[k, c] - beads[own, c]
                gradient[v, u, c] += d * kernel[v - y + reach, u - x + reach, c]
    cells[y, x] = k
