"""The loops behind `match`, compiled: all pairs of colours and beads that a bound leaves over.

CIEDE2000 is not a metric, so trees do not serve. Each pair has a lower bound that costs a few
multiplications, and only pairs whose bound is below the best so far get the whole formula:

    dE00^2 >= (dL / S_L)^2 + (1 - |R_T| / 2) (da'^2 + db^2) / S_C^2

since S_H <= S_C (T is at most 1.93, and 0.015 * 1.93 < 0.045) and |R_T| <= sin(60 deg) R_C. S_L
depends on the sum of the two lightnesses alone, and what else there is can be bounded by the sum of
the two chromas: a' = (1 + G) a, where G falls with that sum, as do the factors of da and db. So all
factors stand in tables by these sums, each entry the least over its range. Angles are handled as
unit vectors, without trigonometry but for the blue turn R_T. Formula and symbols: G. Sharma, W. Wu,
E. N. Dalal, Color Research and Application 30(1), 21-30, 2005.
"""

from __future__ import annotations

from math import atan2, cos, degrees, exp, hypot, radians, sin, sqrt

import numpy as np
from numpy.typing import NDArray

from img2plate.base.compiled import compiled, compiled_parallel, prange

_POW_25_7 = 25.0**7
_SIN_60 = sqrt(3) / 2
_SAFE = 1 + 1e-9
"""Bounds are loosened by this, so that rounding never drops the nearest."""


_SUMS = 400
"""Sums of two lightnesses or chromas that the tables know; sRGB colours stay below 270."""


def _lightness_factors() -> NDArray[np.float64]:
    """Least 1 / S_L^2 while L1 + L2 lies from i to i + 1."""
    off = ((np.arange(_SUMS + 1.0) / 2 - 50) ** 2)[:, None]
    ends = np.hstack([off[:-1], off[1:]]).max(axis=1)
    return np.asarray(1 / (1 + 0.015 * ends / np.sqrt(20 + ends)) ** 2)


def _chroma_factors() -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Least factors of da^2 and db^2 while C1 + C2 (as CIELAB has them) lies from i to i + 1."""
    mean = np.arange(_SUMS + 1.0) / 2
    stretch = 1.5 - 0.5 * np.sqrt(mean**7 / (mean**7 + _POW_25_7))
    most = stretch[:-1] * mean[1:]  # C' is at most (1 + G) C
    r_c = 2 * np.sqrt(most**7 / (most**7 + _POW_25_7))
    of_b = (1 - _SIN_60 * r_c / 2) / (1 + 0.045 * most) ** 2
    return np.asarray(of_b * stretch[1:] ** 2), np.asarray(of_b)


_OF_L = _lightness_factors()
_OF_A, _OF_B = _chroma_factors()


@compiled_parallel
def nearest_ciede2000(
    colours: NDArray[np.float64], beads: NDArray[np.float64]
) -> NDArray[np.int16]:
    """Nearest of the beads (m, 3) for CIELAB colours (n, 3) by CIEDE2000; of equals, the first."""
    found = np.empty(len(colours), dtype=np.int16)
    chroma = np.hypot(beads[:, 1], beads[:, 2])
    for i in prange(len(colours)):
        found[i] = _nearest_one(colours[i], beads, chroma)
    return found


@compiled
def _nearest_one(
    colour: NDArray[np.float64], beads: NDArray[np.float64], chroma: NDArray[np.float64]
) -> int:
    """Bound all beads, begin with the lowest bound, and work out those that may be nearer."""
    own_chroma = hypot(colour[1], colour[2])
    bounds = np.empty(len(beads))
    place, least = 0, np.inf
    for k in range(len(beads)):
        d0, d1, d2 = colour[0] - beads[k, 0], colour[1] - beads[k, 1], colour[2] - beads[k, 2]
        light, colourful = int(colour[0] + beads[k, 0]), int(own_chroma + chroma[k])
        bounds[k] = d0 * d0 * _OF_L[light] + d1 * d1 * _OF_A[colourful] + d2 * d2 * _OF_B[colourful]
        if bounds[k] < least:
            place, least = k, bounds[k]
    best = squared_ciede2000(colour, own_chroma, beads[place], chroma[place], np.inf)
    for k in range(len(beads)):
        if bounds[k] <= best * _SAFE and k != place:
            squared = squared_ciede2000(colour, own_chroma, beads[k], chroma[k], best)
            if squared < best or (squared == best and k < place):
                best, place = squared, k
    return place


@compiled
def squared_ciede2000(
    one: NDArray[np.float64], c_one: float, two: NDArray[np.float64], c_two: float, limit: float
) -> float:
    """CIEDE2000 squared of two CIELAB colours with chroma c; infinite when above `limit`."""
    from_50 = (one[0] + two[0]) / 2 - 50
    in_l = (two[0] - one[0]) / (1 + 0.015 * from_50 * from_50 / sqrt(20 + from_50 * from_50))
    seventh = _seventh((c_one + c_two) / 2)
    stretch = 1.5 - 0.5 * sqrt(seventh / (seventh + _POW_25_7))
    a1, b1, a2, b2 = one[1] * stretch, one[2], two[1] * stretch, two[2]
    c1, c2 = sqrt(a1 * a1 + b1 * b1), sqrt(a2 * a2 + b2 * b2)
    mean_c = (c1 + c2) / 2
    s_c = 1 + 0.045 * mean_c
    seventh = _seventh(mean_c)
    r_c = 2 * sqrt(seventh / (seventh + _POW_25_7))
    apart = (a2 - a1) ** 2 + (b2 - b1) ** 2
    if in_l * in_l + (1 - _SIN_60 * r_c / 2) * apart / (s_c * s_c) > limit * _SAFE:
        return np.inf
    in_c = (c2 - c1) / s_c
    if c1 * c2 == 0:
        return float(in_l * in_l + in_c * in_c)
    u, v = _middle(a1 / c1, b1 / c1, a2 / c2, b2 / c2)
    squared_h = max(0.0, 2 * (c1 * c2 - a1 * a2 - b1 * b2))
    in_h = sqrt(squared_h) / (1 + 0.015 * mean_c * _t_factor(u, v))
    if a1 * b2 - a2 * b1 < 0:
        in_h = -in_h
    turned = -sin(2 * _turn(u, v)) * r_c * in_c * in_h
    return float(max(0.0, in_l * in_l + in_c * in_c + in_h * in_h + turned))


@compiled
def _seventh(x: float) -> float:
    """x to the 7th."""
    cube = x * x * x
    return cube * cube * x


@compiled
def _middle(u1: float, v1: float, u2: float, v2: float) -> tuple[float, float]:
    """Unit vector of the mean hue: midway on the shorter arc, as eq. 14 of the paper says."""
    u, v = u1 + u2, v1 + v2
    size = sqrt(u * u + v * v)
    if size < 1e-9:  # opposite hues: the paper takes (h1 + h2) / 2, h from 0 to 360 degrees
        h = (atan2(v1, u1) % (2 * np.pi) + atan2(v2, u2) % (2 * np.pi)) / 2
        return cos(h), sin(h)
    return u / size, v / size


@compiled
def _t_factor(u: float, v: float) -> float:
    """T of eq. 15 from the mean hue's cosine u and sine v, by multiple-angle formulas."""
    u2, v2 = u * u - v * v, 2 * u * v
    u3, v3 = u2 * u - v2 * v, v2 * u + u2 * v
    u4, v4 = u2 * u2 - v2 * v2, 2 * u2 * v2
    return (
        1
        - 0.17 * (u * 0.8660254037844387 + v * 0.5)
        + 0.24 * u2
        + 0.32 * (u3 * 0.9945218953682733 - v3 * 0.10452846326765347)
        - 0.20 * (u4 * 0.45399049973954675 + v4 * 0.8910065241883679)
    )


