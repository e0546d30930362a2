"""What the search knows of a plate, and how the samples around one cell are gathered for a visit.

All views stand side by side along one axis of samples: view v has samples first[v] .. first[v + 1]
of each cell. The last views have a ring: they feel beads beyond the 3 x 3 cells around.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from img2plate.base.compiled import Real, compiled
from img2plate.plate.search.lab32 import F32, Samples, Three

NEIGHBOURS = 9
"""Cells in the 3 x 3 around one, itself among them."""


class Scene(NamedTuple):
    """What stays as it is; t samples a cell in v views, r of them with a ring."""

    free: NDArray[np.bool_]
    """(h, w) cells whose bead may change."""
    importance: NDArray[np.float32]
    """(h, w) how much each cell counts; 0 where there is no bead."""
    smooth: NDArray[np.float32]
    """(h, w) how many times more neighbours cost that differ: more where the picture is smooth."""
    candidates: NDArray[np.int16]
    """(h, w, most) the beads that may be tried, -1 behind the last."""
    lab: NDArray[np.float32]
    """(h, w, 3) CIELAB of the picture's cells."""
    bead_lab: NDArray[np.float32]
    """(n, 3) CIELAB of the beads."""
    wanted: NDArray[np.float32]
    """(h, w, 3, t) the picture, see `target.wanted`."""
    beads: NDArray[np.float32]
    """(v, 3, n) channels of the beads in each view."""
    to_xyz: NDArray[np.float32]
    """(v, 9) matrix from the channels to XYZ over white."""
    is_flip: NDArray[np.bool_]
    """(v,) FLIP, else S-CIELAB."""
    first: NDArray[np.int64]
    """(v + 1,) where each view's samples begin."""
    weight: NDArray[np.float32]
    """(t,) of each sample's difference."""
    near: NDArray[np.float32]
    """(4, 4, 3, 9 t): what a bead adds to the samples of the 9 cells around, view after view, in
    each cell after cell. The first two axes say at which edges it lies, see `edge`."""
    ring: NDArray[np.float32]
    """(r, 3, 2 m + 1, 2 m + 1): what it adds to cells further off."""
    reach: NDArray[np.int64]
    """(r,) cells that each ring reaches; m is the widest."""
    rows: NDArray[np.int64]
    columns: NDArray[np.int64]
    """(h + 2 m) and (w + 2 m): the plate's own row or column for each of a plane with margins."""


class State(NamedTuple):
    """What changes; planes (h + 2 m, w + 2 m) have a margin as wide as the widest ring."""

    cells: NDArray[np.int16]
    """(h, w) index into the beads; -1 where there is none."""
    active: NDArray[np.bool_]
    """(h, w) cells that are worth a visit."""
    price: NDArray[np.float32]
    """(n,) what a bead of each colour costs, in dE over its cell."""
    seen: NDArray[np.float32]
    """(h, w, 3, t) channels that the beads near by add up to."""
    far: NDArray[np.float32]
    """(r, 3, planes) what beads further off add."""
    gradient: NDArray[np.float32]
    """(r, 3, planes) of a cell's summed differences by `far`."""
    hessian: NDArray[np.float32]
    """(r, 6, h, w)."""
    ring_hessian: NDArray[np.float32]
    """(r, 6, h, w) Hessian of all cells in the ring by the cell's bead."""


@compiled
def make_samples(scene: Scene) -> Samples:
    """Space for the samples around one cell, still empty."""
    n, wide = NEIGHBOURS * len(scene.weight), scene.ring.shape[3]
    return Samples(
        np.zeros((3, n), F32), np.zeros((3, n), F32), np.zeros(n, F32), np.empty(n, F32),
        np.empty((9, n), F32), np.empty(wide, F32),
    )  # fmt: skip


@compiled
def edge(at: int, count: int) -> int:
    """Which edges a cell lies at: 1 low, 2 high, 3 both."""
    return (1 if at == 0 else 0) + (2 if at == count - 1 else 0)


@compiled
def near_of(scene: Scene, y: int, x: int) -> NDArray[np.float32]:
    """(3, 9 t) what a bead in this cell adds to the samples around it."""
    height, width = scene.free.shape
    near: NDArray[np.float32] = scene.near[edge(y, height), edge(x, width)]
    return near


@compiled
def gather(scene: Scene, state: State, samples: Samples, y: int, x: int) -> None:
    """Bring the samples around a cell together; those of cells without a bead weigh nothing."""
    height, width = scene.free.shape
    for place in range(NEIGHBOURS):
        row, column = y + place // 3 - 1, x + place % 3 - 1
        if 0 <= row < height and 0 <= column < width:
            gather_cell(scene, state, samples, place, row, column)
        else:
            for v in range(len(scene.is_flip)):
                first, n = scene.first[v], scene.first[v + 1] - scene.first[v]
                start = NEIGHBOURS * first + place * n
                samples.weight[start : start + n] = 0


@compiled
def gather_cell(
    scene: Scene, state: State, samples: Samples, place: int, row: int, column: int
) -> None:
    """Bring the samples of one of the 9 cells."""
    seen, wanted = state.seen[row, column], scene.wanted[row, column]
    importance, margin = scene.importance[row, column], scene.ring.shape[3] // 2
    views = len(scene.is_flip)
    for v in range(views):
        first, n = scene.first[v], scene.first[v + 1] - scene.first[v]
        start, ring = NEIGHBOURS * first + place * n, v - (views - len(scene.reach))
        for i in range(n):
            samples.weight[start + i] = importance * scene.weight[first + i]
        for c in range(3):
            far = state.far[ring, c, row + margin, column + margin] if ring >= 0 else F32(0)
            for i in range(n):
                samples.seen[c, start + i] = seen[c, first + i] + far
                samples.wanted[c, start + i] = wanted[c, first + i]


@compiled
def ring_gradient(
    scene: Scene, state: State, sums: NDArray[np.float32], ring: int, y: int, x: int
) -> Three:
    """Gradient of all cells in a ring by the bead of a cell."""
    return (
        _ring_sum(scene, state.gradient[ring, 0], sums, ring, 0, y, x),
        _ring_sum(scene, state.gradient[ring, 1], sums, ring, 1, y, x),
        _ring_sum(scene, state.gradient[ring, 2], sums, ring, 2, y, x),
    )


@compiled
def _ring_sum(
    scene: Scene, plane: NDArray[np.float32], sums: NDArray[np.float32],
    ring: int, channel: int, y: int, x: int,
) -> Real:  # fmt: skip
    """Sum of a plane's values around a cell, weighed by the ring."""
    margin, reach = scene.ring.shape[3] // 2, scene.reach[ring]
    low, wide = margin - reach, 2 * reach + 1
    columns = scene.columns[x + low : x + low + wide]
    within = columns[0] == x - reach and columns[wide - 1] == x + reach
    for j in range(wide):
        sums[j] = 0
    for i in range(low, low + wide):
        weights = scene.ring[ring, channel, i, low : low + wide]
        values = plane[scene.rows[y + i] + margin]
        if within:
            _add_products(sums, weights, values[x + low : x + low + wide])
        else:
            for j in range(wide):
                sums[j] += weights[j] * values[columns[j] + margin]
    total = F32(0)
    for j in range(wide):
        total += sums[j]
    return total


@compiled
def _add_products(
    sums: NDArray[np.float32], weights: NDArray[np.float32], values: NDArray[np.float32]
) -> None:
    """Add products value by value: a form that runs on several at once."""
    for j in range(len(weights)):
        sums[j] += weights[j] * values[j]
