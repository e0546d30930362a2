"""Where the seams run by rule: full boards first, even tiles, or where they cut the least detail.

A seam cuts detail where a colour change meets it: where the line between two colours of one column
(for an upright seam, the column on either side) ends on the seam. A contour that runs along a seam
costs nothing, as nothing that the eye follows has to go on across it.

    | a a | a b |        the upright seam in the middle is met by one change on its left (a over c)
    | a c | a b |        and by none on its right: it costs 1

Both axes are independent, as a seam runs over the whole plate: the cheapest cuts of each axis,
found exactly by dynamic programming, are the cheapest of all.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from img2plate.base.arrays import Cells
from img2plate.base.errors import OptionError
from img2plate.split.by_hand import WAYS

SMALLEST_TILE = 4
"""Pegs that a tile keeps at least when seams may move."""


def detail(cells: Cells, axis: int) -> NDArray[np.int64]:
    """(n + 1,) int64: colour changes that meet a seam before each column (axis 1) or row (axis 0).

    The first and last entry are the plate's own edges, and 0.
    """
    lines = cells if axis == 1 else cells.T
    changes = np.count_nonzero(lines[1:] != lines[:-1], axis=0)
    met = np.zeros(len(changes) + 1, dtype=np.int64)
    met[1:-1] = changes[:-1] + changes[1:]
    return met


def cuts(
    way: str, costs: NDArray[np.int64], most: int, smallest: int = SMALLEST_TILE
) -> tuple[int, ...]:
    """First peg of each tile along an axis, 0 first. `costs` is (n + 1,), see `detail`.

    Never more tiles than n pegs need at `most` a tile. Raises OptionError for an unknown way, and
    when so few tiles cannot all have `smallest` pegs.
    """
    length = len(costs) - 1
    if way == "full":
        return tuple(range(0, length, most))
    count = -(-length // most)
    if way == "even":
        return tuple(i * length // count for i in range(count))
    if way != "quiet":
        raise OptionError(f"is none of {', '.join(WAYS)}", field="seams", value=way)
    if smallest < 1:
        raise OptionError(
            "is not a number of pegs",
            field="smallest_tile",
            value=smallest,
            remedy="give at least 1",
        )
    if count > 1 and count * smallest > length:
        raise OptionError(
            f"{count} boards over {length} pegs cannot each have {smallest}",
            field="smallest_tile",
            remedy=f"give at most {length // count}",
        )
    return _quietest([int(cost) for cost in costs], most, smallest) if count > 1 else (0,)


def _quietest(costs: list[int], most: int, smallest: int) -> tuple[int, ...]:
    """Fewest tiles, then least detail cut, then most even (least squares): one exact search.

    best[x] is the cheapest way to cut the first x pegs. All three measures add up over tiles, so
    the best way to a peg never has a worse way to one before it (Bellman's principle).
    """
    length = len(costs) - 1
    best: list[tuple[int, int, int] | None] = [(0, 0, 0)] + [None] * length
    before = [0] * (length + 1)
    for x in range(smallest, length + 1):
        ways = [
            ((so_far[0] + 1, so_far[1] + costs[x], so_far[2] + (x - y) ** 2), y)
            for y in range(max(0, x - most), x - smallest + 1)
            if (so_far := best[y]) is not None
        ]
        if ways:
            best[x], before[x] = min(ways)
    starts = [before[length]]
    while starts[-1]:
        starts.append(before[starts[-1]])
    return tuple(reversed(starts))
