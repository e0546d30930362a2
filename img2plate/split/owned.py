"""Which board lies under which tile, when boards of several sizes are owned."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from img2plate.base.errors import OptionError
from img2plate.base.lengths import Board, OwnedBoard


def boards_under(sizes: Sequence[tuple[int, int]], owned: Sequence[OwnedBoard]) -> list[Board]:
    """A board for each tile of a size in pegs, the smallest in all: an exact assignment.

    Raises OptionError when there are not enough that are large enough.
    """
    from scipy.optimize import linear_sum_assignment

    pool = [
        each.board
        for each in owned
        for _ in range(len(sizes) if each.number is None else min(each.number, len(sizes)))
    ]
    holds = np.array([[b.across >= w and b.down >= h for b in pool] for w, h in sizes])
    pegs = np.array([b.across * b.down for b in pool], dtype=np.float64)
    costs = np.where(holds.reshape(len(sizes), len(pool)), pegs, 1e12)
    if len(pool) < len(sizes):
        raise _too_few(len(sizes))
    tiles, chosen = linear_sum_assignment(costs)
    if costs[tiles, chosen].max() >= 1e12:
        raise _too_few(len(sizes))
    return [pool[number] for number in chosen]


def _too_few(tiles: int) -> OptionError:
    """What to say when boards do not suffice."""
    return OptionError(
        f"the boards do not suffice for {tiles} tiles where these seams lie",
        field="board",
        remedy="put seams elsewhere, or own more boards",
    )
