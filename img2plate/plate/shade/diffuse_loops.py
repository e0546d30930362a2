"""The loop behind `diffuse`, compiled: each cell waits for the error of those before it."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from img2plate.base.compiled import compiled
from img2plate.plate.shade.lab_loops import Candidates, linear_to_lab, nearest_lab

_MOST_DEBT = 0.5
"""Linear light that may be owed beyond 0..1: where no bead is as bright or as colourful as wanted,
error would pile up without an end and spill far over the picture."""


@compiled
def walk(
    rgb: NDArray[np.float64],
    lab: NDArray[np.float32],
    filled: NDArray[np.bool_],
    bead_rgb: NDArray[np.float64],
    near: Candidates,
    weights: NDArray[np.float64],
    hard_edge: float,
) -> NDArray[np.int16]:
    """Walk the cells in turns from the left and from the right; weights are (dx, dy, share)."""
    height, width = filled.shape
    cells = np.full((height, width), -1, dtype=np.int16)
    wanted = rgb.copy()
    for y in range(height):
        step = 1 if y % 2 == 0 else -1
        for i in range(width):
            x = i if step == 1 else width - 1 - i
            if filled[y, x]:
                r, g, b = _bounded(wanted[y, x])
                light, red, yellow = linear_to_lab(_clip(r), _clip(g), _clip(b))
                k = nearest_lab(light, red, yellow, near)
                cells[y, x] = k
                miss = (r - bead_rgb[k, 0], g - bead_rgb[k, 1], b - bead_rgb[k, 2])
                _hand_on(wanted, lab, filled, weights, hard_edge, miss, y, x, step)
    return cells


@compiled
def _hand_on(
    wanted: NDArray[np.float64],
    lab: NDArray[np.float32],
    filled: NDArray[np.bool_],
    weights: NDArray[np.float64],
    hard_edge: float,
    miss: tuple[float, float, float],
    y: int,
    x: int,
    step: int,
) -> None:
    """Hand a cell's error on, but not out of the plate nor over a hard edge."""
    height, width = filled.shape
    for j in range(len(weights)):
        nx, ny = x + step * int(weights[j, 0]), y + int(weights[j, 1])
        if 0 <= nx < width and ny < height and filled[ny, nx]:
            d0, d1 = lab[y, x, 0] - lab[ny, nx, 0], lab[y, x, 1] - lab[ny, nx, 1]
            d2 = lab[y, x, 2] - lab[ny, nx, 2]
            if d0 * d0 + d1 * d1 + d2 * d2 <= hard_edge:
                wanted[ny, nx, 0] += miss[0] * weights[j, 2]
                wanted[ny, nx, 1] += miss[1] * weights[j, 2]
                wanted[ny, nx, 2] += miss[2] * weights[j, 2]


@compiled
def _bounded(colour: NDArray[np.float64]) -> tuple[float, float, float]:
    """Limit what is owed."""
    low, high = -_MOST_DEBT, 1 + _MOST_DEBT
    return (
        min(max(colour[0], low), high),
        min(max(colour[1], low), high),
        min(max(colour[2], low), high),
    )


@compiled
def _clip(light: float) -> float:
    """Limit to what can be seen."""
    return min(max(light, 0.0), 1.0)
