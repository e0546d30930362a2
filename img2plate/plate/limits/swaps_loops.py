"""Compiled loops of `swaps`."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from img2plate.base.compiled import compiled

F64s = NDArray[np.float64]
_LEAST_GAIN = 1e-9


@compiled
def sweep(
    cells: NDArray[np.int16],
    pull: F64s,
    beads: F64s,
    kernel: F64s,
    weight: F64s,
    room: NDArray[np.int64],
) -> int:
    """Visit all cells once; put in a bead that is left over, or swap, whichever gains most.

    Counts the changes; keeps `pull` and `room` up to date.
    """
    height, width = cells.shape
    reach = kernel.shape[0] // 2
    changes = 0
    for y in range(height):
        for x in range(width):
            own = cells[y, x]
            if own < 0:
                continue
            least, best, to_y, to_x = -_LEAST_GAIN, -1, -1, -1
            for k in range(len(beads)):
                if room[k] > 0 and k != own:
                    cost = weight[y, x] * _cost(pull, beads, kernel, own, k, y, x)
                    if cost < least:
                        least, best, to_y, to_x = cost, k, -1, -1
            for v in range(max(0, y - reach), min(height, y + reach + 1)):
                for u in range(max(0, x - reach), min(width, x + reach + 1)):
                    other = cells[v, u]
                    if other >= 0 and other != own:
                        cost = _swap_cost(pull, beads, kernel, weight, own, other, y, x, v, u)
                        if cost < least:
                            least, best, to_y, to_x = cost, other, v, u
            if best < 0:
                continue
            changes += 1
            _put(cells, pull, beads, kernel, y, x, best)
            if to_y >= 0:
                _put(cells, pull, beads, kernel, to_y, to_x, own)
            else:
                room[own] += 1
                room[best] -= 1
    return changes


@compiled
def _cost(pull: F64s, beads: F64s, kernel: F64s, own: int, k: int, y: int, x: int) -> float:
    """What another bead in one cell adds to the squared error."""
    reach, cost = kernel.shape[0] // 2, 0.0
    for c in range(3):
        d = beads[k, c] - beads[own, c]
        cost += 2 * d * pull[y, x, c] + d * d * kernel[reach, reach, c]
    return cost


@compiled
def _swap_cost(
    pull: F64s, beads: F64s, kernel: F64s, weight: F64s,
    own: int, other: int, y: int, x: int, v: int, u: int,
) -> float:  # fmt: skip
    """What two beads that change places add to the squared error."""
    reach = kernel.shape[0] // 2
    one, two = weight[y, x], weight[v, u]
    cost = 0.0
    for c in range(3):
        d = beads[other, c] - beads[own, c]
        middle = kernel[reach, reach, c]
        cost += one * (2 * d * pull[y, x, c] + d * d * middle)
        cost += two * (-2 * d * pull[v, u, c] + d * d * middle)
        cost -= (one + two) * d * d * kernel[v - y + reach, u - x + reach, c]
    return cost


@compiled
def _put(
    cells: NDArray[np.int16], pull: F64s, beads: F64s, kernel: F64s, y: int, x: int, k: int
) -> None:
    """Put another bead into a cell."""
    height, width = cells.shape
    reach, own = kernel.shape[0] // 2, cells[y, x]
    for v in range(max(0, y - reach), min(height, y + reach + 1)):
        for u in range(max(0, x - reach), min(width, x + reach + 1)):
            for c in range(3):
                d = beads[k, c] - beads[own, c]
                pull[v, u, c] += d * kernel[v - y + reach, u - x + reach, c]
    cells[y, x] = k
