"""One-to-one and in order: the cheapest by brute force, a chain as by dynamic programming."""

from __future__ import annotations

from itertools import permutations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import linear_sum_assignment

from img2plate.plate.in_order import BROKEN, FORBIDDEN, Pair, assign_in_order
from img2plate.plate.recolouring import _keep_order


def drawn(seed: int) -> tuple[np.ndarray, np.ndarray, list[Pair]]:
    """Prices of 1 to 4 rows and up to 6 columns, ranks with ties, and some pairs."""
    rng = np.random.default_rng(seed)
    rows = int(rng.integers(1, 5))
    columns = int(rng.integers(rows, 7))
    price = rng.random((rows, columns)) * 10
    price[rng.random(price.shape) < 0.15] = FORBIDDEN
    rank = np.sort(rng.integers(0, columns, columns))
    pairs = [(i, k) for i in range(rows) for k in range(i + 1, rows) if rng.random() < 0.6]
    return price, rng.permutation(rank), pairs


@settings(max_examples=150, deadline=None)
@given(seed=st.integers(0, 100_000))
def test_it_is_the_cheapest_of_all(seed: int) -> None:
    price, rank, pairs = drawn(seed)
    rows, columns = price.shape

    def cost(pick: tuple[int, ...]) -> float:
        broken = sum(rank[pick[i]] >= rank[pick[k]] for i, k in pairs)
        return float(price[range(rows), list(pick)].sum()) + BROKEN * broken

    best = min(map(cost, permutations(range(columns), rows)))
    found = assign_in_order(price, rank, pairs)
    if best >= FORBIDDEN:
        assert found is None
        return
    assert found is not None
    assert found.is_best
    assert cost(tuple(found.columns.tolist())) == pytest.approx(best)
    assert found.price + BROKEN * len(found.broken) == pytest.approx(best)
    assert len(set(found.columns.tolist())) == rows


def test_without_pairs_it_is_the_linear_assignment() -> None:
    price = np.random.default_rng(1).random((20, 30))
    found = assign_in_order(price, np.arange(30), [])
    assert found is not None
    assert found.price == pytest.approx(price[linear_sum_assignment(price)].sum())


def test_a_chain_of_all_is_what_dynamic_programming_finds() -> None:
    rng = np.random.default_rng(2)
    for _ in range(10):
        price = rng.random((8, 14))
        chain = [(i, k) for i in range(8) for k in range(i + 1, 8)]
        found = assign_in_order(price, np.arange(14), chain)
        assert found is not None
        assert not found.broken
        assert found.columns.tolist() == _keep_order(price).tolist()
