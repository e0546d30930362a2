"""The loops behind `match`, compiled: all pairs of colours and beads that the bounds leave over.

CIEDE2000 is not a metric, so trees do not serve. The palette is walked outwards from the colour's
own lightness, and a pair is dropped by what the formula cannot fall below:

    dE00^2 >= (dL / S_L)^2 + (1 - |R_T| / 2) (da'^2 + db^2) / S_C^2

since S_H <= S_C (T is at most 1.93, and 0.015 * 1.93 < 0.045), |R_T| <= sin(60 deg) R_C, and S_L
is at most 1 + 0.015 * 50^2 / sqrt(20 + 50^2) = 1.747 over all pairs. Angles are handled as unit
vectors, without trigonometry but for the blue turn R_T. Formula and symbols: G. Sharma, W. Wu,
E. N. Dalal, Color Research and Application 30(1), 21-30, 2005.
"""

from __future__ import annotations

from math import atan2, cos, degrees, exp, hypot, radians, sin, sqrt

import numpy as np
from numpy.typing import NDArray

from img2plate.base.compiled import compiled, compiled_parallel, prange

_MOST_S_L = 1 + 0.015 * 50**2 / sqrt(20 + 50**2)
_POW_25_7 = 25.0**7
_SIN_60 = sqrt(3) / 2
_SAFE = 1 + 1e-9
"""Bounds are loosened by this, so that rounding never drops the nearest."""


@compiled_parallel
def nearest_ciede2000(
    colours: NDArray[np.float64], beads: NDArray[np.float64], order: NDArray[np.int64]
) -> NDArray[np.int16]:
    """Nearest by CIEDE2000; `beads` (m, 3) sorted by lightness, `order` their palette indices."""
    found = np.empty(len(colours), dtype=np.int16)
    chroma = np.hypot(beads[:, 1], beads[:, 2])
    lightness = beads[:, 0].copy()
    for i in prange(len(colours)):
        found[i] = _walk(colours[i], beads, chroma, lightness, order)
    return found


@compiled
def _walk(
    colour: NDArray[np.float64],
    beads: NDArray[np.float64],
    chroma: NDArray[np.float64],
    lightness: NDArray[np.float64],
    order: NDArray[np.int64],
) -> int:
    """Walk the beads outwards from the colour's lightness, until no other can be nearer."""
    own_chroma = hypot(colour[1], colour[2])
    start = _nearest_euclidean(colour, beads)
    best = squared_ciede2000(colour, own_chroma, beads[start], chroma[start], np.inf)
    place = order[start]
    up = np.searchsorted(lightness, colour[0])
    down = up - 1
    while True:
        reach = (_MOST_S_L * _MOST_S_L) * best * _SAFE
        above = lightness[up] - colour[0] if up < len(beads) else np.inf
        below = colour[0] - lightness[down] if down >= 0 else np.inf
        if min(above, below) ** 2 > reach:
            return int(place)
        if above <= below:
            k, up = up, up + 1
        else:
            k, down = down, down - 1
        squared = squared_ciede2000(colour, own_chroma, beads[k], chroma[k], best)
        if squared < best or (squared == best and order[k] < place):
            best, place = squared, order[k]


@compiled
def _nearest_euclidean(colour: NDArray[np.float64], beads: NDArray[np.float64]) -> int:
    """Nearest in CIELAB: a good first guess."""
    best, place = np.inf, 0
    for k in range(len(beads)):
        d0, d1, d2 = colour[0] - beads[k, 0], colour[1] - beads[k, 1], colour[2] - beads[k, 2]
        squared = d0 * d0 + d1 * d1 + d2 * d2
        if squared < best:
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
