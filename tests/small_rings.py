"""Rings of fingers in a host by brute force, for tests of plugs and for the bench."""

from __future__ import annotations

from itertools import product

import numpy as np
from scipy.ndimage import label


def sound_rings(wide: int, high: int, least: int) -> set[bytes]:
    """All rings by brute force: who has each of its cells, that hold by the rules of the methods.

    A wall has one run of `least` beads or more, between host beads all round, and a place beside
    it to stand on; the host stays in one piece.
    """
    cells = [c for c in np.ndindex(wide, high) if c[0] in (0, wide - 1) or c[1] in (0, high - 1)]
    takers = [[0, *(n for n, on in enumerate((x == 0, x == wide - 1, y == 0, y == high - 1), 1)
                    if on)] for x, y in cells]  # fmt: skip
    sides = [[i for i, c in enumerate(cells) if c[n // 2] == (n % 2) * ((wide, high)[n // 2] - 1)]
             for n in range(4)]  # fmt: skip
    found = set()
    for given_ in product(*takers):
        if not all(holds([given_[i] == n for i in on], least) for n, on in enumerate(sides, 1)):
            continue
        ring = np.zeros((wide + 2, high + 2), np.int8)
        for (x, y), taker in zip(cells, given_, strict=True):
            ring[x + 1, y + 1] = taker
        across, down = (ring[1:], ring[:-1]), (ring[:, 1:], ring[:, :-1])
        if any(((a > 0) & (b > 0) & (a != b)).any() for a, b in (across, down)):
            continue
        if label(ring == 0)[1] == 1:
            found.add(ring[1:-1, 1:-1].tobytes())
    return found


def holds(mine: list[bool], least: int) -> bool:
    count = sum(mine)
    return least <= count < len(mine) and sum(mine[mine.index(True) :][:count]) == count
