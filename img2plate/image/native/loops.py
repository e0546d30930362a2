"""The compiled loops of the pixel-grid search: how well a grid explains one axis of a picture.

One axis is a matrix X of positions by samples (lines and channels), known through its Gram matrix
G = X X'. If the pictures's cells Z were enlarged by a sampling matrix A, the least-squares residual
is tr(G) - tr((A'A)^-1 A'GA), whatever Z is: no pass over the pixels for each grid that is tried.
"""

from __future__ import annotations

from math import erf, floor, pi, sin, sqrt
from typing import Any

import numpy as np
from numpy.typing import NDArray

from img2plate.base.compiled import compiled

NEAREST, AREA, SHRUNK, SHRUNK_SHARP, BILINEAR, BICUBIC, LANCZOS, BICUBIC_SHARP, LANCZOS_WIDE = (
    range(9)
)
"""Hard cells come first: as they are, averaged over pixels, or enlarged and then shrunk with a tent
or a Lanczos kernel one pixel wide. Then the kernels that interpolate between cells."""
BLURRED = range(9, 14)
"""Hard cells that were blurred afterwards, by so many pixels:"""
SIGMAS = np.array([0.6, 0.85, 1.2, 1.7, 2.4])
SUPPORT = np.array([1, 2, 4, 6, 2, 4, 6, 4, 8, 6, 6, 6, 6, 6])
"""Cells that one pixel is mixed from, by kernel."""
HARDEST = SHRUNK_SHARP
HARD_KINDS = range(HARDEST + 1)
_FIRST_BLURRED = BLURRED[0]
SOFT_KINDS = (BICUBIC, BILINEAR, LANCZOS, BICUBIC_SHARP, LANCZOS_WIDE)
NOISE = 4.0
"""Mean squared error, in 8-bit steps, below which a better fit does not count."""


_AT = (np.arange(240) + 0.5) / 40 - 3
_LANCZOS_SUMS = np.concatenate([[0.0], np.cumsum(np.sinc(_AT) * np.sinc(_AT / 3))])
_LANCZOS_SUMS /= _LANCZOS_SUMS[-1]
"""Running sum of the three-lobed Lanczos kernel, in steps of 1/40 pixel."""


@compiled
def tap(kind: int, x: float) -> float:
    """Weight of a cell whose middle is x cells away, for the interpolating kernels."""
    x = abs(x)
    if kind == BILINEAR:
        return max(0.0, 1 - x)
    if kind in (BICUBIC, BICUBIC_SHARP):  # Keys 1981, with a = -0.5; a = -0.75 is common too
        a = -0.5 if kind == BICUBIC else -0.75
        if x < 1:
            return ((a + 2) * x - (a + 3)) * x * x + 1
        return ((a * x - 5 * a) * x + 8 * a) * x - 4 * a if x < 2 else 0.0
    lobes = 3.0 if kind == LANCZOS else 4.0
    if x < 1e-9:
        return 1.0
    return lobes * sin(pi * x) * sin(pi * x / lobes) / (pi * x) ** 2 if x < lobes else 0.0


@compiled
def _blurred_below(kind: int, x: float) -> float:
    """Share of a Gaussian blur that lies below x pixels from its middle."""
    return 0.5 + 0.5 * erf(x / (SIGMAS[kind - _FIRST_BLURRED] * sqrt(2.0)))


@compiled
def _below(kind: int, x: float) -> float:
    """Share of a shrinking kernel, one pixel wide, that lies below x pixels from its middle."""
    if kind == SHRUNK:
        x = min(1.0, max(-1.0, x))
        return 0.5 + x - 0.5 * x * abs(x)
    x = min(3.0, max(-3.0, x))
    at = (x + 3) * 40
    low = min(239, int(at))
    step = _LANCZOS_SUMS[low + 1] - _LANCZOS_SUMS[low]
    return float(_LANCZOS_SUMS[low] + (at - low) * step)


@compiled
def sampling(
    length: int, pitch: float, offset: float, kind: int, count: int, closed: bool
) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
    """First cell (length,) and weights (length, support) of each pixel; rows sum to one.

    Cell i reaches from offset + i pitch to offset + (i + 1) pitch. `closed`: only cells 0 to
    count - 1 exist, and weights beyond are dropped, as at the border of a whole frame.
    """
    support = SUPPORT[kind]
    first = np.zeros(length, dtype=np.int64)
    weights = np.zeros((length, support))
    for j in range(length):
        if kind == NEAREST:
            first[j] = floor((j + 0.5 - offset) / pitch)
            weights[j, 0] = 1.0
        elif kind == AREA:
            first[j] = floor((j - offset) / pitch + 1e-9)
            edge = offset + (first[j] + 1) * pitch
            weights[j, 0] = min(1.0, max(0.0, edge - j))
            weights[j, 1] = 1 - weights[j, 0]
        elif kind <= SHRUNK_SHARP:
            reach = 1 if kind == SHRUNK else 3
            first[j] = floor((j + 0.5 - reach - offset) / pitch)
            for t in range(support):
                edge = offset + (first[j] + t) * pitch - (j + 0.5)
                weights[j, t] = _below(kind, edge + pitch) - _below(kind, edge)
        elif kind >= _FIRST_BLURRED:
            first[j] = floor((j + 0.5 - 3 * SIGMAS[kind - _FIRST_BLURRED] - offset) / pitch)
            for t in range(support):
                edge = offset + (first[j] + t) * pitch - (j + 0.5)
                weights[j, t] = _blurred_below(kind, edge + pitch) - _blurred_below(kind, edge)
        else:
            u = (j + 0.5 - offset) / pitch - 0.5
            first[j] = floor(u) - support // 2 + 1
            for t in range(support):
                weights[j, t] = tap(kind, u - (first[j] + t))
        for t in range(support):
            i = first[j] + t
            if closed and (i < 0 or i >= count):
                if kind >= BICUBIC_SHARP:  # these come with a border that repeats its last cell
                    weights[j, min(max(i, 0), count - 1) - first[j]] += weights[j, t]
                weights[j, t] = 0.0
        total = 0.0
        for t in range(support):
            total += weights[j, t]
        if total > 1e-9:
            weights[j] /= total
    return first, weights


