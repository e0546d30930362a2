"""The fewest beads that join all pieces of a plate: a Steiner tree on the empty cells.

With few pieces on few cells it is found exactly (S. E. Dreyfus and R. A. Wagner, The Steiner
problem in graphs, Networks 1, 195-207, 1971, with prices on cells in the place of lengths). Else
pieces are joined along a minimum spanning tree of the ways between them (K. Mehlhorn, A faster
approximation algorithm for the Steiner problem in graphs, Inf. Proc. Letters 27, 125-128, 1988),
cells that are not needed are taken back, and a number that no way can do with less than is given.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from img2plate.base.arrays import Mask
from img2plate.plate.strength.hanging import Counts, joints
from img2plate.plate.strength.strength import pieces_of

MOST_EXACT_PIECES = 6
MOST_EXACT_CELLS = 3000
_SLIGHT = 2.0**-20
"""Price of going through a piece: ways that do not are taken when beads are equal."""


class Bridges(NamedTuple):
    """Beads that join all pieces."""

    cells: Mask
    """(h, w) where beads are to be added."""
    least: int
    """So many any way needs; when it is exact, as many as there are."""

    @property
    def is_exact(self) -> bool:
        """Whether no way needs fewer."""
        return int(self.cells.sum()) == self.least


def find_bridges(filled: Mask) -> Bridges:
    """Find cells that join all pieces of a plate side to side, few of them or the fewest."""
    graph = _Graph.of(filled)
    if graph.pieces < 2:
        return Bridges(np.zeros_like(filled), 0)
    if graph.pieces <= MOST_EXACT_PIECES and filled.size <= MOST_EXACT_CELLS:
        cells = graph.mask(_fewest(graph))
        return Bridges(cells, int(cells.sum()))
    cells = _without_needless(filled, graph.mask(_spanning(graph)))
    return Bridges(cells, _bound(graph))


class _Graph(NamedTuple):
    """Empty cells, and each piece as one node; pieces come first."""

    node: Counts
    """(h, w) the node that a cell is, or is part of."""
    pieces: int
    first: Counts
    second: Counts
    """Nodes side by side."""

    @classmethod
    def of(cls, filled: Mask) -> _Graph:
        labels, pieces = pieces_of(filled)
        node = labels.astype(np.int64) - 1
        node[~filled] = pieces + np.arange(np.count_nonzero(~filled))
        first, second = joints(node)
        apart = np.unique(np.sort(np.stack([first, second]), axis=0), axis=1)
        apart = apart[:, apart[0] != apart[1]]
        return cls(node, pieces, apart[0], apart[1])

    @property
    def nodes(self) -> int:
        return int(self.node.max()) + 1

    def mask(self, chosen: Counts) -> Mask:
        """(h, w) the cells of chosen nodes."""
        is_chosen = np.zeros(self.nodes, bool)
        is_chosen[chosen] = True
        is_chosen[: self.pieces] = False
        return np.asarray(is_chosen[self.node])


def _fewest(graph: _Graph) -> Counts:
    """Nodes of the cheapest tree through all pieces, exactly.

    best[set][node] is the price of the cheapest tree through a set of pieces that contains a node.
    """
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import dijkstra

    nodes, pieces = graph.nodes, graph.pieces
    price = np.ones(nodes)
    price[:pieces] = _SLIGHT
    source = nodes
    rows = np.concatenate([graph.first, graph.second, np.full(nodes, source)])
    columns = np.concatenate([graph.second, graph.first, np.arange(nodes)])
    steps = np.concatenate([price[graph.second], price[graph.first]])
    full = (1 << pieces) - 1
    best = np.full((full + 1, nodes), np.inf)
    split = np.zeros((full + 1, nodes), np.int64)
    before = np.zeros((full + 1, nodes), np.int64)
    for wanted in sorted(range(1, full + 1), key=int.bit_count):
        start = np.full(nodes, np.inf)
        if wanted.bit_count() == 1:
            start[wanted.bit_length() - 1] = _SLIGHT
        part = (wanted - 1) & wanted
        while part:
            if part >= wanted ^ part:
                joined = best[part] + best[wanted ^ part] - price
                split[wanted] = np.where(joined < start, part, split[wanted])
                start = np.minimum(start, joined)
            part = (part - 1) & wanted
        values = np.concatenate([steps, start])
        is_way = np.isfinite(values)
        ways = coo_array(
            (values[is_way], (rows[is_way], columns[is_way])), (nodes + 1, nodes + 1)
        ).tocsr()
        length, came = dijkstra(ways, indices=source, return_predecessors=True)
        best[wanted], before[wanted] = length[:nodes], came[:nodes]
    return _traced(full, int(best[full].argmin()), split, before, source)


def _traced(
    full: int, end: int, split: NDArray[np.int64], before: NDArray[np.int64], source: int
) -> Counts:
    """Walk back from a tree's end to all that it was made of."""
    chosen, waiting = [], [(full, end)]
    while waiting:
        wanted, node = waiting.pop()
        chosen.append(node)
        came = int(before[wanted, node])
        if came != source:
            waiting.append((wanted, came))
        elif part := int(split[wanted, node]):
            waiting += [(part, node), (wanted ^ part, node)]
    return np.array(chosen)


