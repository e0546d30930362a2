"""Bring a changed bead into all that it touches, and work everything out anew between sweeps."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from img2plate.base.compiled import compiled, compiled_parallel, prange
from img2plate.plate.search.field import (
    F32,
    SAMPLES,
    Scene,
    State,
    Workspace,
    edge,
    gather,
    make_workspace,
)
from img2plate.plate.search.lab32 import Three, gradient_and_hessian, to_xyz_by_value


@compiled
def spread(
    scene: Scene, state: State, work: Workspace, near: NDArray[np.float32],
    change: Three, y: int, x: int,
) -> None:  # fmt: skip
    """Bring a changed bead into all that it touches."""
    height, width = scene.filled.shape
    _spread_ring(scene, state, change, y, x)
    for place in range(9):
        row, column = y + place // 3 - 1, x + place % 3 - 1
        if 0 <= row < height and 0 <= column < width:
            seen = state.seen[row, column]
            for i in range(SAMPLES):
                seen[0, i] += near[0, place, i] * change[0]
                seen[1, i] += near[1, place, i] * change[1]
                seen[2, i] += near[2, place, i] * change[2]
    _measure_around(scene, state, work, near, y, x)


@compiled
def _spread_ring(scene: Scene, state: State, change: Three, y: int, x: int) -> None:
    """Move the cells in the ring, and their gradients by their Hessians."""
    wide = scene.ring.shape[1]
    margin = wide // 2
    ring, hessian, far, gradient = scene.ring, state.hessian, state.far, state.gradient
    for i in range(wide):
        row = scene.rows[y + i]
        r = row + margin
        for j in range(wide):
            column = scene.columns[x + j]
            q = column + margin
            e1, e2, e3 = (
                ring[0, i, j] * change[0],
                ring[1, i, j] * change[1],
                ring[2, i, j] * change[2],
            )
            b12, b13, b23 = (
                hessian[3, row, column],
                hessian[4, row, column],
                hessian[5, row, column],
            )
            far[0, r, q] += e1
            far[1, r, q] += e2
            far[2, r, q] += e3
            gradient[0, r, q] += hessian[0, row, column] * e1 + b12 * e2 + b13 * e3
            gradient[1, r, q] += b12 * e1 + hessian[1, row, column] * e2 + b23 * e3
            gradient[2, r, q] += b13 * e1 + b23 * e2 + hessian[2, row, column] * e3


@compiled
def _measure_around(
    scene: Scene, state: State, work: Workspace, near: NDArray[np.float32], y: int, x: int
) -> None:
    """Work out gradients and Hessians of a cell and its 8 neighbours anew."""
    height, width = scene.filled.shape
    count, _ = gather(scene, state, work, near, y, x)
    to_xyz = to_xyz_by_value(scene.to_xyz)
    gradient_and_hessian(work.seen, work.wanted, to_xyz, work.derivatives, count)
    start = 0
    for place in range(9):
        row, column = y + place // 3 - 1, x + place % 3 - 1
        if 0 <= row < height and 0 <= column < width and scene.filled[row, column]:
            _keep_measures(scene, state, work, start, row, column)
            start += SAMPLES


@compiled
def _keep_measures(scene: Scene, state: State, work: Workspace, start: int, y: int, x: int) -> None:
    """Sum up a cell's gradient and Hessian over its samples, from `start`."""
    margin = scene.ring.shape[1] // 2
    for c in range(9):
        total = F32(0)
        for i in range(start, start + SAMPLES):
            total += work.derivatives[c, i]
        if c < 3:
            state.gradient[c, y + margin, x + margin] = total
        else:
            state.hessian[c - 3, y, x] = total


@compiled_parallel
def refresh_near(scene: Scene, state: State, planes: NDArray[np.float32]) -> None:
    """Work out `seen` from the beads' opponent channels (3, h, w)."""
    height, width = scene.filled.shape
    for y in prange(height):
        for x in range(width):
            _add_near(scene, state, planes, y, x)


@compiled
def _add_near(scene: Scene, state: State, planes: NDArray[np.float32], y: int, x: int) -> None:
    """Sum up what the 3 x 3 beads around a cell add to its samples."""
    height, width = scene.filled.shape
    state.seen[y, x] = 0
    for place in range(9):
        row, column = y + place // 3 - 1, x + place % 3 - 1
        if 0 <= row < height and 0 <= column < width:
            near = scene.near[edge(row, height), edge(column, width)]
            for c in range(3):
                for i in range(SAMPLES):
                    state.seen[y, x, c, i] += near[c, 8 - place, i] * planes[c, row, column]


@compiled_parallel
def refresh_gradients(scene: Scene, state: State) -> None:
    """Work out every cell's gradient and Hessian from `seen` and `far`."""
    height, width = scene.filled.shape
    for y in prange(height):
        work = make_workspace(1)
        for x in range(width):
            if scene.filled[y, x]:
                _measure_one(scene, state, work, y, x)


@compiled
def _measure_one(scene: Scene, state: State, work: Workspace, y: int, x: int) -> None:
    """Work out one cell's gradient and Hessian."""
    margin = scene.ring.shape[1] // 2
    for c in range(3):
        for i in range(SAMPLES):
            work.seen[c, i] = state.seen[y, x, c, i] + state.far[c, y + margin, x + margin]
            work.wanted[c, i] = scene.wanted[y, x, c, i]
    to_xyz = to_xyz_by_value(scene.to_xyz)
    gradient_and_hessian(work.seen, work.wanted, to_xyz, work.derivatives, SAMPLES)
    _keep_measures(scene, state, work, 0, y, x)
