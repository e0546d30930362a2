"""Beads for colours when each bead is there only so many times: the transport problem, exactly.

Prices on scarce beads, found by subgradient steps, bring the wishes near to what is there. What is
then still wanted too often, or paid for but not taken, is passed on along the cheapest chains of
beads: successive shortest paths (R. G. Busacker, P. J. Gowen, 1960; W. S. Jewell, 1962) on a graph
of beads and one slack node for what is left over. The prices only save time; the answer is exact.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from img2plate.base.errors import StockError

_PRICE_STEPS = 120
_PRICE_SHRINK = 0.95


def transport(
    costs: NDArray[np.float64], counts: NDArray[np.int64], limits: NDArray[np.int64]
) -> NDArray[np.int64]:
    """(n, m) int64: how many cells of each colour go to each bead, at the least total cost.

    costs: (n, m) float64 for one cell; counts: (n,) cells of each colour; limits: (m,) beads that
    are there. Raises StockError when there are fewer beads than cells.
    """
    if (missing := int(counts.sum() - limits.sum())) > 0:
        raise StockError(f"{missing} beads are missing")
    from img2plate.plate.limits.transport_loops import settle_flow

    by_bead = np.ascontiguousarray(costs.T, dtype=np.float64)  # loops run along a bead's row
    prices = _prices(by_bead, counts, limits)
    flow = np.zeros(by_bead.shape, np.int64)
    flow[(by_bead + prices[:, None]).argmin(axis=0), np.arange(len(costs))] = counts
    # A bead with a price has to be used up; of one without, as many are taken as are wanted.
    taken = np.where(prices > 0, limits, np.minimum(flow.sum(axis=1), limits)).astype(np.int64)
    settle_flow(by_bead, flow, taken, limits.astype(np.int64))
    return np.ascontiguousarray(flow.T)


def _prices(
    costs: NDArray[np.float64], counts: NDArray[np.int64], limits: NDArray[np.int64]
) -> NDArray[np.float64]:
    """(m,) prices from 0 at which the wishes come near the limits; costs is (m, n)."""
    prices = np.zeros(len(costs))
    wishes = np.bincount(costs.argmin(axis=0), counts, minlength=len(costs))
    if (wishes <= limits).all():
        return prices
    step, mean = float(np.median(costs)), counts.sum() / len(costs)
    scaled = np.array(costs, dtype=np.float32)
    for _ in range(_PRICE_STEPS):
        prices = np.maximum(0.0, prices + step * np.clip((wishes - limits) / mean, -1, 1))
        priced = scaled + prices[:, None].astype(np.float32)
        wishes = np.bincount(priced.argmin(axis=0), counts, minlength=len(costs))
        step *= _PRICE_SHRINK
    return prices


def spread_cells(flow: NDArray[np.int64], where: NDArray[np.int64]) -> NDArray[np.int16]:
    """(cells,) int16 beads, from how many cells of each colour go to each bead.

    where: (cells,) each cell's colour. A colour that is shared among beads is so in the order of
    its cells: from the top row down.
    """
    order = np.argsort(where, kind="stable")
    beads = np.tile(np.arange(flow.shape[1], dtype=np.int16), flow.shape[0])
    cells = np.empty(len(where), np.int16)
    cells[order] = np.repeat(beads, flow.ravel())
    return cells
