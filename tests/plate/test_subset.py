"""Few colours: beside the exhaustive optimum, and beside the greedy choice."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest

from img2plate.plate.limits.subset import choose_columns, greedy, summed


@pytest.mark.parametrize("seed", range(40))
def test_within_two_percent_of_the_exhaustive_optimum(seed: int) -> None:
    rng = np.random.default_rng(seed)
    rows, columns = int(rng.integers(5, 60)), int(rng.integers(4, 13))
    most = int(rng.integers(1, min(6, columns)))
    points, beads = rng.random((rows, 3)) * 100, rng.random((columns, 3)) * 100
    off = np.abs(points[:, None] - beads).sum(axis=2) * rng.integers(1, 20, (rows, 1))
    best = min(summed(off, np.array(some)) for some in combinations(range(columns), most))
    chosen = choose_columns(off, most)
    assert len(set(chosen.tolist())) == most
    assert summed(off, chosen) <= 1.02 * best


@pytest.mark.parametrize("seed", range(6))
def test_never_worse_than_greedy_on_large_tables(seed: int) -> None:
    rng = np.random.default_rng(seed)
    off = np.linalg.norm(rng.random((4000, 1, 3)) - rng.random((1, 60, 3)), axis=2)
    assert summed(off, choose_columns(off, 9)) <= summed(off, greedy(off, 9))


def test_greedy_alone_falls_short_where_swaps_do_not() -> None:
    # Greedy takes the middle first, though the two ends together are perfect.
    points, beads = np.array([0.0, 0.0, 10.0, 10.0]), np.array([5.0, 0.0, 10.0])
    off = np.abs(points[:, None] - beads) + (beads == 5.0) * -0.01
    assert summed(off, greedy(off, 2)) > summed(off, choose_columns(off, 2)) == 0


def test_as_many_as_there_are_leaves_all() -> None:
    assert choose_columns(np.ones((3, 4)), 9).tolist() == [0, 1, 2, 3]
