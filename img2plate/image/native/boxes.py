"""The compiled loops for hard cells: blocks of a summed Gram matrix, every pitch and phase."""

from __future__ import annotations

from math import ceil, floor, log

import numpy as np
from numpy.typing import NDArray

from img2plate.base.compiled import compiled
from img2plate.image.native.loops import NOISE

TIE = 0.03
"""Pixels: so near a tie, rounding decides to which of two cells a pixel goes."""


@compiled
def _block(summed: NDArray[np.float64], low: int, high: int) -> float:
    """Squares explained by one cell from pixel `low` to before `high`."""
    if high <= low:
        return 0.0
    block = summed[high, high] - 2 * summed[high, low] + summed[low, low]
    return float(block / (high - low))


@compiled
def box_edges(
    summed: NDArray[np.float64], pitch: float, offset: float
) -> tuple[NDArray[np.int64], float]:
    """First pixel of each cell of hard edges, and the squares that they explain.

    `summed` is the summed Gram matrix (length + 1, length + 1). An edge that lies on a tie goes to
    the side that explains more.
    """
    length = len(summed) - 1
    edges = np.zeros(length, dtype=np.int64)
    explained = 0.0
    low = 0
    count = 0
    k = floor((0.5 - offset) / pitch) + 1
    while low < length:
        edges[count] = low
        count += 1
        edge = offset + k * pitch - 0.5
        high = min(length, max(low + 1, ceil(edge)))
        block = _block(summed, low, high)
        tie = round(edge)
        if abs(edge - tie) < TIE and low < tie < length - 1:
            after = min(length, ceil(edge + pitch))
            one = _block(summed, low, tie) + _block(summed, tie, after)
            two = _block(summed, low, tie + 1) + _block(summed, tie + 1, after)
            high = tie if one >= two else tie + 1
            block = _block(summed, low, high)
        explained += block
        low = high
        k += 1
    return edges[:count], explained


@compiled
def box_scan(
    summed: NDArray[np.float64],
    total: float,
    samples: int,
    pitches: NDArray[np.float64],
    price: float,
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Best cost over all phases, and that phase, for each pitch, with the nearest kernel."""
    length = len(summed) - 1
    costs, phases = np.empty(len(pitches)), np.empty(len(pitches))
    for i in range(len(pitches)):
        pitch = pitches[i]
        steps = max(2, ceil(pitch / (0.5 if pitch < 12 else 1.0)))
        most, at = -1.0, 0.0
        for s in range(steps):
            offset = -pitch * s / steps
            explained = box_edges(summed, pitch, offset)[1]
            if explained > most:
                most, at = explained, offset
        left = max(0.0, total - most) / (length * samples)
        costs[i] = length * log(left + NOISE) + price * length / pitch
        phases[i] = at
    return costs, phases
