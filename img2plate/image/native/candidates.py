"""Pitches worth a closer look: those of a fine scan with hard cells, and of one with soft ones."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from img2plate.image.native.axis import Axis, AxisGrid
from img2plate.image.native.loops import BICUBIC

LEAST_PITCH, MOST_PITCH = 1.5, 90.0
KEEP = 7
"""Scanned pitches that are looked at more closely."""
SOFT_BANDS = ((LEAST_PITCH, 4.0, 128), (4.0, MOST_PITCH, 320))
"""From and to what pitch soft grids are scanned, on how many pixels."""
DRIFT, PHASES = 0.4, 4
"""Cells by which scanned pitches drift apart over an axis, and phases tried of each."""


def pitch_grid(width: int, height: int) -> NDArray[np.float64]:
    """Pitches so close that a grid drifts by half a pixel over the window.

    Besides all that a frame holds a whole number of times, and whole and half pixels: there many
    edges lie on ties, so that a pitch nearby is not good enough.
    """
    top = max(min(MOST_PITCH, min(width, height) / 2), 2.0)
    count = int(np.log(top / LEAST_PITCH) * max(width, height) / 0.5)
    even = np.geomspace(LEAST_PITCH, top, max(8, count))
    halves = np.arange(4, int(2 * top) + 1) / 2
    frames = [side / np.arange(2, int(side / LEAST_PITCH) + 1) for side in (width, height)]
    grid = np.unique(np.concatenate([even, halves, *frames]))
    return grid[(grid >= LEAST_PITCH) & (grid <= top)]


def minima(cost: NDArray[np.float64], pitches: NDArray[np.float64]) -> list[int]:
    """Places of the lowest local minima, one for each hollow."""
    low = _hollows(cost)
    kept: list[int] = []
    for i in low[np.argsort(cost[low])][:80]:
        if all(abs(np.log(pitches[i] / pitches[k])) > 0.01 for k in kept):
            kept.append(int(i))
    return kept[:KEEP]


def divides(length: int, pitches: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Whether a frame holds a pitch a whole number of times."""
    count = length / pitches
    return np.asarray(np.abs(count - count.round()) < 1e-6)


def spread(pitches: list[float]) -> list[float]:
    """Drop pitches that are nearly equal to an earlier one, or out of range."""
    kept: list[float] = []
    for pitch in pitches:
        if LEAST_PITCH <= pitch <= MOST_PITCH and all(abs(np.log(pitch / k)) > 0.004 for k in kept):
            kept.append(float(pitch))
    return kept


def soft_pitches(x: Axis, y: Axis) -> list[float]:
    """Pitches at which a grid with a soft kernel is cheap on both axes, or stands out: best first.

    Each pitch is tried that is so far from the last one that cells drift by part of one over half
    the axis; of fine pitches on less of it, which is enough to tell them.
    """
    found: list[float] = []
    for low, high, most in SOFT_BANDS:
        on_x, on_y = x.window(most), y.window(most)
        pitches = _steps(low, min(high, min(on_x.length, on_y.length) / 2), on_x.length)
        if len(pitches) < 3:
            continue
        tried = [AxisGrid(float(p), -float(p) * i / PHASES) for p in pitches for i in range(PHASES)]
        cost = np.zeros(len(pitches))
        for axis in (on_x, on_y):
            cost += axis.costs(tried, BICUBIC).reshape(-1, PHASES).min(axis=1)
        low_ones = _hollows(cost)
        gain = np.array([_around(pitches, cost, p) for p in pitches[low_ones]]) - cost[low_ones]
        for order in (np.argsort(cost[low_ones]), np.argsort(-gain)):
            found += [float(pitches[low_ones[i]]) for i in order[:KEEP]]
    return found


def _steps(low: float, high: float, length: int) -> NDArray[np.float64]:
    """Pitches from low to high."""
    # Their inverse, the cells in the axis, goes in even steps.
    count = max(1, int(length * (1 / low - 1 / max(high, low)) / DRIFT))
    return 1 / np.linspace(1 / low, 1 / max(high, low), count + 1)


def _hollows(cost: NDArray[np.float64]) -> NDArray[np.int64]:
    """Places of local minima."""
    padded = np.pad(cost, 1, constant_values=np.inf)
    return np.flatnonzero((cost <= padded[:-2]) & (cost <= padded[2:]))


def _around(pitches: NDArray[np.float64], cost: NDArray[np.float64], pitch: float) -> float:
    """Cost of the pitches around one."""
    return float(np.median(cost[(pitches > 0.6 * pitch) & (pitches < 1.6 * pitch)]))
