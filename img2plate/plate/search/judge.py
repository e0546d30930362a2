"""What another bead in a cell would cost: the true difference near by, an estimate further off."""

from __future__ import annotations

from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from img2plate.base.compiled import Real, compiled
from img2plate.plate.search.field import NEIGHBOURS, Scene, State, near_of
from img2plate.plate.search.lab32 import (
    F32,
    Samples,
    Span,
    Three,
    flip_sum,
    s_cielab_sum,
    to_xyz_by_value,
)
from img2plate.plate.search.spread import change_of

Six: TypeAlias = tuple[Real, Real, Real, Real, Real, Real]
_HALF = np.float32(1 / 2)


@compiled
def near_sum(
    scene: Scene, samples: Samples, y: int, x: int, old: int, new: int, most: Real
) -> Real:
    """Summed differences of the samples around a cell in all views if its bead were another.

    Once they are over `most` the views left are not looked at: each can only add to it.
    """
    share, total = near_of(scene, y, x), F32(0)
    for v in range(len(scene.is_flip)):
        start, stop = NEIGHBOURS * scene.first[v], NEIGHBOURS * scene.first[v + 1]
        span = Span(start, stop, to_xyz_by_value(scene.to_xyz[v]))
        change = change_of(scene, v, old, new)
        if scene.is_flip[v]:
            total += flip_sum(samples, span, share, change)
        else:
            total += s_cielab_sum(samples, span, share, change)
        if total > most:
            break
    return total


@compiled
def far_cost(
    scene: Scene, state: State, gradients: NDArray[np.float32], y: int, x: int, old: int, new: int
) -> Real:
    """Estimate of what another bead does to the cells in all rings.

    gradients: (rings, 3) of all cells in a ring by the cell's bead.
    """
    rings, total = len(scene.reach), F32(0)
    for ring in range(rings):
        change = change_of(scene, len(scene.is_flip) - rings + ring, old, new)
        gradient = gradients[ring, 0], gradients[ring, 1], gradients[ring, 2]
        total += _second_order(change, gradient, _six(state.ring_hessian[ring], y, x))
    return total


@compiled
def _six(planes: NDArray[np.float32], y: int, x: int) -> Six:
    """The six values of a cell."""
    return (
        planes[0, y, x], planes[1, y, x], planes[2, y, x],
        planes[3, y, x], planes[4, y, x], planes[5, y, x],
    )  # fmt: skip


@compiled
def _second_order(change: Three, gradient: Three, hessian: Six) -> Real:
    """What a change does where there is a gradient and a Hessian."""
    d1, d2, d3 = change
    return (
        gradient[0] * d1 + gradient[1] * d2 + gradient[2] * d3
        + _HALF * (hessian[0] * d1 * d1 + hessian[1] * d2 * d2 + hessian[2] * d3 * d3)
        + hessian[3] * d1 * d2 + hessian[4] * d1 * d3 + hessian[5] * d2 * d3
    )  # fmt: skip
