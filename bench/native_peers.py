"""General-purpose means beside the pixel-grid recovery, in a few lines each."""

from __future__ import annotations

import cv2
import numpy as np


def by_common_divisor(pixels: np.ndarray) -> tuple[int, int]:
    """Columns and rows by the greatest common divisor of the run lengths on each axis."""
    sizes = []
    for axis in (1, 0):
        moved = np.moveaxis(pixels, axis, 0).astype(np.int16)
        edges = np.flatnonzero(np.any(moved[1:] != moved[:-1], axis=(1, 2))) + 1
        runs = np.diff([0, *edges, len(moved)])
        sizes.append(len(moved) // int(np.gcd.reduce(runs)))
    return sizes[0], sizes[1]


def by_autocorrelation(pixels: np.ndarray) -> tuple[int, int]:
    """Columns and rows by the first high peak of the autocorrelation of each axis's edges (FFT)."""
    sizes = []
    for axis in (1, 0):
        moved = np.moveaxis(pixels, axis, 0).astype(np.float64)
        edges = np.abs(np.diff(moved, axis=0)).sum(axis=(1, 2))
        edges -= edges.mean()
        spectrum = np.fft.rfft(edges, 2 * len(edges))
        alike = np.fft.irfft(np.abs(spectrum) ** 2)[: len(edges) // 2]
        inner = np.arange(2, len(alike) - 1)
        peaks = inner[(alike[inner] > alike[inner - 1]) & (alike[inner] >= alike[inner + 1])]
        high = peaks[alike[peaks] > 0.7 * alike[peaks].max(initial=0.0)]
        sizes.append(round(len(moved) / high[0]) if len(high) else len(moved))
    return sizes[0], sizes[1]


def resized_to(pixels: np.ndarray, size: tuple[int, int]) -> np.ndarray:
    """The picture made smaller to the true (columns, rows) by area: a bound, as it is told them."""
    return np.asarray(cv2.resize(pixels, size, interpolation=cv2.INTER_AREA))
