"""Roofs for the tests: parts with a roof from few words."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
from figures_for_tests import PALETTE

from img2plate.base.errors import FigureError
from img2plate.solid.box.build import Figure, build
from img2plate.solid.faces import NORMAL
from img2plate.solid.fit.model import FitModel
from img2plate.solid.slope.angles import Slope
from img2plate.solid.slope.roof import lie_of, slope_of
from img2plate.solid.spec import FigureSpec, PartSpec, RoofSpec


def roof_of(
    part: PartSpec, length: float = 0, low: str = "left", *, pitched: bool = True, t: float = 4.0,
    **more: Any,
) -> RoofSpec:  # fmt: skip
    """A roof of one colour over a part; without a length the one near 40 degrees."""
    model = FitModel()
    slope = slope_of(length, part.size[NORMAL[low]], t, model, pitched=pitched)
    if not isinstance(slope, Slope):
        raise FigureError(slope)
    spec = RoofSpec(
        "roof", part.name, slope.length, np.zeros((1, 1), np.int16), low, pitched, **more
    )
    lie = lie_of(spec, part, t, model)
    return replace(spec, cells=np.full((lie.rows, lie.columns), 2, np.int16))


def roofed(part: PartSpec, *roof: Any, t: float = 4.0, **more: Any) -> Figure:
    """A part with a roof, built and checked."""
    spec = roof_of(part, *roof, t=t, **more)
    return build(FigureSpec("trial", PALETTE, (part,), roofs=(spec,), thickness_mm=t))
