"""The loop behind `ordered`, compiled: all beads are tried as the partner of the nearest one."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from img2plate.base.compiled import compiled, compiled_parallel, prange
from img2plate.plate.shade.lab_loops import Candidates, linear_to_lab, nearest_lab


@compiled_parallel
def mix(
    wanted: NDArray[np.float64],
    wanted_lab: NDArray[np.float64],
    thresholds: NDArray[np.float32],
    bead_rgb: NDArray[np.float64],
    bead_lab: NDArray[np.float64],
    near: Candidates,
    strength: float,
    price: float,
) -> NDArray[np.int16]:
    """Bead of each cell (n); colours in linear light and CIELAB."""
    cells = np.empty(len(wanted), np.int16)
    for i in prange(len(wanted)):
        lab = wanted_lab[i]
        one = nearest_lab(lab[0], lab[1], lab[2], near)
        two, share = _partner(wanted[i], lab, one, bead_rgb, bead_lab, price)
        share *= strength
        # The brighter bead goes where the threshold is low, whichever of the two is the nearer.
        if bead_lab[two, 0] > bead_lab[one, 0]:
            cells[i] = two if thresholds[i] < share else one
        else:
            cells[i] = one if thresholds[i] < 1 - share else two
    return cells


@compiled
def _partner(
    wanted: NDArray[np.float64],
    lab: NDArray[np.float64],
    one: int,
    bead_rgb: NDArray[np.float64],
    bead_lab: NDArray[np.float64],
    price: float,
) -> tuple[int, float]:
    """The bead that goes best with `one`, and its share."""
    best, best_share = one, 0.0
    least = _squared(lab, bead_lab[one, 0], bead_lab[one, 1], bead_lab[one, 2])
    for k in range(len(bead_rgb)):
        length = along = 0.0
        for c in range(3):
            step = bead_rgb[k, c] - bead_rgb[one, c]
            length += step * step
            along += step * (wanted[c] - bead_rgb[one, c])
        if along <= 0 or length == 0:
            continue
        share = min(along / length, 1.0)
        light, red, yellow = linear_to_lab(
            bead_rgb[one, 0] + share * (bead_rgb[k, 0] - bead_rgb[one, 0]),
            bead_rgb[one, 1] + share * (bead_rgb[k, 1] - bead_rgb[one, 1]),
            bead_rgb[one, 2] + share * (bead_rgb[k, 2] - bead_rgb[one, 2]),
        )
        apart = _squared(bead_lab[k], bead_lab[one, 0], bead_lab[one, 1], bead_lab[one, 2])
        cost = _squared(lab, light, red, yellow) + price * share * (1 - share) * apart
        if cost < least:
            least, best, best_share = cost, k, share
    return best, best_share


@compiled
def _squared(lab: NDArray[np.float64], light: float, red: float, yellow: float) -> float:
    """Squared CIELAB difference."""
    d0, d1, d2 = lab[0] - light, lab[1] - red, lab[2] - yellow
    return float(d0 * d0 + d1 * d1 + d2 * d2)
