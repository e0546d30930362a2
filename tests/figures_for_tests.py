"""Figures for the tests: parts from few words."""

from __future__ import annotations

from typing import Any

import numpy as np
from support import make_palette

from img2plate.base.errors import FigureError
from img2plate.solid.box.build import Figure, build
from img2plate.solid.check.lattice import Solid
from img2plate.solid.spec import FigureSpec, JoinSpec, PartSpec

PALETTE = make_palette(6)


def part(*size: int, name: str = "box", **more: Any) -> PartSpec:
    """A part of one colour, unless its cells say otherwise."""
    return PartSpec(name, (size[0], size[1], size[2]), **({"colour": 1} | more))


def figure(*parts: PartSpec, joins: tuple[JoinSpec, ...] = ()) -> Figure:
    """Build and check."""
    return build(FigureSpec("trial", PALETTE, parts, joins))


def figure_or_refusal(*parts: PartSpec, joins: tuple[JoinSpec, ...] = ()) -> Figure | str:
    """The figure, or what is said when it cannot be built."""
    try:
        return figure(*parts, joins=joins)
    except FigureError as error:
        return str(error)


def solids(made: Figure) -> list[Solid]:
    """What the checker sees."""
    return [Solid(p.title, p.group, p.voxels.copy(), p.axis) for p in made.pieces]


def shell(*size: int) -> np.ndarray:
    """(n, 3) places of a box's outer layer, by numpy alone."""
    mask = np.ones(size, dtype=bool)
    mask[1:-1, 1:-1, 1:-1] = False
    return np.argwhere(mask)
