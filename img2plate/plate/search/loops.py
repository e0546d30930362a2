"""The compiled heart of the search: visit a cell, try other beads, keep the best.

All beads are ranked by what one sample a cell and the gradient of everything around say; the first
few are then tested by the true difference at the 81 samples of the 3 x 3 cells around, plus a
second-order estimate for the cells further off. A model alone, without the test, stalls early.

Blocks of cells are searched side by side, each fourth block at a time: what one changes, none of
the others reads, so that any number of threads gives the same plate.
"""

from __future__ import annotations

from typing import NamedTuple, TypeAlias

import numpy as np
from numpy.typing import NDArray

from img2plate.base.compiled import Real, compiled, compiled_parallel, prange
from img2plate.plate.search.chance import luck, scramble
from img2plate.plate.search.field import (
    F32,
    SAMPLES,
    Room,
    Scene,
    State,
    edge,
    gather,
    make_room,
    means,
    pull_beside,
    ring_pull,
)
from img2plate.plate.search.light import Three, difference, to_xyz_by_value, total_difference
from img2plate.plate.search.specks import neighbours, specks_around
from img2plate.plate.search.spread import spread

Six: TypeAlias = tuple[Real, Real, Real, Real, Real, Real]
ODD_FROM_DE = 15.0
"""How much further than the nearest bead one may be from its cell's colour without a price."""
_ODD_FROM = np.float32(ODD_FROM_DE)
_HALF = np.float32(1 / 2)
_NEVER = np.float32(1e30)
_LEAST_GAIN = np.float32(1e-3)
"""A change for less is rounding."""


class Rules(NamedTuple):
    """How a sweep judges beads; prices and warmth in dE over one cell."""

    speck_price: Real
    odd_price: Real
    """For each dE that a bead is further from the cell's own colour than the nearest bead and
    ODD_FROM_DE."""
    warmth: Real
    """By how much chance may prefer a worse bead."""
    tries: int
    """True tests at each visit."""
    number: int
    """Makes the order of visits, and chance."""


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


@compiled
def _search_block(scene: Scene, state: State, top: int, left: int, block: int, rules: Rules) -> int:
    """Visit the active cells of a block in random order."""
    height, width = scene.filled.shape
    bottom, right = min(height, top + block), min(width, left + block)
    wide = right - left
    order = np.arange((bottom - top) * wide)
    chance = scramble(np.uint64(top * 65537 + left) + np.uint64(rules.number) * np.uint64(1000003))
    room = make_room(scene.beads.shape[1])
    changes = 0
    for i in range(len(order) - 1, -1, -1):
        chance = scramble(chance + np.uint64(i))
        j = int(chance % np.uint64(i + 1))
        order[i], order[j] = order[j], order[i]
        y, x = top + order[i] // wide, left + order[i] % wide
        if state.active[y, x] and scene.free[y, x]:
            state.active[y, x] = False
            if _visit(scene, state, room, y, x, rules, chance):
                _wake(state.active, y, x)
                changes += 1
    return changes


@compiled
def _visit(
    scene: Scene, state: State, room: Room, y: int, x: int, rules: Rules, chance: int
) -> bool:
    """Try other beads in one cell and put in the best; whether it is another one."""
    near = scene.near[edge(y, scene.filled.shape[0]), edge(x, scene.filled.shape[1])]
    count, own = gather(scene, state, room, near, y, x)
    pull, beside = ring_pull(scene, state, room.each, y, x), pull_beside(scene, state, near, y, x)
    bend = _six(state.ring_bend, y, x)
    current = state.cells[y, x]
    _price_odd_beads(scene, room, own, F32(rules.odd_price))
    all_pull = (pull[0] + beside[0], pull[1] + beside[1], pull[2] + beside[2])
    _rank(scene, room, own, current, all_pull, bend)
    speck_price, warmth = F32(SAMPLES * rules.speck_price), F32(SAMPLES * rules.warmth)
    if speck_price > 0:  # a bead like one beside it is no speck
        for k in neighbours(state.cells, y, x):
            if k >= 0:
                room.score[k] -= speck_price
    still = (F32(0), F32(0), F32(0))
    to_xyz = to_xyz_by_value(scene.to_xyz)
    now = total_difference(room.seen, room.wanted, to_xyz, still, room.share, room.each, count)
    now += room.odd[current]
    specks = specks_around(state.cells, y, x)
    best, least = -1, luck(warmth, chance, current) - _LEAST_GAIN
    room.score[current] = _NEVER
    for _ in range(min(rules.tries, len(room.score) - 1)):
        k = _least(room.score)
        room.score[k] = _NEVER
        change = _change(scene.beads, current, k)
        cost = _far_cost(change, pull, bend) + room.odd[k] + luck(warmth, chance, k) - now
        cost += total_difference(
            room.seen, room.wanted, to_xyz, change, room.share, room.each, count
        )
        if speck_price > 0:
            state.cells[y, x] = k
            cost += speck_price * F32(specks_around(state.cells, y, x) - specks)
            state.cells[y, x] = current
        if cost < least:
            best, least = k, cost
    if best < 0:
        return False
    state.cells[y, x] = best
    spread(scene, state, room, near, _change(scene.beads, current, best), y, x)
    return True


