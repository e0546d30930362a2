"""What would break off a plate if one bead were taken out of it.

Beads are the nodes of a graph, joints (sides in common) its edges; a bead that holds two parts
together is a cut vertex (J. Hopcroft and R. Tarjan, Algorithm 447, Comm. ACM 16, 372-378, 1973).
The depth-first tree comes from scipy; what Tarjan adds up from its leaves is added up here by
doubling: after step k every bead knows what lies up to 2^k beads below it.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from img2plate.base.arrays import Mask

Counts = NDArray[np.int64]


def hanging(filled: Mask, pieces: NDArray[np.int32]) -> Counts:
    """(h, w) int64: beads in the second largest part that is left when a bead is taken out.

    0 where what is left of its piece hangs together, or there is no bead. pieces: (h, w) number of
    the piece that each bead is of, 1 to n, 0 for none.
    """
    node = np.full(filled.shape, -1, np.int64)
    node[filled] = np.arange(np.count_nonzero(filled))
    first, second = joints(node)
    of = pieces[filled].astype(np.int64) - 1
    left = _second_part(first, second, of)
    found = np.zeros(filled.shape, np.int64)
    found[filled] = left
    return found


def joints(node: Counts) -> tuple[Counts, Counts]:
    """Both ends of each side that two nodes have in common; `node` is -1 where there is none."""
    ends = []
    for one, other in ((node[:, :-1], node[:, 1:]), (node[:-1], node[1:])):
        both = (one >= 0) & (other >= 0)
        ends.append((one[both], other[both]))
    return np.concatenate([end[0] for end in ends]), np.concatenate([end[1] for end in ends])


def _second_part(first: Counts, second: Counts, of: Counts) -> Counts:
    """(n,) the second largest part that is left when a node is taken out; `of`: its piece."""
    count = of.size
    order, parent = _depth_first(first, second, of)
    place = np.empty(order.size, np.int64)
    place[order] = np.arange(order.size)
    lowest = place[:count].copy()  # the earliest node that each sees itself
    np.minimum.at(lowest, first, place[second])
    np.minimum.at(lowest, second, place[first])
    size, lowest = _below(parent, lowest, place)
    mine = np.arange(count)
    above = parent[:count]
    is_cut = (above < count) & (lowest[:count] >= place[above])  # cut off when `above` is taken
    cut, by = size[:count][is_cut], above[is_cut]
    largest, sums = np.zeros((2, count), np.int64)
    np.maximum.at(largest, by, cut)
    np.add.at(sums, by, cut)
    # Of equal parts one is the largest; the others still come second.
    rank = cut.copy()
    at_top = np.flatnonzero(cut == largest[by])
    _, one_each = np.unique(by[at_top], return_index=True)
    rank[at_top[one_each]] = 0
    second_largest = np.zeros(count, np.int64)
    np.maximum.at(second_largest, by, rank)
    rest = np.bincount(of)[of][mine] - 1 - sums
    return np.where(rest >= largest, largest, np.maximum(rest, second_largest))


def _depth_first(first: Counts, second: Counts, of: Counts) -> tuple[Counts, Counts]:
    """Nodes in the order of a depth-first walk, and the node that each was reached from.

    A chain of nodes of no bead, after the `of.size` others, leads to the first bead of each piece,
    so that one walk reaches all.
    """
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import depth_first_order

    count = of.size
    _, starts = np.unique(of, return_index=True)
    chain = count + np.arange(starts.size)
    one = np.concatenate([first, chain[:-1], chain])
    other = np.concatenate([second, chain[1:], starts])
    nodes = count + starts.size
    graph = coo_array((np.ones(one.size, np.int8), (one, other)), (nodes, nodes)).tocsr()
    order, parent = depth_first_order(graph, count, directed=False)
    parent = parent.astype(np.int64)
    parent[count] = nodes  # above the first of the chain lies nothing
    return order.astype(np.int64), parent


def _below(parent: Counts, lowest: Counts, place: Counts) -> tuple[Counts, Counts]:
    """Nodes below each, itself counted, and the least of `lowest` there."""
    nodes = parent.size
    size = np.append(np.ones(nodes, np.int64), 0)
    low = np.concatenate([lowest, place[lowest.size :], [nodes]])
    up = np.append(parent, nodes)
    while (up[:nodes] < nodes).any():
        size = size + np.bincount(up, weights=size, minlength=nodes + 1).astype(np.int64)
        size[nodes] = 0
        lower = low.copy()
        np.minimum.at(lower, up[:nodes], low[:nodes])
        lower[nodes] = nodes
        low, up = lower, up[up]
    return size, low
