"""The formulas of difference by which beads are chosen, by name: a space, and a distance in it.

`hyab-hue` is our own: HyAB (S. Abasi, M. Amani Tehran, M. D. Fairchild, Color Research and
Application 45(2), 208-223, 2020) of lightness and chroma as CIELAB has them and hue as OKLab has it
(B. Ottosson, 2020). CIELAB's lines of one hue bend between blue and violet (P.-C. Hung, R. S.
Berns, Color Research and Application 20, 285-295, 1995), so that the nearest bead of a clear blue
is often violet. OKLab's are straight, but its chromas make olive of a muted green and orange of a
light red. Both were seen on plates; `bench/bench_hues.py` has the figures.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from img2plate.base.arrays import Floats
from img2plate.base.errors import OptionError
from img2plate.colour.difference import delta_E_CIE1976, delta_E_CIE2000, delta_E_HyAB
from img2plate.colour.spaces import linear2lab, linear2oklab

HUE_WEIGHT = 1.25
"""How much more a turn in hue counts than as much chroma. By eye: less leaves violets for blues in
small palettes, from 1.26 on orange becomes the tan of oak."""


@dataclass(frozen=True)
class Formula:
    """How far two colours are apart."""

    to_space: Callable[[Floats], Floats]
    """Linear light (..., 3) to the space that `pairs` is taken in."""
    pairs: Callable[[Floats, Floats], Floats]
    """Distances in it, of arrays that broadcast."""
    grey_slack: float
    """By which a neutral bead may be further from a grey than the nearest bead."""


def linear2lab_ok_hue(linear: Floats) -> Floats:
    """L*, and a, b of CIELAB's chroma at OKLab's hue, of linear light (..., 3)."""
    lab, ok = linear2lab(linear), linear2oklab(linear)
    chroma, ok_chroma = (np.hypot(each[..., 1], each[..., 2]) for each in (lab, ok))
    # A grey has no hue, and hardly a chroma to turn.
    turned = ok[..., 1:] * (chroma / np.maximum(ok_chroma, 1e-12))[..., None]
    return np.concatenate([lab[..., :1], turned], axis=-1)


def delta_E_HyAB_hue(one: Floats, other: Floats) -> Floats:
    """City-block in lightness, Euclidean in chroma and HUE_WEIGHT times the distance in hue."""
    d = np.asarray(one) - other
    in_chroma = np.hypot(one[..., 1], one[..., 2]) - np.hypot(other[..., 1], other[..., 2])
    flat, square = d[..., 1] ** 2 + d[..., 2] ** 2, HUE_WEIGHT**2
    return np.asarray(
        np.abs(d[..., 0]) + np.sqrt(np.maximum(square * flat - (square - 1) * in_chroma**2, 0))
    )


FORMULAS = {
    "hyab-hue": Formula(linear2lab_ok_hue, delta_E_HyAB_hue, 12.0),
    "hyab": Formula(linear2lab, delta_E_HyAB, 12.0),
    "ciede2000": Formula(linear2lab, delta_E_CIE2000, 8.0),
    "cielab": Formula(linear2lab, delta_E_CIE1976, 12.0),
    "oklab": Formula(linear2oklab, delta_E_CIE1976, 0.08),
}


def find_formula(name: str) -> Formula:
    """A formula by its name. Raises OptionError for an unknown one."""
    if name not in FORMULAS:
        names = ", ".join(FORMULAS)
        raise OptionError(f"is none of {names}", field="difference", value=name)
    return FORMULAS[name]
