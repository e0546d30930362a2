"""Beads within limits: beside scipy's HiGHS, an independent solver."""

from __future__ import annotations

import numpy as np
import pytest

from img2plate.base.errors import StockError
from img2plate.plate.limits.transport import spread_cells, transport


@pytest.mark.parametrize("seed", range(40))
def test_the_least_cost_is_that_of_an_independent_solver(seed: int) -> None:
    from scipy.optimize import linprog
    from scipy.sparse import eye, kron

    rng = np.random.default_rng(seed)
    n, m = int(rng.integers(2, 40)), int(rng.integers(1, 12))
    # Whole numbers make ties; every third case has only just enough beads.
    costs = rng.integers(0, 30, (n, m)) * 1.0 if seed % 2 else rng.random((n, m)) * 50
    counts, limits = rng.integers(1, 20, n), rng.integers(0, 400 * n // (20 * m) + 2, m)
    if seed % 3 == 0 or limits.sum() < counts.sum():
        limits = rng.multinomial(counts.sum(), np.full(m, 1 / m))
    flow = transport(costs, counts, limits)
    assert (flow >= 0).all()
    assert (flow.sum(axis=1) == counts).all()
    assert (flow.sum(axis=0) <= limits).all()
    peer = linprog(
        costs.ravel(),
        A_ub=kron(np.ones((1, n)), eye(m)),
        b_ub=limits,
        A_eq=kron(eye(n), np.ones((1, m))),
        b_eq=counts,
        method="highs",
    )
    assert abs((flow * costs).sum() - peer.fun) <= 1e-6 * max(1.0, peer.fun)


def test_too_few_beads_are_refused() -> None:
    with pytest.raises(StockError, match="3 beads"):
        transport(np.ones((2, 2)), np.array([4, 4]), np.array([2, 3]))


def test_cells_of_one_colour_are_shared_from_the_top() -> None:
    where = np.array([1, 0, 1, 1])
    assert spread_cells(np.array([[0, 1], [2, 1]]), where).tolist() == [0, 1, 0, 1]
