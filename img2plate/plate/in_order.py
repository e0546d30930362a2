"""The cheapest one-to-one assignment in which what was darker stays darker.

Without the order this is the linear assignment problem, which scipy solves exactly (D. F. Crouse,
IEEE Transactions on Aerospace and Electronic Systems 52(4), 1679-1696, 2016). The order is repaired
by branch and bound: the assignment without it is a lower bound; a pair that it puts the wrong way
round is forbidden in both ways in which it can be mended, or paid for, and the cheapest branch is
looked at first. The first assignment that breaks nothing is the best of all. When that takes too
many steps, the best that was seen is taken, with the bound of what is still open.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from heapq import heappop, heappush

import numpy as np
from numpy.typing import NDArray

BROKEN = 1e3
"""Price of a pair whose order is broken: only when there is nothing else."""
FORBIDDEN = 1e7
"""Price of what must not be; its multiples are still exact to a millionth."""
MOST_STEPS = 4_000
Pair = tuple[int, int]
"""Two rows, of which the first is to stay darker."""


@dataclass(frozen=True, eq=False)
class Assigned:
    """A column for each row."""

    columns: NDArray[np.intp]
    price: float
    """Without the prices of broken pairs."""
    broken: tuple[Pair, ...]
    bound: float
    """No assignment has a lower price, those of broken pairs with it."""

    @property
    def is_best(self) -> bool:
        """Whether it is proven that there is none better."""
        return self.price + BROKEN * len(self.broken) <= self.bound + 1e-9


@dataclass(frozen=True, eq=False)
class _Branch:
    """What is still possible: each row's column has a rank from `low` to `high`."""

    low: NDArray[np.intp]
    high: NDArray[np.intp]
    given_up: frozenset[Pair] = frozenset()


def assign_in_order(
    price: NDArray[np.float64], rank: NDArray[np.intp], pairs: Sequence[Pair]
) -> Assigned | None:
    """Choose a column for each row of `price` (m, n), m at most n, at the lowest sum.

    price: FORBIDDEN for what must not be; all others together stay below BROKEN; rank: (n,) of the
    columns by lightness, equal ones alike; pairs: rows of which the first must get a lower rank
    than the second, in an order in which no row comes second after it came first (sorted by a
    first, then a second row of rows that go from dark to light). None when what is forbidden
    leaves no column for some row.
    """
    start = _Branch(np.zeros(len(price), np.intp), np.full(len(price), int(rank.max())))
    waiting = (
        [(found[0], 0, start, found[1])] if (found := _solved(price, rank, start, pairs)) else []
    )
    best: Assigned | None = None
    steps = 0
    while waiting:
        bound, _, branch, columns = heappop(waiting)
        wrong = _wrong(rank[columns], pairs)
        total = float(price[np.arange(len(columns)), columns].sum())
        if best is None or total + BROKEN * len(wrong) < best.price + BROKEN * len(best.broken):
            best = Assigned(columns, total, tuple(wrong), bound)
        best = replace(best, bound=bound)
        open_pairs = [pair for pair in wrong if pair not in branch.given_up]
        if best.is_best or not open_pairs or steps > MOST_STEPS:
            break
        for each in _mended(branch, rank[columns], open_pairs):
            steps += 1
            if found := _solved(price, rank, each, pairs):
                heappush(waiting, (found[0], steps, each, found[1]))
    return best


def _solved(
    price: NDArray[np.float64], rank: NDArray[np.intp], branch: _Branch, pairs: Sequence[Pair]
) -> tuple[float, NDArray[np.intp]] | None:
    """A lower bound of what a branch costs, and the assignment it comes from; None if empty.

    What keeps all pairs that are not given up lies within narrower ranks; where these are empty,
    one pair more is broken.
    """
    lost = BROKEN * len(branch.given_up)
    kept = [pair for pair in pairs if pair not in branch.given_up]
    for more, within in ((0.0, _narrowed(branch, kept)), (BROKEN, branch)):
        if (within.low <= within.high).all():
            columns, total = _plain(price, rank, within)
            if total < FORBIDDEN / 2:
                return total + lost + more, columns
    return None


def _mended(branch: _Branch, ranks: NDArray[np.intp], wrong: Sequence[Pair]) -> Iterator[_Branch]:
    """The ways on from a pair that is the wrong way round: together they leave nothing out."""
    darker, lighter = max(wrong, key=lambda pair: int(ranks[pair[0]] - ranks[pair[1]]))
    between = ranks[lighter]
    high = branch.high.copy()
    high[darker] = between - 1
    yield replace(branch, high=high)
    low = branch.low.copy()  # else the darker one stays at `between` or above it
    low[darker], low[lighter] = max(low[darker], between), between + 1
    yield replace(branch, low=low)
    yield replace(branch, given_up=branch.given_up | {(darker, lighter)})


def _narrowed(branch: _Branch, pairs: Sequence[Pair]) -> _Branch:
    """What the pairs leave of each row's ranks, which may be nothing."""
    low, high = branch.low.copy(), branch.high.copy()
    for darker, lighter in pairs:
        low[lighter] = max(low[lighter], low[darker] + 1)
    for darker, lighter in reversed(pairs):
        high[darker] = min(high[darker], high[lighter] - 1)
    return replace(branch, low=low, high=high)


def _plain(
    price: NDArray[np.float64], rank: NDArray[np.intp], branch: _Branch
) -> tuple[NDArray[np.intp], float]:
    """The cheapest assignment within a branch, its order left alone."""
    from scipy.optimize import linear_sum_assignment

    outside = (rank < branch.low[:, None]) | (rank > branch.high[:, None])
    masked = np.where(outside, FORBIDDEN, price)
    rows, columns = linear_sum_assignment(masked)
    return np.asarray(columns), float(masked[rows, columns].sum())


def _wrong(ranks: NDArray[np.intp], pairs: Sequence[Pair]) -> list[Pair]:
    """The pairs whose order is broken."""
    if not pairs:
        return []
    at = np.array(pairs)
    return [pairs[i] for i in np.flatnonzero(ranks[at[:, 0]] >= ranks[at[:, 1]]).tolist()]