def _ways(graph: _Graph) -> tuple[NDArray[np.float64], Counts, Counts]:
    """Of each node how far the nearest piece is (half steps out of pieces), from where, which."""
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import dijkstra

    lengths = np.where(graph.first < graph.pieces, 0.5, 1.0)  # first < second: pieces come first
    ways = coo_array((lengths, (graph.first, graph.second)), (graph.nodes, graph.nodes)).tocsr()
    length, before, nearest = dijkstra(
        ways, directed=False, indices=np.arange(graph.pieces), min_only=True,
        return_predecessors=True,
    )  # fmt: skip
    return length, before.astype(np.int64), nearest.astype(np.int64)


def _spanning(graph: _Graph) -> Counts:
    """Nodes of the shortest ways that join all pieces, as in a minimum spanning tree."""
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import minimum_spanning_tree

    length, before, nearest = _ways(graph)
    is_met = nearest[graph.first] != nearest[graph.second]
    one, other = graph.first[is_met], graph.second[is_met]
    step = np.where(one < graph.pieces, 0.5, 1.0)
    along = length[one] + step + length[other]
    pair = np.sort(np.stack([nearest[one], nearest[other]]), axis=0)
    order = np.lexsort((along, pair[1], pair[0]))
    _, at = np.unique(pair[:, order], axis=1, return_index=True)
    shortest = order[at]
    many = graph.pieces
    tree = minimum_spanning_tree(
        coo_array((along[shortest], tuple(pair[:, shortest])), (many, many)).tocsr()
    ).tocoo()
    kept = np.isin(pair[0, shortest] * many + pair[1, shortest], tree.row * many + tree.col)
    ends = np.concatenate([one[shortest[kept]], other[shortest[kept]]])
    chosen = [ends]
    while (ends := before[ends[ends >= graph.pieces]]).size:
        chosen.append(ends)
    return np.concatenate(chosen)


def _without_needless(filled: Mask, added: Mask) -> Mask:
    """Take back added cells, one at a time, without which all pieces still hang together."""
    from img2plate.plate.strength.hanging import hanging

    kept = added.copy()
    while kept.any():
        both = filled | kept
        pieces, _ = pieces_of(both)
        spare = kept & (hanging(both, pieces) == 0)
        if not spare.any():
            break
        kept[tuple(np.argwhere(spare)[0])] = False
    return kept


def _bound(graph: _Graph) -> int:
    """A number of beads that no way of joining all pieces can do with less than.

    Round each piece lies a zone of empty cells nearer than half the way to the next piece; zones do
    not meet, and any tree crosses each. And a bead has four sides, so it joins four at most.
    """
    length, _, nearest = _ways(graph)
    one, other = nearest[graph.first], nearest[graph.second]
    step = np.where(graph.first < graph.pieces, 0.5, 1.0)
    gap = length[graph.first] + step + length[graph.second]
    to_next = np.full(graph.pieces, np.inf)
    for end in (one, other):
        np.minimum.at(to_next, end[one != other], gap[one != other])
    zones = int(np.floor(to_next / 2 + 1e-9).sum())
    return max(zones, -(-(graph.pieces - 1) // 3), int(to_next.max()))
