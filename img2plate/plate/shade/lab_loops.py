"""CIELAB of one colour and the bead nearest to it, for compiled loops."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from img2plate.base.compiled import Real, compiled
from img2plate.colour.spaces import RGB2XYZ, WHITE_XYZ

_TO_XYZ = RGB2XYZ / WHITE_XYZ[:, None]
_GUESS = np.float32(709921077)
"""Two thirds of the bits of 1.0, less what makes the guess right on average."""
_BIN_DE = 10.0
_LOW = np.array([0.0, -90.0, -110.0])
"""CIELAB of the first bin's corner; with _COUNTS bins all of sRGB lies inside."""
_COUNTS = (10, 19, 21)


class Candidates(NamedTuple):
    """A palette, and for each bin of CIELAB the beads that are the nearest of some colour in it."""

    lab: NDArray[np.float64]
    """(m, 3)."""
    beads: NDArray[np.int64]
    """Palette indices, bin after bin, rising within one."""
    first: NDArray[np.int64]
    """(bins + 1,) where those of each bin begin."""


def candidates(lab: NDArray[np.float64]) -> Candidates:
    """Sort the beads of a palette, (m, 3) CIELAB, into bins.

    A colour is at most half a bin's diagonal from the middle, so a bead further from there than the
    nearest bead and a whole diagonal cannot be its nearest.
    """
    from scipy.spatial.distance import cdist

    each = [low + _BIN_DE * (np.arange(n) + 0.5) for low, n in zip(_LOW, _COUNTS, strict=True)]
    middles = np.stack(np.meshgrid(*each, indexing="ij"), axis=-1).reshape(-1, 3)
    away = cdist(middles, lab)
    bins, beads = np.nonzero(away <= away.min(axis=1, keepdims=True) + 3**0.5 * _BIN_DE + 1e-6)
    first = np.searchsorted(bins, np.arange(len(middles) + 1))
    return Candidates(np.ascontiguousarray(lab, dtype=np.float64), beads, first)


@compiled
def nearest_lab(light: float, red: float, yellow: float, near: Candidates) -> int:
    """Palette index of the bead nearest in CIELAB to a colour of sRGB; of equals, the first."""
    lab, i = near.lab, (_bin(light, 0) * _COUNTS[1] + _bin(red, 1)) * _COUNTS[2] + _bin(yellow, 2)
    best, place = np.inf, 0
    for k in near.beads[near.first[i] : near.first[i + 1]]:
        d0, d1, d2 = light - lab[k, 0], red - lab[k, 1], yellow - lab[k, 2]
        squared = d0 * d0 + d1 * d1 + d2 * d2
        if squared < best:
            best, place = squared, k
    return place


@compiled
def _bin(value: float, axis: int) -> int:
    """Bin of a value along L*, a* or b*."""
    return min(max(int((value - _LOW[axis]) / _BIN_DE), 0), _COUNTS[axis] - 1)


@compiled
def linear_to_lab(r: float, g: float, b: float) -> tuple[float, float, float]:
    """CIELAB of one linear-light colour."""
    fx = _f(_TO_XYZ[0, 0] * r + _TO_XYZ[0, 1] * g + _TO_XYZ[0, 2] * b)
    fy = _f(_TO_XYZ[1, 0] * r + _TO_XYZ[1, 1] * g + _TO_XYZ[1, 2] * b)
    fz = _f(_TO_XYZ[2, 0] * r + _TO_XYZ[2, 1] * g + _TO_XYZ[2, 2] * b)
    return 116 * fy - 16, 500 * (fx - fy), 200 * (fy - fz)


@compiled
def guess_root(ratio: Real) -> Real:
    """A cube root within 4% from the bits of a number, single precision: to start from."""
    bits = np.float32(ratio).view(np.int32)
    return np.int32(np.float32(bits) * np.float32(1 / 3) + _GUESS).view(np.float32)


@compiled
def _f(ratio: float) -> float:
    """The cube root of CIELAB by two steps of Halley's method, and its straight part (CIE 15)."""
    if ratio <= (6 / 29) ** 3:
        return (29 / 6) ** 2 / 3 * ratio + 4 / 29
    root = np.float64(guess_root(ratio))
    for _ in range(2):
        cube = root * root * root
        root *= (cube + 2 * ratio) / (2 * cube + ratio)
    return root