@compiled
def _turn(u: float, v: float) -> float:
    """Delta theta of the paper in radians: large for blues near a hue of 275 degrees."""
    off = (degrees(atan2(v, u)) % 360 - 275) / 25
    return radians(30 * exp(-off * off))


@compiled_parallel
def nearest_plain(
    colours: NDArray[np.float64], beads: NDArray[np.float64], city_block: bool
) -> NDArray[np.int16]:
    """Nearest by Euclidean distance, or by HyAB with `city_block`; of equals, the first."""
    found = np.empty(len(colours), dtype=np.int16)
    for i in prange(len(colours)):
        best, place = np.inf, 0
        for k in range(len(beads)):
            d0, d1 = abs(colours[i, 0] - beads[k, 0]), colours[i, 1] - beads[k, 1]
            d2 = colours[i, 2] - beads[k, 2]
            flat = d1 * d1 + d2 * d2
            d = d0 + sqrt(flat) if city_block else d0 * d0 + flat
            if d < best:
                best, place = d, k
        found[i] = place
    return found


@compiled_parallel
def nearest_hue(
    colours: NDArray[np.float64], beads: NDArray[np.float64], weight: float
) -> NDArray[np.int16]:
    """Nearest by `delta_E_HyAB_hue` with its hue weight; of equals, the first."""
    square = weight * weight
    chromas = np.hypot(beads[:, 1], beads[:, 2])
    found = np.empty(len(colours), dtype=np.int16)
    for i in prange(len(colours)):
        best, place = np.inf, 0
        chroma = hypot(colours[i, 1], colours[i, 2])
        for k in range(len(beads)):
            d1, d2 = colours[i, 1] - beads[k, 1], colours[i, 2] - beads[k, 2]
            dc = chroma - chromas[k]
            bent = square * (d1 * d1 + d2 * d2) - (square - 1) * dc * dc
            d = abs(colours[i, 0] - beads[k, 0]) + sqrt(max(bent, 0.0))
            if d < best:
                best, place = d, k
        found[i] = place
    return found