@compiled
def _change(beads: NDArray[np.float32], old: int, new: int) -> Three:
    """What another bead adds to the opponent channels."""
    return (
        beads[0, new] - beads[0, old],
        beads[1, new] - beads[1, old],
        beads[2, new] - beads[2, old],
    )


@compiled
def _six(planes: NDArray[np.float32], y: int, x: int) -> Six:
    """The six values of a cell."""
    return (
        planes[0, y, x], planes[1, y, x], planes[2, y, x],
        planes[3, y, x], planes[4, y, x], planes[5, y, x],
    )  # fmt: skip


@compiled
def _least(score: NDArray[np.float32]) -> int:
    """Index of the least score."""
    best, least = 0, score[0]
    for k in range(1, len(score)):
        if score[k] < least:
            best, least = k, score[k]
    return best


@compiled
def _price_odd_beads(scene: Scene, room: Room, own: int, price: Real) -> None:
    """What each bead costs for being far from the colour of its own cell."""
    odd = room.odd
    if price <= 0:
        odd[:] = 0
        return
    wanted_x, wanted_y, wanted_z = means(room.wanted[:, own : own + SAMPLES])
    ones, twos, threes = scene.beads[0], scene.beads[1], scene.beads[2]
    to_xyz = to_xyz_by_value(scene.to_xyz)
    for k in range(len(odd)):
        odd[k] = difference(ones[k], twos[k], threes[k], wanted_x, wanted_y, wanted_z, to_xyz)
    least = odd.min() + _ODD_FROM
    for k in range(len(odd)):
        odd[k] = F32(SAMPLES) * price * max(odd[k] - least, F32(0))


@compiled
def _rank(
    scene: Scene, room: Room, own: int, current: int, pull: Three,
    bend: Six,
) -> None:  # fmt: skip
    """Score every bead by the cell's mean, and by gradients for all around it."""
    inside = slice(own, own + SAMPLES)
    seen_1, seen_2, seen_3 = means(room.seen[:, inside])
    wanted_x, wanted_y, wanted_z = means(room.wanted[:, inside])
    share_1, share_2, share_3 = means(room.share[:, inside])
    to_xyz = to_xyz_by_value(scene.to_xyz)
    ones, twos, threes, score = scene.beads[0], scene.beads[1], scene.beads[2], room.score
    odd = room.odd
    old_1, old_2, old_3 = ones[current], twos[current], threes[current]
    for k in range(len(score)):
        d1, d2, d3 = ones[k] - old_1, twos[k] - old_2, threes[k] - old_3
        own_cost = difference(
            seen_1 + share_1 * d1, seen_2 + share_2 * d2, seen_3 + share_3 * d3,
            wanted_x, wanted_y, wanted_z, to_xyz,
        )  # fmt: skip
        score[k] = F32(SAMPLES) * own_cost + _far_cost((d1, d2, d3), pull, bend) + odd[k]


@compiled
def _far_cost(
    change: Three, pull: Three,
    bend: Six,
) -> Real:  # fmt: skip
    """Second-order estimate of what a change does to cells with a gradient and a Hessian."""
    d1, d2, d3 = change
    return (
        pull[0] * d1 + pull[1] * d2 + pull[2] * d3
        + _HALF * (bend[0] * d1 * d1 + bend[1] * d2 * d2 + bend[2] * d3 * d3)
        + bend[3] * d1 * d2 + bend[4] * d1 * d3 + bend[5] * d2 * d3
    )  # fmt: skip


@compiled
def _wake(active: NDArray[np.bool_], y: int, x: int) -> None:
    """Mark the cells around a change as worth a visit."""
    height, width = active.shape
    for row in range(max(0, y - 2), min(height, y + 3)):
        for column in range(max(0, x - 2), min(width, x + 3)):
            active[row, column] = True