@compiled
def _place(
    first: NDArray[np.int64], weights: NDArray[np.float64], closed: bool, count: int
) -> tuple[int, int]:
    """Lowest cell and number of cells that the weights touch (closed: 0 and count)."""
    if closed:
        return 0, count
    low, high = 1 << 30, -(1 << 30)
    for j in range(len(first)):
        for t in range(weights.shape[1]):
            if weights[j, t] != 0.0:
                low, high = min(low, first[j] + t), max(high, first[j] + t)
    return low, high - low + 1


@compiled
def _add(target: NDArray[Any], row: NDArray[Any], weight: Any) -> None:
    """target += weight * row, without the array in between that numpy would make."""
    for k in range(len(row)):
        target[k] += weight * row[k]


@compiled
def residual(
    gram: NDArray[np.float32], pitch: float, offset: float, kind: int, count: int, closed: bool
) -> float:
    """Least-squares residual of one grid and kernel on one axis."""
    length = len(gram)
    first, weights = sampling(length, pitch, offset, kind, count, closed)
    low, cells = _place(first, weights, closed, count)
    support = weights.shape[1]
    mixed = np.zeros((cells, length), dtype=np.float32)  # A'G
    band = np.zeros((cells, support))  # A'A, lower band
    for j in range(length):
        for t in range(support):
            w = weights[j, t]
            if w == 0.0:
                continue
            i = first[j] + t - low
            _add(mixed[i], gram[j], np.float32(w))
            for s in range(t + 1):
                if weights[j, s] != 0.0:
                    band[i, t - s] += w * weights[j, s]
    both = np.zeros((cells, cells))  # A'GA, row by row of its transpose
    turned = mixed.T.copy()
    for j in range(length):
        for t in range(support):
            if weights[j, t] != 0.0:
                _add(both[first[j] + t - low], turned[j], weights[j, t])
    trace = 0.0
    for j in range(length):
        trace += gram[j, j]
    return max(0.0, trace - _trace_of_quotient(band, both))


@compiled
def _trace_of_quotient(band: NDArray[np.float64], both: NDArray[np.float64]) -> float:
    """tr(S^-1 B) for a banded positive S, by its Cholesky factor; cells nobody sees count 0."""
    cells = len(band)
    for i in range(cells):
        band[i, 0] += 1e-4
    factor_band(band)
    half = _solve_rows(band, both)  # L^-1 B
    half = _solve_rows(band, half.T.copy())  # (L^-1 B L^-T)', of the same trace
    trace = 0.0
    for i in range(cells):
        trace += half[i, i]
    return trace


@compiled
def factor_band(band: NDArray[np.float64]) -> None:
    """Cholesky factor L of a banded positive S in place: band[i, d] holds S[i, i - d], then L's."""
    cells, support = band.shape
    for i in range(cells):
        for d in range(min(i, support - 1), -1, -1):
            k = i - d
            total = band[i, d]
            for e in range(1, support - d):
                if k - e >= 0 and d + e < support:
                    total -= band[i, d + e] * band[k, e]
            band[i, d] = np.sqrt(max(total, 1e-12)) if d == 0 else total / band[k, 0]


@compiled
def _solve_rows(factor: NDArray[Any], rows: NDArray[Any]) -> NDArray[Any]:
    """L^-1 of rows, in place; factor[i, d] holds L[i, i - d]."""
    cells, support = factor.shape
    for i in range(cells):
        for d in range(1, min(i, support - 1) + 1):
            _add(rows[i], rows[i - d], -factor[i, d])
        rows[i] *= 1 / factor[i, 0]
    return rows


@compiled
def solve_band(factor: NDArray[np.float32], rows: NDArray[np.float32]) -> None:
    """S^-1 of rows (cells, m), in place, by the factor of `factor_band`."""
    _solve_rows(factor, rows)
    cells, support = factor.shape
    for i in range(cells - 1, -1, -1):
        rows[i] *= 1 / factor[i, 0]
        for d in range(1, min(i, support - 1) + 1):
            _add(rows[i - d], rows[i], -factor[i, d])


@compiled
def residuals(
    gram: NDArray[np.float32],
    pitches: NDArray[np.float64],
    offsets: NDArray[np.float64],
    kind: int,
    counts: NDArray[np.int64],
    closed: NDArray[np.bool_],
) -> NDArray[np.float64]:
    """`residual` of many grids: too short a work to share it out among threads."""
    out = np.empty(len(pitches))
    for i in range(len(pitches)):
        out[i] = residual(gram, pitches[i], offsets[i], kind, counts[i], closed[i])
    return out
