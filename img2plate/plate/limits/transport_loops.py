"""Compiled loops of the transport problem: successive shortest paths; see `transport`."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from img2plate.base.compiled import compiled

_NO_ARC = 1e300
_ROUNDING = 1e-11
"""A path that is cheaper by less is none: it could be a cycle that rounding made."""


class Users(NamedTuple):
    """The colours that use each bead: looking through all colours instead took most of the time."""

    colours: NDArray[np.int32]
    """(m, n), of which the first `number` of a row are used."""
    number: NDArray[np.int64]
    """(m,)."""


class Residual(NamedTuple):
    """The residual graph: a node for each bead, and a last one, the slack, for beads left over.

    An arc from node j to node k says what it costs least to move one cell from bead j to bead k.
    """

    costs: NDArray[np.float64]
    """(m, n) of a cell of each colour in each bead."""
    flow: NDArray[np.int64]
    """(m, n) cells of each colour that go to each bead."""
    users: Users
    taken: NDArray[np.int64]
    """(m,) beads that are taken out of the limits."""
    limits: NDArray[np.int64]
    """(m,) beads that are there."""
    arc_cost: NDArray[np.float64]
    """(m + 1, m + 1)."""
    arc_colour: NDArray[np.int64]
    """(m + 1, m + 1) whose cell moves; -1 for arcs to and from the slack."""
    excess: NDArray[np.int64]
    """(m + 1,) beads taken but not used; below 0: wanted but not taken."""


@compiled
def settle_flow(
    costs: NDArray[np.float64],
    flow: NDArray[np.int64],
    taken: NDArray[np.int64],
    limits: NDArray[np.int64],
) -> None:
    """Move cells, in `flow` (m, n), until each bead is used as often as it is taken.

    costs: (m, n); taken: (m,) beads that are taken out of the `limits` (m,); it changes too.
    """
    graph = _residual(costs, flow, taken, limits)
    nodes = len(graph.excess)
    distance, parent = np.empty(nodes), np.empty(nodes, np.int64)
    while graph.excess.min() < 0:
        end = _shortest_path(graph, distance, parent)
        _augment(graph, parent, end)


@compiled
def _residual(
    costs: NDArray[np.float64],
    flow: NDArray[np.int64],
    taken: NDArray[np.int64],
    limits: NDArray[np.int64],
) -> Residual:
    """Set up the residual graph of a flow."""
    beads = costs.shape[0]
    excess = np.empty(beads + 1, np.int64)
    excess[:beads] = taken - flow.sum(axis=1)
    excess[beads] = -excess[:beads].sum()
    arc_cost = np.full((beads + 1, beads + 1), _NO_ARC)
    arc_colour = np.full((beads + 1, beads + 1), -1)
    graph = Residual(costs, flow, _users(flow), taken, limits, arc_cost, arc_colour, excess)
    for j in range(beads):
        for k in range(beads):
            _find_arc(graph, j, k)
        _find_slack_arcs(graph, j)
    return graph


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
def _find_slack_arcs(graph: Residual, j: int) -> None:
    """A wish for bead j can be met while some are left over; a bead can be put back."""
    slack = len(graph.taken)
    graph.arc_cost[j, slack] = 0.0 if graph.taken[j] < graph.limits[j] else _NO_ARC
    graph.arc_cost[slack, j] = 0.0 if graph.taken[j] > 0 else _NO_ARC


@compiled
def _find_arc(graph: Residual, j: int, k: int) -> None:
    """Find what a cell of bead j costs least to become bead k, and whose it is."""
    best, least = -1, _NO_ARC
    if j != k:
        from_j, to_k = graph.costs[j], graph.costs[k]
        for i in graph.users.colours[j, : graph.users.number[j]]:
            if to_k[i] - from_j[i] < least:
                best, least = i, to_k[i] - from_j[i]
    graph.arc_cost[j, k], graph.arc_colour[j, k] = least, best


@compiled
def _shortest_path(
    graph: Residual, distance: NDArray[np.float64], parent: NDArray[np.int64]
) -> int:
    """Cheapest path from where there is too little to where some is left (Bellman, Ford)."""
    excess, arc_cost = graph.excess, graph.arc_cost
    nodes = len(excess)
    for j in range(nodes):
        distance[j], parent[j] = (0.0 if excess[j] < 0 else _NO_ARC), -1
    for _ in range(nodes):
        changed = False
        for j in range(nodes):
            if distance[j] < _NO_ARC:
                for k in range(nodes):
                    if distance[j] + arc_cost[j, k] < distance[k] - _ROUNDING:
                        distance[k], parent[k], changed = distance[j] + arc_cost[j, k], j, True
        if not changed:
            break
    end, least = -1, 2 * _NO_ARC
    for k in range(nodes):
        if excess[k] > 0 and distance[k] < least:
            end, least = k, distance[k]
    return end


@compiled
def _augment(graph: Residual, parent: NDArray[np.int64], end: int) -> None:
    """Move as many cells along a path as all its arcs can carry."""
    slack = len(graph.taken)
    # The colours of the arcs are noted first: moving cells changes the arcs.
    colours = np.empty(slack + 2, np.int64)
    arcs, k, amount = 0, end, graph.excess[end]
    while parent[k] >= 0:
        j = parent[k]
        colours[arcs] = graph.arc_colour[j, k]
        amount = min(amount, _capacity(graph, j, k))
        arcs, k = arcs + 1, j
    amount = min(amount, -graph.excess[k])
    graph.excess[k] += amount
    graph.excess[end] -= amount
    k = end
    for arc in range(arcs):
        _move(graph, parent[k], k, colours[arc], amount)
        k = parent[k]
    k = end
    for arc in range(arcs):
        _mend_arcs(graph, parent[k], k, colours[arc])
        k = parent[k]


@compiled
def _capacity(graph: Residual, j: int, k: int) -> int:
    """How many cells can move along an arc."""
    slack = len(graph.taken)
    if k == slack:
        return int(graph.limits[j] - graph.taken[j])
    if j == slack:
        return int(graph.taken[k])
    return int(graph.flow[j, graph.arc_colour[j, k]])


@compiled
def _move(graph: Residual, j: int, k: int, i: int, amount: int) -> None:
    """Move cells of colour i along an arc."""
    slack = len(graph.taken)
    if k == slack:
        graph.taken[j] += amount
    elif j == slack:
        graph.taken[k] -= amount
    else:
        if graph.flow[k, i] == 0:
            _add_user(graph.users, k, i)
        graph.flow[j, i] -= amount
        graph.flow[k, i] += amount
        if graph.flow[j, i] == 0:
            _drop_user(graph.users, j, i)


@compiled
def _mend_arcs(graph: Residual, j: int, k: int, i: int) -> None:
    """Bring arcs that leave j and k up to date after cells of colour i went from j to k."""
    slack = len(graph.taken)
    if k == slack or j == slack:
        _find_slack_arcs(graph, min(j, k))
        return
    costs, flow, arc_cost, arc_colour = graph.costs, graph.flow, graph.arc_cost, graph.arc_colour
    for other in range(costs.shape[0]):
        if flow[j, i] == 0 and arc_colour[j, other] == i:
            _find_arc(graph, j, other)
        if other != k and flow[k, i] > 0 and costs[other, i] - costs[k, i] < arc_cost[k, other]:
            arc_cost[k, other], arc_colour[k, other] = costs[other, i] - costs[k, i], i
