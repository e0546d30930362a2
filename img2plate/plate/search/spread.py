"""Bring a changed bead into all that it touches, and work everything out anew between sweeps."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from img2plate.base.compiled import compiled
from img2plate.plate.search.field import (
    NEIGHBOURS,
    Scene,
    State,
    edge,
    gather,
    gather_cell,
    make_samples,
    near_of,
)
from img2plate.plate.search.lab32 import (
    F32,
    Samples,
    Span,
    Three,
    gradient_and_hessian,
    to_xyz_by_value,
)


@compiled
def change_of(scene: Scene, view: int, old: int, new: int) -> Three:
    """What another bead adds to a view's channels."""
    beads = scene.beads[view]
    return (
        beads[0, new] - beads[0, old],
        beads[1, new] - beads[1, old],
        beads[2, new] - beads[2, old],
    )


@compiled
def spread(scene: Scene, state: State, samples: Samples, old: int, y: int, x: int) -> None:
    """Bring a bead that was changed from `old` into all that is kept."""
    height, width = scene.free.shape
    near, new, views = near_of(scene, y, x), state.cells[y, x], len(scene.is_flip)
    for v in range(views):
        first, n = scene.first[v], scene.first[v + 1] - scene.first[v]
        change = change_of(scene, v, old, new)
        for place in range(NEIGHBOURS):
            row, column = y + place // 3 - 1, x + place % 3 - 1
            if 0 <= row < height and 0 <= column < width:
                seen, start = state.seen[row, column], NEIGHBOURS * first + place * n
                for i in range(n):
                    seen[0, first + i] += near[0, start + i] * change[0]
                    seen[1, first + i] += near[1, start + i] * change[1]
                    seen[2, first + i] += near[2, start + i] * change[2]
    rings = len(scene.reach)
    for ring in range(rings):
        _spread_ring(scene, state, change_of(scene, views - rings + ring, old, new), ring, y, x)
    if rings > 0:
        _measure_around(scene, state, samples, y, x)


@compiled
def _spread_ring(scene: Scene, state: State, change: Three, ring: int, y: int, x: int) -> None:
    """Move the cells in a ring, and their gradients by their Hessians."""
    margin, reach = scene.ring.shape[3] // 2, scene.reach[ring]
    shares, hessian = scene.ring[ring], state.hessian[ring]
    far, gradient = state.far[ring], state.gradient[ring]
    for i in range(margin - reach, margin + reach + 1):
        row = scene.rows[y + i]
        r = row + margin
        for j in range(margin - reach, margin + reach + 1):
            column = scene.columns[x + j]
            q = column + margin
            e1 = shares[0, i, j] * change[0]
            e2 = shares[1, i, j] * change[1]
            e3 = shares[2, i, j] * change[2]
            h12, h13, h23 = (
                hessian[3, row, column],
                hessian[4, row, column],
                hessian[5, row, column],
            )
            far[0, r, q] += e1
            far[1, r, q] += e2
            far[2, r, q] += e3
            gradient[0, r, q] += hessian[0, row, column] * e1 + h12 * e2 + h13 * e3
            gradient[1, r, q] += h12 * e1 + hessian[1, row, column] * e2 + h23 * e3
            gradient[2, r, q] += h13 * e1 + h23 * e2 + hessian[2, row, column] * e3


@compiled
def _measure_around(scene: Scene, state: State, samples: Samples, y: int, x: int) -> None:
    """Work out gradients and Hessians of a cell and its 8 neighbours anew."""
    height, width = scene.free.shape
    gather(scene, state, samples, y, x)
    rings = len(scene.reach)
    for ring in range(rings):
        v = len(scene.is_flip) - rings + ring
        first, last = NEIGHBOURS * scene.first[v], NEIGHBOURS * scene.first[v + 1]
        gradient_and_hessian(samples, Span(first, last, to_xyz_by_value(scene.to_xyz[v])))
        n = (last - first) // NEIGHBOURS
        for place in range(NEIGHBOURS):
            row, column = y + place // 3 - 1, x + place % 3 - 1
            if 0 <= row < height and 0 <= column < width:
                start = first + place * n
                _keep_measures(scene, state, samples, ring, start, start + n, row, column)


@compiled
def _keep_measures(
    scene: Scene, state: State, samples: Samples, ring: int, start: int, stop: int, y: int, x: int
) -> None:
    """Sum up a cell's gradient and Hessian over its samples."""
    margin = scene.ring.shape[3] // 2
    for c in range(9):
        total = F32(0)
        for i in range(start, stop):
            total += samples.derivatives[c, i]
        if c < 3:
            state.gradient[ring, c, y + margin, x + margin] = total
        else:
            state.hessian[ring, c - 3, y, x] = total


@compiled
def refresh_near(scene: Scene, state: State, view: int, planes: NDArray[np.float32]) -> None:
    """Work out a view's part of `seen` from the beads' channels (3, h, w)."""
    for y in range(planes.shape[1]):
        for x in range(planes.shape[2]):
            _add_near(scene, state, view, planes, y, x)


@compiled
def _add_near(
    scene: Scene, state: State, view: int, planes: NDArray[np.float32], y: int, x: int
) -> None:
    """Sum up what the 3 x 3 beads around a cell add to its samples."""
    height, width = planes.shape[1:]
    first, n = scene.first[view], scene.first[view + 1] - scene.first[view]
    seen = state.seen[y, x, :, first : first + n]
    seen[:] = 0
    for place in range(NEIGHBOURS):
        row, column = y + place // 3 - 1, x + place % 3 - 1
        if 0 <= row < height and 0 <= column < width:
            near = scene.near[edge(row, height), edge(column, width)]
            start = NEIGHBOURS * first + (8 - place) * n
            for c in range(3):
                for i in range(n):
                    seen[c, i] += near[c, start + i] * planes[c, row, column]


@compiled
def refresh_gradients(scene: Scene, state: State) -> None:
    """Work out every cell's gradients and Hessians from `seen` and `far`."""
    height, width = scene.free.shape
    rings = len(scene.reach)
    for y in range(height):
        samples = make_samples(scene)
        for x in range(width):
            gather_cell(scene, state, samples, 0, y, x)
            for ring in range(rings):
                v = len(scene.is_flip) - rings + ring
                start = NEIGHBOURS * scene.first[v]
                stop = start + scene.first[v + 1] - scene.first[v]
                to_xyz = to_xyz_by_value(scene.to_xyz[v])
                gradient_and_hessian(samples, Span(start, stop, to_xyz))
                _keep_measures(scene, state, samples, ring, start, stop, y, x)
