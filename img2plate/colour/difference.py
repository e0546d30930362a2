"""Colour differences between arrays of CIELAB colours (..., 3) that broadcast against each other.

Sources
    CIE 1976: CIE 15.
    CIEDE2000: G. Sharma, W. Wu, E. N. Dalal, Color Research and Application 30(1), 21-30, 2005.
    HyAB: S. Abasi, M. Amani Tehran, M. D. Fairchild, Color Research and Application 45(2),
        208-223, 2020.
"""

from __future__ import annotations

import numpy as np

from img2plate.base.arrays import Floats

_POW_25_7 = 25.0**7


def delta_E_CIE1976(lab1: Floats, lab2: Floats) -> Floats:
    """Euclidean distance in CIELAB."""
    return np.asarray(np.sqrt(np.sum((np.asarray(lab1) - lab2) ** 2, axis=-1)))


def delta_E_HyAB(lab1: Floats, lab2: Floats) -> Floats:
    """City-block in lightness, Euclidean in a*b*; made for differences of 10 and more."""
    d = np.asarray(lab1) - lab2
    return np.asarray(np.abs(d[..., 0]) + np.hypot(d[..., 1], d[..., 2]))


def delta_E_CIE2000(lab1: Floats, lab2: Floats) -> Floats:
    """CIEDE2000 with kL = kC = kH = 1, float64, symmetric in its two colours."""
    l1, a1, b1 = np.moveaxis(np.asarray(lab1, dtype=np.float64), -1, 0)
    l2, a2, b2 = np.moveaxis(np.asarray(lab2, dtype=np.float64), -1, 0)
    mean_c7 = ((np.hypot(a1, b1) + np.hypot(a2, b2)) / 2) ** 7
    stretch = 1.5 - 0.5 * np.sqrt(mean_c7 / (mean_c7 + _POW_25_7))
    c1, c2 = np.hypot(a1 * stretch, b1), np.hypot(a2 * stretch, b2)
    h1, h2 = _hue(a1 * stretch, b1), _hue(a2 * stretch, b2)
    grey = c1 * c2 == 0
    dh = np.where(grey, 0.0, (h2 - h1 + 180) % 360 - 180)
    # The modulo above sends +180 to -180; only its sign, hence nothing of the result, changes.
    mean_h = np.where(grey, h1 + h2, _mean_hue(h1, h2))
    mean_l, mean_c = (l1 + l2) / 2, (c1 + c2) / 2
    t = _t_factor(mean_h)
    s_l = 1 + 0.015 * (mean_l - 50) ** 2 / np.sqrt(20 + (mean_l - 50) ** 2)
    s_c, s_h = 1 + 0.045 * mean_c, 1 + 0.015 * mean_c * t
    turn = 2 * np.radians(30 * np.exp(-(((mean_h - 275) / 25) ** 2)))
    r_t = -np.sin(turn) * 2 * np.sqrt(mean_c**7 / (mean_c**7 + _POW_25_7))
    in_l, in_c = (l2 - l1) / s_l, (c2 - c1) / s_c
    in_h = 2 * np.sqrt(c1 * c2) * np.sin(np.radians(dh / 2)) / s_h
    return np.asarray(np.sqrt(np.maximum(in_l**2 + in_c**2 + in_h**2 + r_t * in_c * in_h, 0)))


def _hue(a: Floats, b: Floats) -> Floats:
    """Hue angle in degrees, 0..360; 0 for a grey."""
    return np.asarray(np.degrees(np.arctan2(b, a)) % 360)


def _mean_hue(h1: Floats, h2: Floats) -> Floats:
    """Mean of two hue angles as the paper defines it (eq. 14): never across the far side."""
    total = h1 + h2
    far = np.where(total < 360, total + 360, total - 360)
    return np.asarray(np.where(np.abs(h1 - h2) <= 180, total, far) / 2)


def _t_factor(mean_h: Floats) -> Floats:
    """Hue weighting T of the paper (eq. 15); angles in degrees."""
    return np.asarray(
        1
        - 0.17 * np.cos(np.radians(mean_h - 30))
        + 0.24 * np.cos(np.radians(2 * mean_h))
        + 0.32 * np.cos(np.radians(3 * mean_h + 6))
        - 0.20 * np.cos(np.radians(4 * mean_h - 63))
    )
