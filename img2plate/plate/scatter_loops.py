"""The loop behind `scatter`, compiled: whether a cell is taken depends on those taken before."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from img2plate.base.compiled import compiled


@compiled
def take_apart(
    order: NDArray[np.int64], taken: NDArray[np.bool_], wanted: int, corners: bool
) -> int:
    """Take cells in an order, none beside a taken one, until `wanted` are; returns how many are.

    `order` (n,) are flat indices into `taken` (h, w), which is changed. With `corners` cells that
    touch at a corner are beside each other too.
    """
    height, width = taken.shape
    count = int(taken.sum())
    for place in order:
        if count >= wanted:
            break
        y, x = place // width, place % width
        if not taken[y, x] and not _is_beside(taken, y, x, height, width, corners):
            taken[y, x] = True
            count += 1
    return count


@compiled
def _is_beside(
    taken: NDArray[np.bool_], y: int, x: int, height: int, width: int, corners: bool
) -> bool:
    """Whether a cell touches a taken one."""
    for dy in range(-1, 2):
        for dx in range(-1, 2):
            if (dy == 0) == (dx == 0) and not (corners and dy != 0):
                continue
            v, u = y + dy, x + dx
            if 0 <= v < height and 0 <= u < width and taken[v, u]:
                return True
    return False
