"""Bring like colours together."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

MOST_MERGED_CELLS = 20_000
MOST_RADIUS = 26.0


def merge_like(
    cells: NDArray[np.float32], radius: float, through: NDArray[np.float32] | None = None
) -> NDArray[np.float32]:
    """Bring cells (rows, columns, channels) together that only compression or noise tore apart.

    Colours within the radius, in 8-bit steps, become one; distances are taken `through` a matrix.
    """
    colours = cells.reshape(-1, cells.shape[-1])
    if len(colours) > MOST_MERGED_CELLS:
        return cells
    flat = colours if through is None else colours @ through.T
    radius = min(radius, MOST_RADIUS)
    out = colours.copy()
    open_ = np.ones(len(flat), np.bool_)
    while open_.any():
        rest = flat[open_]
        centre = _densest(rest, radius)
        near = _near(rest, centre, radius)
        near[0] |= not near.any()  # so that each round takes at least one away
        members = np.flatnonzero(open_)[near]
        out[members] = np.median(colours[members], axis=0)
        open_[members] = False
    return out.reshape(cells.shape)


def _densest(points: NDArray[np.float32], radius: float) -> NDArray[np.float32]:
    """Climb from the fullest neighbourhood of a sample to its mean (mean shift)."""
    sample = points[:: max(1, len(points) // 256)]
    fine = sample.astype(np.float64)
    squares = (fine**2).sum(axis=1)
    apart = squares[:, None] + squares - 2 * fine @ fine.T  # much quicker than all differences
    centre = sample[(apart <= radius**2).sum(axis=1).argmax()]
    for _ in range(6):
        near = _near(points, centre, radius)
        before, centre = centre, points[near].mean(axis=0)
        if np.array_equal(before, centre):
            break
    return np.asarray(centre, np.float32) if near.any() else points[0]


def _near(
    points: NDArray[np.float32], centre: NDArray[np.float32], radius: float
) -> NDArray[np.bool_]:
    """Which points (n, channels) lie within the radius."""
    apart = points - centre
    return np.asarray(np.einsum("ij,ij->i", apart, apart) <= radius**2)
