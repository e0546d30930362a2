"""The loops behind `masks.blue_noise`, compiled: each cell's rank depends on those before it."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from img2plate.base.compiled import compiled


@compiled
def rank_cells(first: NDArray[np.bool_], gaussian: NDArray[np.float64]) -> NDArray[np.int32]:
    """Ranks (n, n) from a first pattern (n, n) of the minority, by Ulichney's three phases."""
    side = first.shape[0]
    pattern = first.copy()
    crowd = _crowding(pattern, gaussian)
    while True:  # even the first pattern out: tightest cluster into the largest void
        cluster = _extreme(crowd, pattern, True)
        _flip(pattern, crowd, gaussian, cluster)
        void = _extreme(crowd, pattern, False)
        _flip(pattern, crowd, gaussian, void)
        if void == cluster:
            break
    ranks = np.zeros((side, side), np.int32)
    ones = int(pattern.sum())
    # The tightest clusters away one by one: the last ranks of the first pattern first.
    _rank(pattern.copy(), crowd.copy(), gaussian, ranks, range(ones - 1, -1, -1), True)
    # Then the largest voids are filled. Past the half, zeros are the minority and their tightest
    # cluster is filled: on a torus the cell with the fewest ones around is the one with most zeros.
    _rank(pattern, crowd, gaussian, ranks, range(ones, side * side), False)
    return ranks


@compiled
def _rank(
    pattern: NDArray[np.bool_],
    crowd: NDArray[np.float64],
    gaussian: NDArray[np.float64],
    ranks: NDArray[np.int32],
    order: range,
    ones: bool,
) -> None:
    """Turn the most crowded one, or the least crowded zero, over for each rank in order."""
    side = ranks.shape[0]
    for rank in order:
        place = _extreme(crowd, pattern, ones)
        _flip(pattern, crowd, gaussian, place)
        ranks[place // side, place % side] = rank


@compiled
def _crowding(pattern: NDArray[np.bool_], gaussian: NDArray[np.float64]) -> NDArray[np.float64]:
    """How crowded each cell is: the Gaussian of all ones, on the torus."""
    side = pattern.shape[0]
    crowd = np.zeros((side, side))
    blank = np.zeros((side, side), np.bool_)
    for y in range(side):
        for x in range(side):
            if pattern[y, x]:
                _flip(blank, crowd, gaussian, y * side + x)
    return crowd


@compiled
def _flip(
    pattern: NDArray[np.bool_],
    crowd: NDArray[np.float64],
    gaussian: NDArray[np.float64],
    place: int,
) -> None:
    """Turn a cell over and bring it into the crowding."""
    side = pattern.shape[0]
    row, column = place // side, place % side
    sign = -1.0 if pattern[row, column] else 1.0
    pattern[row, column] = not pattern[row, column]
    for y in range(side):
        for x in range(side):
            crowd[y, x] += sign * gaussian[(y - row) % side, (x - column) % side]


@compiled
def _extreme(crowd: NDArray[np.float64], pattern: NDArray[np.bool_], ones: bool) -> int:
    """The most crowded of the ones, or the least crowded of the zeros."""
    side = pattern.shape[0]
    best, place = -np.inf, -1
    for y in range(side):
        for x in range(side):
            if pattern[y, x] == ones:
                value = crowd[y, x] if ones else -crowd[y, x]
                if value > best:
                    best, place = value, y * side + x
    return place
