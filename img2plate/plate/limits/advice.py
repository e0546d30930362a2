"""Which purchases would improve a plate that is limited by the stock, and by how much."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from img2plate.colour.palette import Palette
from img2plate.image.grid import Grid
from img2plate.inventory.stock import Stock
from img2plate.plate.limits.choice import ChoiceOptions, enough, wanted_colours
from img2plate.plate.limits.transport import transport
from img2plate.plate.shade.distinct import differences

BAG_BEADS = 1000
"""Beads of a purchase when no bag is stated; common practice, no source."""
_TESTED = 4
"""Colours that are tried in full for each purchase."""


@dataclass(frozen=True)
class Purchase:
    """One bag to buy, after those before it."""

    code: str
    name: str
    beads: int
    before: float
    """Mean difference of a bead from its cell's colour, by the formula that was asked for."""
    after: float

    def __str__(self) -> str:
        change = f"mean difference {self.before:.2f} to {self.after:.2f}"
        return f"buy {self.beads} {self.name} ({self.code}): {change}"


def advise(
    grid: Grid,
    palette: Palette,
    stock: Stock,
    choice: ChoiceOptions,
    *,
    difference: str,
    bags: NDArray[np.int64] | None = None,
    most: int = 3,
) -> tuple[Purchase, ...]:
    """The purchases that lower the summed difference most, each after the ones before it.

    Worked out for the plate without shading, exactly for each purchase that is tried. bags: (n,)
    beads in a bag of each palette colour, BAG_BEADS unless given. Raises StockError when there are
    not enough beads for the plate.
    """
    kept = choice.allowed(palette)
    limits = stock.limits(palette)[kept]
    bags = np.full(len(kept), BAG_BEADS) if bags is None else bags[kept]
    enough(grid, int(limits.sum()))
    wanted = wanted_colours(grid)
    costs = differences(wanted.linear, palette, difference)[:, kept]
    cells = int(wanted.counts.sum())
    flow, found = transport(costs, wanted.counts, limits), list[Purchase]()
    while len(found) < most:
        before = float((flow * costs).sum())
        tried = [
            (transport(costs, wanted.counts, _with(limits, k, bags)), k)
            for k in _promising(flow, costs, bags)
        ]
        if not tried:
            break
        best, k = min(tried, key=lambda each: (float((each[0] * costs).sum()), each[1]))
        bead, after = palette.beads[kept[k]], float((best * costs).sum())
        found.append(Purchase(bead.code, bead.name, int(bags[k]), before / cells, after / cells))
        limits, flow = _with(limits, k, bags), best
    return tuple(found)


def _with(limits: NDArray[np.int64], k: int, bags: NDArray[np.int64]) -> NDArray[np.int64]:
    """The limits after a purchase."""
    more = limits.copy()
    more[k] += bags[k]
    return more


def _promising(
    flow: NDArray[np.int64], costs: NDArray[np.float64], bags: NDArray[np.int64]
) -> list[int]:
    """Colours that save most when the cells that gain most change to them directly.

    That is what a purchase saves at least: others may move up into the beads that come free.
    """
    now = (flow * costs).sum(axis=1) / np.maximum(flow.sum(axis=1), 1)
    saved = np.maximum(now[:, None] - costs, 0.0)
    order = np.argsort(-saved, axis=0)
    sorted_savings = np.take_along_axis(saved, order, axis=0)
    cells = flow.sum(axis=1)[order]
    left = np.clip(bags - (cells.cumsum(axis=0) - cells), 0, cells)
    sums = (sorted_savings * left).sum(axis=0)
    return [int(k) for k in np.argsort(-sums, kind="stable")[:_TESTED] if sums[k] > 0]
