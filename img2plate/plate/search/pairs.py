"""What neighbours cost that differ more than the picture's own cells: dots that no meter sees."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from img2plate.base.compiled import Real, compiled
from img2plate.plate.search.field import Scene, State
from img2plate.plate.search.lab32 import F32

_DIAGONAL = np.float32(0.7)
_HALF = np.float32(0.5)


class Plan(NamedTuple):
    """How a sweep goes; prices in dE over one cell."""

    plain: Real
    squared: Real
    chroma: Real
    change: Real
    """As in looks.PairPrice."""
    speck: Real
    block: int
    """Cells along the side of a block."""
    number: int
    """Makes the order of visits."""


@compiled
def pair_cost(scene: Scene, state: State, plan: Plan, y: int, x: int, k: int) -> Real:
    """What bead k in a cell costs beside its 8 neighbours."""
    height, width = state.cells.shape
    total, own = F32(0), scene.smooth[y, x]
    for row in range(max(0, y - 1), min(height, y + 2)):
        for column in range(max(0, x - 1), min(width, x + 2)):
            other = state.cells[row, column]
            if other < 0 or other == k or (row == y and column == x):
                continue
            if row == y:
                total += plan.change
            e = excess(scene.bead_lab[k], scene.bead_lab[other], scene.lab[y, x],
                       scene.lab[row, column], plan.chroma)  # fmt: skip
            if e > 0:
                weight = F32(1) if row == y or column == x else _DIAGONAL
                weight *= _HALF * (own + scene.smooth[row, column])
                total += weight * (plan.plain * e + plan.squared * e * e)
    return total


@compiled
def excess(
    one: NDArray[np.float32], two: NDArray[np.float32],
    wanted: NDArray[np.float32], beside: NDArray[np.float32], chroma: Real,
) -> Real:  # fmt: skip
    """How much more two beads differ than the picture does there; see looks.PairPrice."""
    light, step = one[0] - two[0], wanted[0] - beside[0]
    red, yellow = one[1] - two[1], one[2] - two[2]
    e = np.abs(light) + chroma * np.sqrt(red * red + yellow * yellow)
    if light * step < 0:
        return e
    red, yellow = wanted[1] - beside[1], wanted[2] - beside[2]
    return e - np.abs(step) - chroma * np.sqrt(red * red + yellow * yellow)
