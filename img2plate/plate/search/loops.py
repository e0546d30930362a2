"""The compiled heart of the search: visit a cell, try other beads, keep the best.

All beads are ranked by what one sample a cell and the gradient of everything around say; the first
few are then tested by the true difference at the 81 samples of the 3 x 3 cells around, plus a
second-order estimate for the cells further off. A model alone, without the test, stalls early.

Blocks of cells are searched side by side, each fourth block at a time: what one changes, none of
the others reads, so that any number of threads gives the same plate.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from img2plate.base.compiled import Real, compiled, compiled_parallel, prange
from img2plate.plate.search.field import F32, SAMPLES, Scene, State, Workspace, make_workspace
from img2plate.plate.search.judge import Rules, cost_of, look_around, put, rank
from img2plate.plate.search.noise import gumbel_noise, mix64
from img2plate.plate.search.specks import neighbours

_NEVER = np.float32(1e30)
_LEAST_GAIN = np.float32(1e-3)
"""A change for less is rounding."""


@compiled_parallel
def sweep(scene: Scene, state: State, block: int, rules: Rules) -> int:
    """Visit all active cells once, in blocks of `block` x `block`; count the changes."""
    height, width = state.cells.shape
    rows, columns = (height + block - 1) // block, (width + block - 1) // block
    changes = 0
    for odd_row in range(2):
        for odd_column in range(2):
            across = (columns - odd_column + 1) // 2
            count = (rows - odd_row + 1) // 2 * across
            changed = np.zeros(max(count, 1), np.int64)
            for i in prange(count):
                y, x = 2 * (i // across) + odd_row, 2 * (i % across) + odd_column
                changed[i] = _search_block(scene, state, y * block, x * block, block, rules)
            changes += changed.sum()
    return changes


@compiled_parallel
def regret(scene: Scene, state: State, rules: Rules) -> NDArray[np.float64]:
    """(n,) for each colour, how much worse the next best beads would be, summed over its cells."""
    height, width = scene.filled.shape
    sums = np.zeros((height, scene.beads.shape[1]))
    for y in prange(height):
        work = make_workspace(scene.beads.shape[1])
        for x in range(width):
            if scene.free[y, x]:
                sums[y, state.cells[y, x]] += _next_best(scene, state, work, y, x, rules)
    return np.asarray(sums.sum(axis=0) / SAMPLES)


@compiled
def _next_best(scene: Scene, state: State, work: Workspace, y: int, x: int, rules: Rules) -> Real:
    """How much worse the next best bead would be in a cell, at least 0."""
    around = look_around(scene, state, work, y, x, rules)
    rank(scene, state, work, around, y, x)
    work.score[state.cells[y, x]] = _NEVER
    least = _NEVER
    for _ in range(min(rules.tries, len(work.score) - 1)):
        k = _least(work.score)
        work.score[k] = _NEVER
        least = min(least, cost_of(scene, state, work, around, y, x, k, rules))
    return max(least, F32(0))


@compiled
def _search_block(scene: Scene, state: State, top: int, left: int, block: int, rules: Rules) -> int:
    """Visit the active cells of a block in random order."""
    height, width = scene.filled.shape
    bottom, right = min(height, top + block), min(width, left + block)
    wide = right - left
    order = np.arange((bottom - top) * wide)
    chance = mix64(np.uint64(top * 65537 + left) + np.uint64(rules.number) * np.uint64(1000003))
    work = make_workspace(scene.beads.shape[1])
    changes = 0
    for i in range(len(order) - 1, -1, -1):
        chance = mix64(chance + np.uint64(i))
        j = int(chance % np.uint64(i + 1))
        order[i], order[j] = order[j], order[i]
        y, x = top + order[i] // wide, left + order[i] % wide
        if state.active[y, x] and scene.free[y, x]:
            state.active[y, x] = False
            if _visit(scene, state, work, y, x, rules, chance):
                _wake(state.active, y, x)
                changes += 1
    return changes


@compiled
def _visit(
    scene: Scene, state: State, work: Workspace, y: int, x: int, rules: Rules, chance: int
) -> bool:
    """Try other beads in one cell and put in the best; whether it is another one."""
    around = look_around(scene, state, work, y, x, rules)
    rank(scene, state, work, around, y, x)
    if rules.speck_price > 0:  # a bead like one beside it is no speck
        for k in neighbours(state.cells, y, x):
            if k >= 0:
                work.score[k] -= F32(SAMPLES * rules.speck_price)
    current, temperature = state.cells[y, x], F32(SAMPLES * rules.temperature)
    best, least = -1, gumbel_noise(temperature, chance, current) - _LEAST_GAIN
    work.score[current] = _NEVER
    for _ in range(min(rules.tries, len(work.score) - 1)):
        k = _least(work.score)
        work.score[k] = _NEVER
        cost = cost_of(scene, state, work, around, y, x, k, rules) + gumbel_noise(
            temperature, chance, k
        )
        if cost < least:
            best, least = k, cost
    if best < 0:
        return False
    put(scene, state, work, y, x, best)
    return True


@compiled
def _least(score: NDArray[np.float32]) -> int:
    """Index of the least score."""
    best, least = 0, score[0]
    for k in range(1, len(score)):
        if score[k] < least:
            best, least = k, score[k]
    return best


@compiled
def _wake(active: NDArray[np.bool_], y: int, x: int) -> None:
    """Mark the cells around a change as worth a visit."""
    height, width = active.shape
    for row in range(max(0, y - 2), min(height, y + 3)):
        for column in range(max(0, x - 2), min(width, x + 3)):
            active[row, column] = True
