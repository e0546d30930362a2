"""What another bead in a cell would cost: the true difference near by, an estimate further off."""

from __future__ import annotations

from typing import NamedTuple, TypeAlias

import numpy as np
from numpy.typing import NDArray

from img2plate.base.compiled import Real, compiled
from img2plate.plate.search.field import (
    F32,
    SAMPLES,
    Scene,
    State,
    Workspace,
    edge,
    gather,
    gradient_beside,
    means,
    ring_gradient,
)
from img2plate.plate.search.lab32 import Three, difference, to_xyz_by_value, total_difference
from img2plate.plate.search.specks import specks_around
from img2plate.plate.search.spread import spread

Six: TypeAlias = tuple[Real, Real, Real, Real, Real, Real]
ODD_FROM_DE = 15.0
"""How much further than the nearest bead one may be from its cell's colour without a price."""
_ODD_FROM = np.float32(ODD_FROM_DE)
_HALF = np.float32(1 / 2)
_NEVER = np.float32(1e30)


class Rules(NamedTuple):
    """How a sweep judges beads; prices and temperature in dE over one cell."""

    speck_price: Real
    odd_price: Real
    """For each dE that a bead is further from the cell's own colour than the nearest bead and
    ODD_FROM_DE."""
    temperature: Real
    """By how much chance may prefer a worse bead."""
    tries: int
    """True tests at each visit."""
    number: int
    """Makes the order of visits, and chance."""


class Around(NamedTuple):
    """What is known of a cell's surroundings at a visit; the samples are in the Workspace."""

    samples: int
    """How many lie in the Workspace."""
    own: int
    """Where the cell's own begin."""
    gradient: Three
    """Gradient of all cells in the ring by the cell's bead."""
    hessian: Six
    """Its Hessian."""
    now: Real
    """Summed dE of the samples, and the price of the present bead, before any change."""
    specks: int
    """Specks among the cell and its 4-neighbours."""


@compiled
def look_around(
    scene: Scene, state: State, work: Workspace, y: int, x: int, rules: Rules
) -> Around:
    """Gather what a visit needs to judge beads in one cell."""
    count, own = gather(scene, state, work, near_of(scene, y, x), y, x)
    price_beads(scene, state, work, own, F32(rules.odd_price))
    still = (F32(0), F32(0), F32(0))
    to_xyz = to_xyz_by_value(scene.to_xyz)
    gradient = ring_gradient(scene, state, work.each, y, x)
    now = total_difference(work.seen, work.wanted, to_xyz, still, work.share, work.each, count)
    now += work.price[state.cells[y, x]]
    specks = specks_around(state.cells, y, x)
    return Around(count, own, gradient, _six(state.ring_hessian, y, x), now, specks)


@compiled
def near_of(scene: Scene, y: int, x: int) -> NDArray[np.float32]:
    """What a bead in this cell adds to the samples around it."""
    height, width = scene.filled.shape
    near: NDArray[np.float32] = scene.near[edge(y, height), edge(x, width)]
    return near


@compiled
def cost_of(
    scene: Scene,
    state: State,
    work: Workspace,
    around: Around,
    y: int,
    x: int,
    k: int,
    rules: Rules,
) -> Real:
    """How much another bead costs, in dE over the cell's samples; below 0 it is better."""
    current = state.cells[y, x]
    change = change_of(scene.beads, current, k)
    to_xyz = to_xyz_by_value(scene.to_xyz)
    cost = far_cost(change, around.gradient, around.hessian) + work.price[k] - around.now
    cost += total_difference(
        work.seen, work.wanted, to_xyz, change, work.share, work.each, around.samples
    )
    if rules.speck_price > 0:
        state.cells[y, x] = k
        more = specks_around(state.cells, y, x) - around.specks
        state.cells[y, x] = current
        cost += F32(SAMPLES * rules.speck_price) * F32(more)
    return cost


@compiled
def put(scene: Scene, state: State, work: Workspace, y: int, x: int, k: int) -> None:
    """Put another bead into a cell."""
    change = change_of(scene.beads, state.cells[y, x], k)
    state.cells[y, x] = k
    spread(scene, state, work, near_of(scene, y, x), change, y, x)


@compiled
def change_of(beads: NDArray[np.float32], old: int, new: int) -> Three:
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
def price_beads(scene: Scene, state: State, work: Workspace, own: int, price: Real) -> None:
    """What each bead costs for its colour, and for being far from the colour of its own cell."""
    odd = work.price
    if price <= 0:
        for k in range(len(odd)):
            odd[k] = F32(SAMPLES) * state.price[k]
        return
    wanted_x, wanted_y, wanted_z = means(work.wanted[:, own : own + SAMPLES])
    ones, twos, threes = scene.beads[0], scene.beads[1], scene.beads[2]
    to_xyz = to_xyz_by_value(scene.to_xyz)
    for k in range(len(odd)):
        odd[k] = difference(ones[k], twos[k], threes[k], wanted_x, wanted_y, wanted_z, to_xyz)
    least = _NEVER
    for k in range(len(odd)):
        least = min(least, odd[k] + state.price[k])  # not a colour that is forbidden
    least += _ODD_FROM
    for k in range(len(odd)):
        odd[k] = F32(SAMPLES) * (state.price[k] + price * max(odd[k] - least, F32(0)))


@compiled
def rank(scene: Scene, state: State, work: Workspace, around: Around, y: int, x: int) -> None:
    """Score every bead by the cell's mean, and by gradients for all around it."""
    current, own, hessian = state.cells[y, x], around.own, around.hessian
    beside = gradient_beside(scene, state, near_of(scene, y, x), y, x)
    gradient = (
        around.gradient[0] + beside[0],
        around.gradient[1] + beside[1],
        around.gradient[2] + beside[2],
    )
    inside = slice(own, own + SAMPLES)
    seen_1, seen_2, seen_3 = means(work.seen[:, inside])
    wanted_x, wanted_y, wanted_z = means(work.wanted[:, inside])
    share_1, share_2, share_3 = means(work.share[:, inside])
    to_xyz = to_xyz_by_value(scene.to_xyz)
    ones, twos, threes, score = scene.beads[0], scene.beads[1], scene.beads[2], work.score
    odd = work.price
    old_1, old_2, old_3 = ones[current], twos[current], threes[current]
    for k in range(len(score)):
        d1, d2, d3 = ones[k] - old_1, twos[k] - old_2, threes[k] - old_3
        own_cost = difference(
            seen_1 + share_1 * d1, seen_2 + share_2 * d2, seen_3 + share_3 * d3,
            wanted_x, wanted_y, wanted_z, to_xyz,
        )  # fmt: skip
        score[k] = F32(SAMPLES) * own_cost + far_cost((d1, d2, d3), gradient, hessian) + odd[k]


@compiled
def far_cost(change: Three, gradient: Three, hessian: Six) -> Real:
    """Second-order estimate of what a change does to cells with a gradient and a Hessian."""
    d1, d2, d3 = change
    return (
        gradient[0] * d1 + gradient[1] * d2 + gradient[2] * d3
        + _HALF * (hessian[0] * d1 * d1 + hessian[1] * d2 * d2 + hessian[2] * d3 * d3)
        + hessian[3] * d1 * d2 + hessian[4] * d1 * d3 + hessian[5] * d2 * d3
    )  # fmt: skip
