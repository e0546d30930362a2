"""The compiled loops for cells that drift: the best uneven lines on one axis, two ways.

Either widths vary about a pitch, each on its own, or lines vary about even places.
"""

from __future__ import annotations

from math import ceil, floor, log

import numpy as np
from numpy.typing import NDArray

from img2plate.base.compiled import compiled

WIDTH_PRIOR, PLACE_PRIOR = 100.0, 50.0
"""Of the squared log of width over pitch, and of the squared share of a pitch off an even place."""
LEAST_TRIMMED = 4
"""Pixels of a cell from which on one a side is left out."""
NARROWEST, WIDEST = 0.6, 1.6
"""Shares of the pitch."""
FURTHEST, LEAST_WIDTH = 0.36, 0.4
"""Shares of the pitch from an even place, and between lines."""


@compiled
def squares_within(
    summed: NDArray[np.float64], powers: NDArray[np.float64], low: int, high: int
) -> float:
    """Squares about their mean of the pixels low to before high, scaled to the full width.

    One pixel a side is left out, where blur mixes cells. `summed` is the summed Gram matrix (length
    + 1, length + 1), `powers` the summed diagonal.
    """
    start, end = low, high
    if high - low >= LEAST_TRIMMED:
        start, end = low + 1, high - 1
    block = summed[end, end] - 2 * summed[end, start] + summed[start, start]
    left = powers[end] - powers[start] - block / (end - start)
    return float(max(0.0, left) * (high - low) / (end - start))


@compiled
def by_widths(
    summed: NDArray[np.float64],
    powers: NDArray[np.float64],
    pitch: float,
    weight: float,
    price: float,
) -> tuple[NDArray[np.int64], float, float]:
    """Lines from 0 to the length, the squares they leave, and half the prior.

    Minimises weight x squares + price x cells + half the prior. Cells at the border may be cut off.
    """
    length = len(summed) - 1
    least = np.full(length + 1, np.inf)
    before = np.zeros(length + 1, dtype=np.int64)
    least[0] = 0.0
    narrow, wide = max(2, ceil(NARROWEST * pitch)), floor(WIDEST * pitch)
    for high in range(2, length + 1):
        first = 2 if high == length else narrow
        for width in range(min(2, high), min(wide, high) + 1):
            low = high - width
            if width < first and low != 0:
                continue
            if least[low] == np.inf:
                continue
            prior = 0.5 * WIDTH_PRIOR * log(width / pitch) ** 2
            if width < pitch and (low == 0 or high == length):
                prior = 0.0
            cost = least[low] + prior + price + weight * squares_within(summed, powers, low, high)
            if cost < least[high]:
                least[high], before[high] = cost, low
    return _followed_back(summed, powers, before, pitch)


@compiled
def _followed_back(
    summed: NDArray[np.float64],
    powers: NDArray[np.float64],
    before: NDArray[np.int64],
    pitch: float,
) -> tuple[NDArray[np.int64], float, float]:
    length = len(before) - 1
    lines = np.zeros(length + 1, dtype=np.int64)
    count, at = 0, length
    left, prior = 0.0, 0.0
    lines[0] = length
    while at > 0:
        low = before[at]
        left += squares_within(summed, powers, low, at)
        width = at - low
        if not (width < pitch and (low == 0 or at == length)):
            prior += 0.5 * WIDTH_PRIOR * log(width / pitch) ** 2
        at = low
        count += 1
        lines[count] = at
    return lines[: count + 1][::-1].copy(), left, prior


@compiled
def by_places(
    summed: NDArray[np.float64],
    powers: NDArray[np.float64],
    cells: int,
    first: float,
    last: float,
    weight: float,
) -> tuple[NDArray[np.int64], float, float]:
    """Lines of so many cells from 0 to the length, near even places; see `by_widths`.

    The even places reach from `first` to `last`, in pixels: lines at the frame may be off, too.
    """
    length = len(summed) - 1
    pitch = (last - first) / cells
    reach = floor(FURTHEST * pitch)
    span = 2 * reach + 1
    least = np.full((cells + 1, span), np.inf)
    before = np.zeros((cells + 1, span), dtype=np.int64)
    least[0, reach] = 0.0
    for i in range(1, cells + 1):
        for d in range(span):
            if i == cells and d != reach:
                continue
            even = first + i * pitch
            high = length if i == cells else round(even) + d - reach
            off = (high - even) / pitch
            for e in range(span):
                if least[i - 1, e] == np.inf:
                    continue
                low = 0 if i == 1 else round(first + (i - 1) * pitch) + e - reach
                if high - low < max(2.0, LEAST_WIDTH * pitch) or high > length:
                    continue
                cost = (
                    least[i - 1, e]
                    + 0.5 * PLACE_PRIOR * off * off
                    + weight * squares_within(summed, powers, low, high)
                )
                if cost < least[i, d]:
                    least[i, d], before[i, d] = cost, e
    lines = np.zeros(cells + 1, dtype=np.int64)
    d, left, prior = reach, 0.0, 0.5 * PLACE_PRIOR * ((length - last) / pitch) ** 2
    lines[cells] = length
    if least[cells, reach] == np.inf:
        return lines, np.inf, 0.0
    for i in range(cells, 0, -1):
        d = before[i, d]
        lines[i - 1] = 0 if i == 1 else round(first + (i - 1) * pitch) + d - reach
        left += squares_within(summed, powers, lines[i - 1], lines[i])
        off = (lines[i - 1] - first - (i - 1) * pitch) / pitch
        prior += 0.5 * PLACE_PRIOR * off * off
    return lines, left, prior
