"""The compiled heart of the search: visit a cell, try other beads, keep the best.

Each candidate is tested by the true difference at all samples of the 3 x 3 cells around, in all
views, plus a second-order estimate for the cells further off. A model alone, without the test,
stalls early.

Blocks of cells are searched side by side, each fourth block at a time: what one changes, none of
the others reads, so that any number of threads gives the same plate.
"""

from __future__ import annotations

from itertools import product

import numpy as np
from numpy.typing import NDArray

from img2plate.base.compiled import Real, compiled, side_by_side
from img2plate.plate.search.field import (
    Scene,
    State,
    gather,
    make_samples,
    ring_gradient,
)
from img2plate.plate.search.judge import far_cost, near_sum
from img2plate.plate.search.lab32 import F32, Samples
from img2plate.plate.search.noise import mix64
from img2plate.plate.search.pairs import Plan, pair_cost
from img2plate.plate.search.specks import specks_around
from img2plate.plate.search.spread import spread

_NEVER = np.float32(1e30)
_LEAST_GAIN = np.float32(1e-3)
"""A change for less is rounding."""


def sweep(scene: Scene, state: State, plan: Plan, losses: NDArray[np.float64]) -> int:
    """Visit all active cells once; count the changes.

    losses: (blocks, n) to change nothing and sum up how much worse the next best beads would be
    than those of each colour; of no length to search. One function for both: compiling takes long.
    """
    rows, columns = (-(-side // plan.block) for side in scene.free.shape)
    nothing = np.empty(0)

    def search(place: tuple[int, int]) -> int:
        y, x = place
        loss = losses[y * columns + x] if len(losses) else nothing
        return int(_search_block(scene, state, plan, y * plan.block, x * plan.block, loss))

    changes = 0
    for odd_row, odd_column in product(range(2), repeat=2):
        apart = list(product(range(odd_row, rows, 2), range(odd_column, columns, 2)))
        changes += sum(side_by_side(search, apart))
    return changes


@compiled
def _search_block(
    scene: Scene, state: State, plan: Plan, top: int, left: int, loss: NDArray[np.float64]
) -> int:
    """Visit the active cells of a block in random order."""
    height, width = scene.free.shape
    bottom, right = min(height, top + plan.block), min(width, left + plan.block)
    wide = right - left
    order = np.arange((bottom - top) * wide)
    chance = mix64(np.uint64(top * 65537 + left) + np.uint64(plan.number) * np.uint64(1000003))
    samples = make_samples(scene)
    changes = 0
    for i in range(len(order) - 1, -1, -1):
        chance = mix64(chance + np.uint64(i))
        j = int(chance % np.uint64(i + 1))
        order[i], order[j] = order[j], order[i]
        y, x = top + order[i] // wide, left + order[i] % wide
        if not (state.active[y, x] and scene.free[y, x]):
            continue
        best, cost = _best(scene, state, samples, plan, y, x, len(loss) > 0)
        if len(loss) > 0:
            loss[state.cells[y, x]] += max(cost, F32(0))
            continue
        state.active[y, x] = False
        if cost < -_LEAST_GAIN:
            _put(scene, state, samples, y, x, best)
            changes += 1
    return changes


@compiled
def _best(
    scene: Scene, state: State, samples: Samples, plan: Plan, y: int, x: int, worse: bool
) -> tuple[int, Real]:
    """The best other bead for a cell, and what it costs; below 0 it is better.

    Unless those are asked for that are `worse`, too, a bead is given up as soon as it is.
    """
    current = state.cells[y, x]
    gather(scene, state, samples, y, x)
    gradients = np.empty((len(scene.reach), 3), F32)
    for ring in range(len(scene.reach)):
        one, two, three = ring_gradient(scene, state, samples.sums, ring, y, x)
        gradients[ring, 0], gradients[ring, 1], gradients[ring, 2] = one, two, three
    tried = scene.candidates[y, x]
    best, least, now = -1, _NEVER, F32(0)
    # The present bead comes first, by the same call: a second one would double the compiling.
    for place in range(-1, len(tried)):
        k = current if place < 0 else tried[place]
        if k < 0:
            break
        if place >= 0 and k == current:
            continue
        cost = pair_cost(scene, state, plan, y, x, k) + state.price[k]
        cost += far_cost(scene, state, gradients, y, x, current, k)
        if plan.speck > 0:
            state.cells[y, x] = k
            cost += plan.speck * F32(specks_around(state.cells, y, x))
            state.cells[y, x] = current
        most = least if worse or place < 0 else min(least, now)
        cost += near_sum(scene, samples, y, x, current, k, most - cost)
        if place < 0:
            now = cost
        elif cost < least:
            best, least = k, cost
    return best, least - now


@compiled
def _put(scene: Scene, state: State, samples: Samples, y: int, x: int, k: int) -> None:
    """Put another bead into a cell, and mark the cells around as worth a visit."""
    old = state.cells[y, x]
    state.cells[y, x] = k
    spread(scene, state, samples, old, y, x)
    height, width = scene.free.shape
    for row in range(max(0, y - 2), min(height, y + 3)):
        for column in range(max(0, x - 2), min(width, x + 3)):
            state.active[row, column] = True
