"""The field around a cell: what the search knows, and how it is gathered for one visit."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from img2plate.base.compiled import Real, compiled
from img2plate.plate.search.lab32 import Three

F32 = np.float32
SAMPLES = 9
_NINTH = np.float32(1 / 9)


class Scene(NamedTuple):
    """What stays as it is."""

    wanted: NDArray[np.float32]
    """(h, w, 3, 9) f(X), f(Y), f(Z) of the picture as the eye resolves it."""
    filled: NDArray[np.bool_]
    """(h, w) cells that have a bead."""
    free: NDArray[np.bool_]
    """(h, w) cells whose bead may change."""
    beads: NDArray[np.float32]
    """(3, n) opponent channels of the beads that may be chosen."""
    to_xyz: NDArray[np.float32]
    """(9) matrix from opponent channels to XYZ over white."""
    near: NDArray[np.float32]
    ring: NDArray[np.float32]
    """As in CellFilters."""
    rows: NDArray[np.int64]
    columns: NDArray[np.int64]
    """(h + 2 r) and (w + 2 r): the plate's own row or column for each of a plane with margins."""


class State(NamedTuple):
    """What changes; planes have a margin as wide as the ring on all sides."""

    cells: NDArray[np.int16]
    """(h, w) index into the beads; -1 where there is none."""
    active: NDArray[np.bool_]
    """(h, w) cells that are worth a visit."""
    price: NDArray[np.float32]
    """(n,) what a bead of each colour costs, in dE over its cell."""
    seen: NDArray[np.float32]
    """(h, w, 3, 9) opponent channels that the beads near by add up to."""
    far: NDArray[np.float32]
    """(3, h + 2 r, w + 2 r) what beads further off add."""
    gradient: NDArray[np.float32]
    """(3, h + 2 r, w + 2 r) gradient of a cell's summed dE by `far`."""
    hessian: NDArray[np.float32]
    """(6, h, w) its Hessian."""
    ring_hessian: NDArray[np.float32]
    """(6, h, w) Hessian of all cells in the ring by the cell's bead."""


class Workspace(NamedTuple):
    """Working space of one thread: the samples around one cell, and a score a bead."""

    seen: NDArray[np.float32]
    wanted: NDArray[np.float32]
    share: NDArray[np.float32]
    each: NDArray[np.float32]
    derivatives: NDArray[np.float32]
    score: NDArray[np.float32]
    price: NDArray[np.float32]


@compiled
def make_workspace(beads: int) -> Workspace:
    """Working space that is still empty."""
    samples = 9 * SAMPLES
    return Workspace(
        np.empty((3, samples), F32), np.empty((3, samples), F32), np.empty((3, samples), F32),
        np.empty(samples, F32), np.empty((9, samples), F32),
        np.empty(beads, F32), np.empty(beads, F32),
    )  # fmt: skip


@compiled
def edge(at: int, count: int) -> int:
    """Which edges a cell lies at: 1 low, 2 high, 3 both."""
    return (1 if at == 0 else 0) + (2 if at == count - 1 else 0)


@compiled
def gather(
    scene: Scene, state: State, work: Workspace, near: NDArray[np.float32], y: int, x: int
) -> tuple[int, int]:
    """Bring the samples around a cell together; returns their number and where its own begin."""
    height, width = scene.filled.shape
    margin = scene.ring.shape[1] // 2
    count = own = 0
    for place in range(9):
        row, column = y + place // 3 - 1, x + place % 3 - 1
        if not (0 <= row < height and 0 <= column < width) or not scene.filled[row, column]:
            continue
        if place == 4:
            own = count
        for c in range(3):
            far = state.far[c, row + margin, column + margin]
            for i in range(SAMPLES):
                work.seen[c, count + i] = state.seen[row, column, c, i] + far
                work.wanted[c, count + i] = scene.wanted[row, column, c, i]
                work.share[c, count + i] = near[c, place, i]
        count += SAMPLES
    return count, own


@compiled
def gradient_beside(scene: Scene, state: State, near: NDArray[np.float32], y: int, x: int) -> Three:
    """Gradient of the 8 neighbours by the bead of a cell, as if it were even over each of them."""
    height, width = scene.filled.shape
    margin = scene.ring.shape[1] // 2
    one = two = three = F32(0)
    for place in range(9):
        row, column = y + place // 3 - 1, x + place % 3 - 1
        if place != 4 and 0 <= row < height and 0 <= column < width:
            shares = near[:, place, :]
            gradient = state.gradient[:, row + margin, column + margin]
            one += gradient[0] * _mean(shares[0])
            two += gradient[1] * _mean(shares[1])
            three += gradient[2] * _mean(shares[2])
    return one, two, three


@compiled
def _mean(values: NDArray[np.float32]) -> Real:
    """Mean over a cell's samples."""
    total = F32(0)
    for i in range(SAMPLES):
        total += values[i]
    return total * _NINTH


@compiled
def means(channels: NDArray[np.float32]) -> Three:
    """Mean of each of three channels over a cell's samples."""
    return _mean(channels[0]), _mean(channels[1]), _mean(channels[2])


@compiled
def ring_gradient(scene: Scene, state: State, sums: NDArray[np.float32], y: int, x: int) -> Three:
    """Gradient of all cells in the ring by the bead of a cell."""
    return (
        _ring_sum(scene, state.gradient[0], scene.ring[0], sums, y, x),
        _ring_sum(scene, state.gradient[1], scene.ring[1], sums, y, x),
        _ring_sum(scene, state.gradient[2], scene.ring[2], sums, y, x),
    )


@compiled
def _ring_sum(
    scene: Scene, plane: NDArray[np.float32], ring: NDArray[np.float32],
    sums: NDArray[np.float32], y: int, x: int,
) -> Real:  # fmt: skip
    """Sum of a plane's values around a cell, weighed by the ring."""
    wide = len(ring)
    margin = wide // 2
    columns = scene.columns[x : x + wide]
    within = columns[0] == x - margin and columns[wide - 1] == x + margin
    for j in range(wide):
        sums[j] = 0
    for i in range(wide):
        weights, values = ring[i], plane[scene.rows[y + i] + margin]
        if within:
            _add_products(sums, weights, values[x : x + wide])
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
