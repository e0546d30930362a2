"""Bring a changed bead into all that it touches, and work everything out anew between sweeps."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from img2plate.base.compiled import compiled, compiled_parallel, prange
from img2plate.plate.search.field import (
    F32,
    SAMPLES,
    Room,
    Scene,
    State,
    edge,
    gather,
    make_room,
)
from img2plate.plate.search.light import Three, pull_and_bend, to_xyz_by_value


@compiled
def spread(
    scene: Scene, state: State, room: Room, near: NDArray[np.float32],
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
    _measure_around(scene, state, room, near, y, x)


@compiled
def _spread_ring(scene: Scene, state: State, change: Three, y: int, x: int) -> None:
    """Move the cells in the ring, and their gradients by their Hessians."""
    wide = scene.ring.shape[1]
    margin = wide // 2
    ring, bend, far, pull = scene.ring, state.bend, state.far, state.pull
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
            b12, b13, b23 = bend[3, row, column], bend[4, row, column], bend[5, row, column]
            far[0, r, q] += e1
            far[1, r, q] += e2
            far[2, r, q] += e3
            pull[0, r, q] += bend[0, row, column] * e1 + b12 * e2 + b13 * e3
            pull[1, r, q] += b12 * e1 + bend[1, row, column] * e2 + b23 * e3
            pull[2, r, q] += b13 * e1 + b23 * e2 + bend[2, row, column] * e3


@compiled
def _measure_around(
    scene: Scene, state: State, room: Room, near: NDArray[np.float32], y: int, x: int
) -> None:
    """Work out gradients and Hessians of a cell and its 8 neighbours anew."""
    height, width = scene.filled.shape
    count, _ = gather(scene, state, room, near, y, x)
    to_xyz = to_xyz_by_value(scene.to_xyz)
    pull_and_bend(room.seen, room.wanted, to_xyz, room.bends, count)
    start = 0
    for place in range(9):
        row, column = y + place // 3 - 1, x + place % 3 - 1
        if 0 <= row < height and 0 <= column < width and scene.filled[row, column]:
            _keep_measures(scene, state, room, start, row, column)
            start += SAMPLES


@compiled
def _keep_measures(scene: Scene, state: State, room: Room, start: int, y: int, x: int) -> None:
    """Sum up a cell's gradient and Hessian over its samples, from `start`."""
    margin = scene.ring.shape[1] // 2
    for c in range(9):
        total = F32(0)
        for i in range(start, start + SAMPLES):
            total += room.bends[c, i]
        if c < 3:
            state.pull[c, y + margin, x + margin] = total
        else:
            state.bend[c - 3, y, x] = total


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
def refresh_pulls(scene: Scene, state: State) -> None:
    """Work out every cell's gradient and Hessian from `seen` and `far`."""
    height, width = scene.filled.shape
    for y in prange(height):
        room = make_room(1)
        for x in range(width):
            if scene.filled[y, x]:
                _measure_one(scene, state, room, y, x)


@compiled
def _measure_one(scene: Scene, state: State, room: Room, y: int, x: int) -> None:
    """Work out one cell's gradient and Hessian."""
    margin = scene.ring.shape[1] // 2
    for c in range(3):
        for i in range(SAMPLES):
            room.seen[c, i] = state.seen[y, x, c, i] + state.far[c, y + margin, x + margin]
            room.wanted[c, i] = scene.wanted[y, x, c, i]
    to_xyz = to_xyz_by_value(scene.to_xyz)
    pull_and_bend(room.seen, room.wanted, to_xyz, room.bends, SAMPLES)
    _keep_measures(scene, state, room, 0, y, x)
