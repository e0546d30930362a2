"""Few colours out of many, chosen for the picture: the k-median problem over a palette.

Greedy choice from either end, then single swaps as long as one pays (M. B. Teitz, P. Bart,
Operations Research 16, 955-961, 1968), on small tables from several starts. What a swap pays is
worked out for all pairs at once from the nearest and second nearest chosen bead (R. A. Whitaker,
INFOR 21, 95-108, 1983).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

_SMALL = 200_000
"""Up to so many entries of the table more starts cost nothing that is felt."""
_MORE_STARTS = 24
_LEAST_GAIN = 1e-9


def choose_columns(off: NDArray[np.float64], most: int, *, seed: int = 0) -> NDArray[np.int64]:
    """Choose at most `most` columns so that the sum of each row's least chosen entry is small.

    off: (n, m) float64, what each colour is off in each bead, times its cells. Returns sorted
    indices; never worse than the greedy choice.
    """
    rows, columns = off.shape
    if most >= columns:
        return np.arange(columns)
    starts = [greedy(off, most)]
    if rows * columns <= _SMALL:
        rng = np.random.default_rng(seed)
        starts += [_drop(off, most)]
        starts += [rng.choice(columns, most, replace=False) for _ in range(_MORE_STARTS)]
    room = np.empty((3, rows, columns))
    by_bead = np.ascontiguousarray(off.T)
    found = [_swap(off, by_bead, start, room) for start in starts]
    return np.sort(min(found, key=lambda chosen: summed(off, chosen)))


def summed(off: NDArray[np.float64], chosen: NDArray[np.int64]) -> float:
    """Sum of each row's least chosen entry."""
    return float(off[:, chosen].min(axis=1).sum())


def greedy(off: NDArray[np.float64], most: int) -> NDArray[np.int64]:
    """Add the column that helps most, again and again."""
    chosen = [int(off.sum(axis=0).argmin())]
    least = off[:, chosen[0]].copy()
    while len(chosen) < most:
        sums = np.minimum(off, least[:, None]).sum(axis=0)
        sums[chosen] = np.inf
        chosen.append(int(sums.argmin()))
        np.minimum(least, off[:, chosen[-1]], out=least)
    return np.array(chosen)


def _drop(off: NDArray[np.float64], most: int) -> NDArray[np.int64]:
    """Leave out the column that is missed least, again and again."""
    chosen, by_bead = np.arange(off.shape[1]), np.ascontiguousarray(off.T)
    while len(chosen) > most:
        first, least, second = _two_least(by_bead[chosen])
        loss = np.bincount(first, second - least, minlength=len(chosen))
        chosen = np.delete(chosen, loss.argmin())
    return chosen


def _two_least(
    off: NDArray[np.float64],
) -> tuple[NDArray[np.int64], NDArray[np.float64], NDArray[np.float64]]:
    """Place and value of each column's least entry, and the value of the second; `off` is used up.

    off: (k, n), chosen beads by rows: the least of few is found much faster down than across.
    """
    first = off.argmin(axis=0)
    each = np.arange(off.shape[1])
    least = off[first, each]
    off[first, each] = np.inf
    return first, least, off.min(axis=0)


def _swap(
    off: NDArray[np.float64],
    by_bead: NDArray[np.float64],
    start: NDArray[np.int64],
    room: NDArray[np.float64],
) -> NDArray[np.int64]:
    """Exchange one chosen column for another as long as the sum falls.

    by_bead: (m, n), `off` the other way round. room: (3, n, m) float64 to work in, as finding
    memory anew at each step would take most of the time.
    """
    chosen = start.copy()
    kept, lost, grouped = room
    while True:
        first, least, second = _two_least(by_bead[chosen])
        # Without its own bead a row goes to the new one or to its second; with it, to the better.
        np.minimum(off, least[:, None], out=kept)
        np.minimum(off, second[:, None], out=lost)
        lost -= kept
        order = np.argsort(first.astype(np.int16), kind="stable")  # short: sorted by its bits
        np.take(lost, order, axis=0, out=grouped, mode="clip")
        sizes = np.bincount(first, minlength=len(chosen))
        used = np.flatnonzero(sizes)
        change = np.zeros((len(chosen), off.shape[1]))
        begins = np.concatenate([[0], sizes[used].cumsum()[:-1]])
        change[used] = np.add.reduceat(grouped, begins, axis=0)
        change += kept.sum(axis=0) - least.sum()
        change[:, chosen] = 0.0
        out, into = np.unravel_index(int(change.argmin()), change.shape)
        if change[out, into] > -_LEAST_GAIN * max(1.0, float(least.sum())):
            return chosen
        chosen[out] = into
