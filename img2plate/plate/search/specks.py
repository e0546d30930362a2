"""Specks: beads without a 4-neighbour of their own colour, counted around one cell."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from img2plate.base.compiled import compiled


@compiled
def _neighbours(cells: NDArray[np.int16], y: int, x: int) -> tuple[int, int, int, int]:
    """The beads above, below, left and right; -1 for none."""
    height, width = cells.shape
    return (
        cells[y - 1, x] if y > 0 else -1,
        cells[y + 1, x] if y < height - 1 else -1,
        cells[y, x - 1] if x > 0 else -1,
        cells[y, x + 1] if x < width - 1 else -1,
    )


@compiled
def is_speck(cells: NDArray[np.int16], y: int, x: int) -> int:
    """1 for a bead without a 4-neighbour of its colour; 0 too where no bead is."""
    k = cells[y, x]
    above, below, left, right = _neighbours(cells, y, x)
    return 1 if k >= 0 and k != above and k != below and k != left and k != right else 0


@compiled
def specks_around(cells: NDArray[np.int16], y: int, x: int) -> int:
    """Specks among a cell and its 4-neighbours."""
    height, width = cells.shape
    specks = is_speck(cells, y, x)
    if y > 0:
        specks += is_speck(cells, y - 1, x)
    if y < height - 1:
        specks += is_speck(cells, y + 1, x)
    if x > 0:
        specks += is_speck(cells, y, x - 1)
    if x < width - 1:
        specks += is_speck(cells, y, x + 1)
    return specks
