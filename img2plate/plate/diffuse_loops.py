"""The loop behind `diffuse`, compiled: each cell waits for the error of those before it."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from img2plate.base.compiled import compiled

_MOST_DEBT = 0.5
"""Linear light that may be owed beyond 0..1: where no bead is as bright or as colourful as wanted,
error would pile up without an end and spill far over the picture."""


@compiled
def walk(
    rgb: NDArray[np.float64],
    lab: NDArray[np.float64],
    filled: NDArray[np.bool_],
    bead_rgb: NDArray[np.float64],
    bead_lab: NDArray[np.float64],
    weights: NDArray[np.float64],
    to_xyz: NDArray[np.float64],
    hard_edge: float,
) -> NDArray[np.int16]:
    """Walk the cells; `to_xyz` gives XYZ relative to white."""
    height, width = filled.shape
    cells = np.full((height, width), -1, dtype=np.int16)
    wanted = rgb.copy()
    for y in range(height):
        step = 1 if y % 2 == 0 else -1
        for i in range(width):
            x = i if step == 1 else width - 1 - i
            if not filled[y, x]:
                continue
            r = min(max(wanted[y, x, 0], -_MOST_DEBT), 1 + _MOST_DEBT)
            g = min(max(wanted[y, x, 1], -_MOST_DEBT), 1 + _MOST_DEBT)
            b = min(max(wanted[y, x, 2], -_MOST_DEBT), 1 + _MOST_DEBT)
            k = _nearest_lab(_clip(r), _clip(g), _clip(b), bead_lab, to_xyz)
            cells[y, x] = k
            miss = (r - bead_rgb[k, 0], g - bead_rgb[k, 1], b - bead_rgb[k, 2])
            for j in range(len(weights)):
                nx, ny = x + step * int(weights[j, 0]), y + int(weights[j, 1])
                if 0 <= nx < width and ny < height and filled[ny, nx]:
                    edge = 0.0
                    for c in range(3):
                        edge += (lab[y, x, c] - lab[ny, nx, c]) ** 2
                    if edge <= hard_edge:
                        for c in range(3):
                            wanted[ny, nx, c] += miss[c] * weights[j, 2]
    return cells


@compiled
def _nearest_lab(
    r: float, g: float, b: float, bead_lab: NDArray[np.float64], to_xyz: NDArray[np.float64]
) -> int:
    """Index of the bead nearest in CIELAB to a linear-light colour."""
    fx = _f(to_xyz[0, 0] * r + to_xyz[0, 1] * g + to_xyz[0, 2] * b)
    fy = _f(to_xyz[1, 0] * r + to_xyz[1, 1] * g + to_xyz[1, 2] * b)
    fz = _f(to_xyz[2, 0] * r + to_xyz[2, 1] * g + to_xyz[2, 2] * b)
    light, red, yellow = 116 * fy - 16, 500 * (fx - fy), 200 * (fy - fz)
    best, place = np.inf, 0
    for k in range(len(bead_lab)):
        d0, d1, d2 = light - bead_lab[k, 0], red - bead_lab[k, 1], yellow - bead_lab[k, 2]
        squared = d0 * d0 + d1 * d1 + d2 * d2
        if squared < best:
            best, place = squared, k
    return place


@compiled
def _clip(light: float) -> float:
    """Limit to what can be seen."""
    return min(max(light, 0.0), 1.0)


@compiled
def _f(ratio: float) -> float:
    """The cube root of CIELAB, with its straight part (CIE 15)."""
    if ratio > (6 / 29) ** 3:
        return float(np.cbrt(ratio))
    return (29 / 6) ** 2 / 3 * ratio + 4 / 29
