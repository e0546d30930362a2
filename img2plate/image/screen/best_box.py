"""The rectangle of a map of numbers whose sum is largest."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


def best_span(values: Floats) -> tuple[int, int, float]:
    """First and one past the last of the neighbours with the largest sum, and that sum."""
    sums = np.append(0.0, values.cumsum())
    low = np.minimum.accumulate(sums[:-1])
    gain = sums[1:] - low
    end = int(gain.argmax())
    start = int(sums[: end + 1].argmin())
    return start, end + 1, float(gain[end])


def best_box(values: Floats) -> tuple[tuple[int, int, int, int], float]:
    """Left, top, right, bottom of the rectangle of (h, w) with the largest sum, and that sum.

    For each pair of rows the best span of columns is found at once (Bentley's two-dimensional
    form of Kadane's method: Programming Pearls, Communications of the ACM 27(9), 865-873, 1984).
    """
    sums = np.pad(values.cumsum(axis=0).cumsum(axis=1), ((1, 0), (1, 0)))
    best, found = -np.inf, (0, 0, 0, 0)
    for top in range(len(values)):
        below = sums[top + 1 :] - sums[top]
        gain = below[:, 1:] - np.minimum.accumulate(below[:, :-1], axis=1)
        at = int(gain.argmax())
        row, right = divmod(at, gain.shape[1])
        if gain[row, right] > best:
            best = float(gain[row, right])
            left = int(below[row, : right + 1].argmin())
            found = left, top, right + 1, top + row + 1
    return found, best
