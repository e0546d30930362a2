"""Compiled loops of the transport problem; see `transport`."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from img2plate.base.compiled import compiled

_NEVER = 1e300
_ROUNDING = 1e-11
"""A way that is cheaper by less is none: it could be a circle that rounding made."""


class Users(NamedTuple):
    """The colours that use each bead: looking through all colours instead took most of the time."""

    colours: NDArray[np.int32]
    """(m, n), of which the first `number` of a row are used."""
    number: NDArray[np.int64]
    """(m,)."""


@compiled
def relieve(
    costs: NDArray[np.float64],
    flow: NDArray[np.int64],
    taken: NDArray[np.int64],
    limits: NDArray[np.int64],
) -> None:
    """Move cells, in `flow` (m, n), until each bead is used as often as it is taken.

    costs: (m, n); taken: (m,) beads that are taken out of the `limits` (m,); it changes too.
    """
    beads = costs.shape[0]
    spare = np.empty(beads + 1, np.int64)  # the last is the heap that beads are taken from
    spare[:beads] = taken - flow.sum(axis=1)
    spare[beads] = -spare[:beads].sum()
    users = _users(flow)
    way = np.full((beads + 1, beads + 1), _NEVER)
    mover = np.full((beads + 1, beads + 1), -1)
    for j in range(beads):
        for k in range(beads):
            _look(costs, users, way, mover, j, k)
        _look_at_heap(way, taken, limits, j)
    cost, before = np.empty(beads + 1), np.empty(beads + 1, np.int64)
    while spare.min() < 0:
        end = _cheapest_chain(way, spare, cost, before)
        _push(costs, flow, users, taken, limits, way, mover, spare, before, end)


@compiled
def _users(flow: NDArray[np.int64]) -> Users:
    """Who uses each bead."""
    beads, colours = flow.shape
    users = Users(np.empty((beads, colours), np.int32), np.zeros(beads, np.int64))
    for j in range(beads):
        for i in range(colours):
            if flow[j, i] > 0:
                _add_user(users, j, i)
    return users


@compiled
def _add_user(users: Users, j: int, i: int) -> None:
    """Colour i comes to use bead j."""
    users.colours[j, users.number[j]] = i
    users.number[j] += 1


@compiled
def _drop_user(users: Users, j: int, i: int) -> None:
    """Colour i uses bead j no more: the last takes its place."""
    place = 0
    while users.colours[j, place] != i:
        place += 1
    users.number[j] -= 1
    users.colours[j, place] = users.colours[j, users.number[j]]


@compiled
def _look_at_heap(
    way: NDArray[np.float64], taken: NDArray[np.int64], limits: NDArray[np.int64], j: int
) -> None:
    """A wish for bead j can be met from the heap while it has some; a bead can be put back."""
    heap = len(taken)
    way[j, heap] = 0.0 if taken[j] < limits[j] else _NEVER
    way[heap, j] = 0.0 if taken[j] > 0 else _NEVER


@compiled
def _look(
    costs: NDArray[np.float64],
    users: Users,
    way: NDArray[np.float64],
    mover: NDArray[np.int64],
    j: int,
    k: int,
) -> None:
    """Find what a cell of bead j costs least to become bead k, and whose it is."""
    best, least = -1, _NEVER
    if j != k:
        for i in users.colours[j, : users.number[j]]:
            if costs[k, i] - costs[j, i] < least:
                best, least = i, costs[k, i] - costs[j, i]
    way[j, k], mover[j, k] = least, best


@compiled
def _cheapest_chain(
    way: NDArray[np.float64],
    spare: NDArray[np.int64],
    cost: NDArray[np.float64],
    before: NDArray[np.int64],
) -> int:
    """Cheapest chain from where there is too little to where some is spare (Bellman, Ford)."""
    beads = len(spare)
    for j in range(beads):
        cost[j], before[j] = (0.0 if spare[j] < 0 else _NEVER), -1
    for _ in range(beads):
        changed = False
        for j in range(beads):
            if cost[j] < _NEVER:
                for k in range(beads):
                    if cost[j] + way[j, k] < cost[k] - _ROUNDING:
                        cost[k], before[k], changed = cost[j] + way[j, k], j, True
        if not changed:
            break
    end, least = -1, 2 * _NEVER
    for k in range(beads):
        if spare[k] > 0 and cost[k] < least:
            end, least = k, cost[k]
    return end


@compiled
def _push(
    costs: NDArray[np.float64],
    flow: NDArray[np.int64],
    users: Users,
    taken: NDArray[np.int64],
    limits: NDArray[np.int64],
    way: NDArray[np.float64],
    mover: NDArray[np.int64],
    spare: NDArray[np.int64],
    before: NDArray[np.int64],
    end: int,
) -> None:
    """Move as many cells along a chain as all its links have."""
    heap, amount, k = len(taken), spare[end], end
    chain = np.empty(heap + 2, np.int64)
    length = 0
    while before[k] >= 0:
        j = before[k]
        chain[length] = mover[j, k]
        if k == heap:
            amount = min(amount, limits[j] - taken[j])
        elif j == heap:
            amount = min(amount, taken[k])
        else:
            amount = min(amount, flow[j, mover[j, k]])
        length, k = length + 1, j
    amount = min(amount, -spare[k])
    spare[k] += amount
    spare[end] -= amount
    k = end
    for step in range(length):
        j, i = before[k], chain[step]
        if k == heap:
            taken[j] += amount
        elif j == heap:
            taken[k] -= amount
        else:
            if flow[k, i] == 0:
                _add_user(users, k, i)
            flow[j, i] -= amount
            flow[k, i] += amount
            if flow[j, i] == 0:
                _drop_user(users, j, i)
        k = j
    k = end
    for step in range(length):
        j = before[k]
        if k == heap or j == heap:
            _look_at_heap(way, taken, limits, min(j, k))
        else:
            _see_moved(costs, flow, users, way, mover, chain[step], j, k)
        k = j


@compiled
def _see_moved(
    costs: NDArray[np.float64],
    flow: NDArray[np.int64],
    users: Users,
    way: NDArray[np.float64],
    mover: NDArray[np.int64],
    i: int,
    j: int,
    k: int,
) -> None:
    """Bring what leads away from j and k up to date after cells of colour i went from j to k."""
    for other in range(costs.shape[0]):
        if flow[j, i] == 0 and mover[j, other] == i:
            _look(costs, users, way, mover, j, other)
        if other != k and flow[k, i] > 0 and costs[other, i] - costs[k, i] < way[k, other]:
            way[k, other], mover[k, other] = costs[other, i] - costs[k, i], i
