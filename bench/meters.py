"""Meters that judge a plate beside its picture; none of them is what the search aims at.

S-CIELAB is the look error. FLIP is its authors' own package (`flip-evaluator`, of the `bench`
extra): P. Andersson and others, "FLIP: a difference evaluator for alternating images", Proc. ACM
Comput. Graph. Interact. Tech. 3(2), 2020. Neither sees single dots: the excess contrast of
neighbours does.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from img2plate.base.specks import speck_share
from img2plate.colour.difference import delta_E_HyAB
from img2plate.colour.look_error import View, look_error, similarity
from img2plate.colour.palette import Palette
from img2plate.colour.spaces import linear2lab, linear2srgb
from img2plate.image.grid import Grid

DISTANCES = (0.5, 1.0, 2.0, 4.0)
PER_CELL = 6
"""Samples along a cell's side, and FLIP's pixels from near."""


@dataclass(frozen=True)
class Figures:
    """One plate's figures."""

    s_cielab: tuple[float, ...]
    """Mean dE76 from each of DISTANCES."""
    flip: tuple[float, ...]
    """Mean FLIP, 0..1."""
    excess: float
    """Mean HyAB between 4-neighbours above that of the picture's own cells."""
    specks: float
    ssim: float
    """On L*, from 2 m."""


def flip(picture: np.ndarray, plate: np.ndarray, view: View) -> float:
    """Mean FLIP of a picture (h m, w m, 3) and a plate (h, w, 3), both linear light.

    From 2 m half the pixels do: there are still over 20 a degree.
    """
    import flip_evaluator

    each = picture.shape[0] // plate.shape[0]
    if view.distance_m >= 2 and each % 2 == 0:
        picture = picture.reshape(picture.shape[0] // 2, 2, -1, 2, 3).mean(axis=(1, 3))
        each //= 2
    shown = plate.repeat(each, axis=0).repeat(each, axis=1)
    one, two = (np.ascontiguousarray(linear2srgb(p), np.float32) for p in (picture, shown))
    seen = {"ppd": each / view.cell_degrees}
    return float(flip_evaluator.evaluate(one, two, "LDR", applyMagma=False, parameters=seen)[1])


def excess_contrast(rgb: np.ndarray, cells: np.ndarray, colours: Palette) -> float:
    """See Figures.excess; rgb: (h, w, 3) linear light of the picture's cells."""
    wanted = linear2lab(np.asarray(rgb, np.float64))
    return _contrast(colours.lab[cells]) - _contrast(wanted)


def _contrast(lab: np.ndarray) -> float:
    along = delta_E_HyAB(lab[:, 1:], lab[:, :-1]), delta_E_HyAB(lab[1:], lab[:-1])
    return float(np.concatenate([each.ravel() for each in along]).mean())


def judge(fine: Grid, grid: Grid, cells: np.ndarray, colours: Palette) -> Figures:
    """All figures of a plate; `fine` is the picture at 6 samples a cell's side."""
    shown = colours.linear.astype(np.float32)[cells]
    views = [View(metres, 5.0) for metres in DISTANCES]
    return Figures(
        tuple(look_error(fine.rgb, shown, view) for view in views),
        tuple(flip(fine.rgb, shown, view) for view in views),
        excess_contrast(grid.rgb, cells, colours),
        speck_share(cells),
        similarity(fine.rgb, shown, View(2.0, 5.0)),
    )
