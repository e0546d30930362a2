"""Places for letters along an edge: near what they are for, clear of each other."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray


def spread(
    wanted: Sequence[float], lengths: Sequence[float], taken: Sequence[tuple[float, float]] = ()
) -> list[float]:
    """Middles, in mm, of words of these lengths that do not overlap, in the order of the words.

    Of all such places those with the least squares from where each is wanted: an isotonic
    regression, once the lengths are taken off. Words keep out of what is `taken` (start, end), each
    on the side that is nearer.
    """
    order = sorted(range(len(wanted)), key=lambda i: wanted[i])
    middles = np.cumsum([lengths[i] for i in order]) - np.array([lengths[i] for i in order]) / 2
    cleared = np.array([_beside(wanted[i], lengths[i], taken) for i in order])
    places = _never_falling((cleared - middles).tolist()) + middles
    found = dict(zip(order, places.tolist(), strict=True))
    return [found[i] for i in range(len(wanted))]


def _beside(at: float, length: float, taken: Sequence[tuple[float, float]]) -> float:
    """The nearest middle at which a word leaves free what is taken."""
    for start, end in taken:
        if start - length / 2 < at < end + length / 2:
            before, after = start - length / 2, end + length / 2
            return before if at - before <= after - at else after
    return at


def _never_falling(values: Sequence[float]) -> NDArray[np.float64]:
    """The nearest values that never fall: neighbours that do are given their mean.

    As scipy's `isotonic_regression` has it, whose import takes longer than all of a figure's pages.
    """
    pools: list[tuple[float, int]] = []
    for value in values:
        pools.append((value, 1))
        while len(pools) > 1 and pools[-2][0] > pools[-1][0]:
            (one, many), (two, more) = pools[-2:]
            pools[-2:] = [((one * many + two * more) / (many + more), many + more)]
    means, lengths = zip(*pools, strict=True)
    return np.repeat(means, lengths)
