"""How colours look with a colour-vision deficiency, and contrast for every kind of sight.

Matrices at full severity: G. M. Machado, M. M. Oliveira, L. A. F. Fernandes, "A
Physiologically-based Model for Simulation of Color Vision Deficiency", IEEE Transactions on
Visualization and Computer Graphics 15(6), 1291-1298, 2009. Contrast and relative luminance: W3C,
WCAG 2.1. Grey from RGB as a black-and-white printer may make it: ISO 32000-1:2008, 10.3.3 (from
memory).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from img2plate.base.arrays import Floats
from img2plate.colour.spaces import linear2srgb, srgb2linear

MACHADO_2009 = {
    "protanopia": (
        (0.152286, 1.052583, -0.204868),
        (0.114503, 0.786281, 0.099216),
        (-0.003882, -0.048116, 1.051998),
    ),
    "deuteranopia": (
        (0.367322, 0.860646, -0.227968),
        (0.280085, 0.672501, 0.047413),
        (-0.011820, 0.042940, 0.968881),
    ),
    "tritanopia": (
        (1.255528, -0.076749, -0.178779),
        (-0.078411, 0.930809, 0.147602),
        (0.004733, 0.691367, 0.303900),
    ),
}
"""Linear-light sRGB as a column vector, to what is seen; then clipped to 0..1."""
LUMINANCE = (0.2126, 0.7152, 0.0722)
"""Relative luminance of WCAG 2.1, of linear-light sRGB."""


def simulate(linear: Floats, deficiency: str) -> NDArray[np.float64]:
    """(..., 3) linear-light sRGB 0..1 as seen with a deficiency, clipped to 0..1."""
    matrix = np.array(MACHADO_2009[deficiency])
    return np.asarray(np.clip(linear @ matrix.T, 0.0, 1.0))


def grey_print(linear: Floats) -> NDArray[np.float64]:
    """(..., 3) linear-light sRGB as printed in grey: 0.3 R + 0.59 G + 0.11 B of encoded values."""
    grey = linear2srgb(np.asarray(linear, float)) @ np.array([0.3, 0.59, 0.11])
    return np.asarray(np.repeat(srgb2linear(grey)[..., None], 3, axis=-1))


def least_contrasts(linear: Floats, text: float) -> NDArray[np.float64]:
    """(n,) the least WCAG contrast of text on (n, 3) linear colours, over all sights and in grey.

    `text` is the text's luminance, 0 for black and 1 for white: greys, which each sight keeps.
    """
    seen = [np.asarray(linear, float), grey_print(linear)]
    seen += [simulate(linear, name) for name in MACHADO_2009]
    light = np.stack(seen) @ np.array(LUMINANCE) + 0.05
    ratio = light / (text + 0.05)
    return np.asarray(np.maximum(ratio, 1 / ratio).min(axis=0))
