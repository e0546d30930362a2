"""Advice on purchases: the gain that is told is the gain that buying brings."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from support import make_palette, some

from img2plate.image.grid import Grid
from img2plate.inventory.stock import Stock
from img2plate.plate.limits.advice import advise
from img2plate.plate.limits.choice import ChoiceOptions, shade_chosen, wanted_colours
from img2plate.plate.shade.distinct import differences
from img2plate.plate.shade.shading import ShadingOptions

PALETTE = make_palette(8, seed=5)


def mean_difference(grid: Grid, stock: Stock) -> float:
    cells = shade_chosen(
        grid, PALETTE, ShadingOptions("none", difference="hyab"), stock=stock
    ).cells
    off = differences(grid.rgb.reshape(-1, 3), PALETTE, "hyab")
    return float(off[np.arange(cells.size), cells.ravel()].mean())


@pytest.mark.parametrize("seed", some(0, 1, long=range(2, 5)))
def test_the_gain_is_what_buying_brings(seed: int) -> None:
    rng = np.random.default_rng(seed)
    grid = Grid(rng.random((10, 12, 3)).astype(np.float32), np.ones((10, 12), np.float32))
    counts = {f"c{i}": 18 for i in range(8)}
    stock = Stock(Path("s"), (), ("code", "count"), ",", counts, dict.fromkeys(counts, 2))
    found = advise(
        grid, PALETTE, stock, ChoiceOptions(), difference="hyab", bags=np.full(len(PALETTE), 15)
    )
    assert found
    assert found[0].before == pytest.approx(mean_difference(grid, stock))
    for purchase in found:
        assert purchase.after < purchase.before
        stock = replace(stock, counts=dict(stock.counts))
        owned = {**stock.counts, purchase.code: stock.counts[purchase.code] + 15}
        stock = replace(stock, counts=owned)
        assert purchase.after == pytest.approx(mean_difference(grid, stock))


def test_a_stock_with_all_that_is_wished_for_needs_nothing() -> None:
    grid = Grid(np.full((3, 3, 3), 0.4, np.float32), np.ones((3, 3), np.float32))
    counts = {f"c{i}": 99 for i in range(8)}
    stock = Stock(Path("s"), (), ("code", "count"), ",", counts, dict.fromkeys(counts, 2))
    assert wanted_colours(grid).counts.tolist() == [9]
    assert advise(grid, PALETTE, stock, ChoiceOptions(), difference="hyab") == ()
