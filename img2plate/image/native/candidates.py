"""Pitches worth a closer look: all of a fine scan, and those that spectra show."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from img2plate.image.native.axis import Axis

LEAST_PITCH, MOST_PITCH = 1.5, 90.0
KEEP = 7
"""Scanned pitches that are looked at more closely."""


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
    padded = np.pad(cost, 1, constant_values=np.inf)
    low = np.flatnonzero((cost <= padded[:-2]) & (cost <= padded[2:]))
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


_FREQUENCIES = np.linspace(1 / MOST_PITCH, 1 / LEAST_PITCH, 8000)


def bend_pitches(x: Axis, y: Axis) -> list[float]:
    """Pitches at the peaks of both axes' summed spectra of bends."""
    power = np.zeros(len(_FREQUENCIES))
    for axis in (x, y):
        signal = axis.bends - axis.bends.mean()
        size = 1 << int(np.ceil(np.log2(axis.length * 16)))
        spectrum = np.abs(np.fft.rfft(signal * np.hanning(len(signal)), size))
        spectrum /= spectrum.mean() + 1e-12
        power += np.interp(_FREQUENCIES, np.fft.rfftfreq(size), spectrum)
    top = 1 / _FREQUENCIES[_peaks(power)]
    # The blocks of JPEG bend at every eighth pixel: they count once, and do not crowd out others.
    top = top[np.abs(8 / top - np.round(8 / top)) > 0.02][:8]
    return [8.0, *(float(p) for p in np.concatenate([top, top[:4] * 2, top[:3] * 3, top[:2] / 2]))]


def dip_pitches(x: Axis, y: Axis) -> list[float]:
    """Pitches p at whose multiples of 1 / p the picture's own spectrum dips.

    Any kernel that keeps a flat area flat has zeros there, wherever the grid starts.
    """
    score = np.zeros(len(_FREQUENCIES))
    for axis in (x, y):
        size = 1 << int(np.ceil(np.log2(axis.length * 4)))
        window = np.hanning(axis.length)
        # Spectrum of all lines at once: the transform of the summed diagonals of the Gram matrix.
        weighted = axis.gram * np.outer(window, window)
        lags = np.array([np.trace(weighted, d) for d in range(axis.length)])
        spectrum = 2 * np.fft.rfft(lags, size).real - lags[0]
        level = np.log(np.maximum(spectrum, spectrum.max() * 1e-7))
        at = np.fft.rfftfreq(size)
        around = np.convolve(np.pad(level, 24, mode="edge"), np.ones(49) / 49, mode="valid")
        for k in (1, 2):
            inside = np.minimum(_FREQUENCIES * k, 0.5)
            score += np.where(_FREQUENCIES * k <= 0.5, np.interp(inside, at, around - level), 0)
    top = 1 / _FREQUENCIES[_peaks(score)[:10]]
    return [float(p) for p in np.concatenate([top, top / 2, top[:5] / 3])]


def _peaks(values: NDArray[np.float64]) -> NDArray[np.int64]:
    """Places of local maxima, highest first."""
    padded = np.pad(values, 1, constant_values=-np.inf)
    high = np.flatnonzero((values > padded[:-2]) & (values >= padded[2:]))
    return high[np.argsort(-values[high])]
