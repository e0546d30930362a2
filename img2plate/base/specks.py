"""Specks: beads without a 4-neighbour of their own colour. Slow to place, easy to get wrong.

`plate/search/specks.py` counts them around one cell, inside the search's compiled loops; a test
says that both count alike.
"""

from __future__ import annotations

import numpy as np

from img2plate.base.arrays import Cells, Mask


def specks_of(cells: Cells) -> Mask:
    """(h, w) bool: which cells hold a speck."""
    alone = cells >= 0
    for axis in (0, 1):
        same = np.diff(cells, axis=axis) == 0
        before, after = [slice(None), slice(None)], [slice(None), slice(None)]
        before[axis], after[axis] = slice(None, -1), slice(1, None)
        alone[tuple(before)] &= ~same
        alone[tuple(after)] &= ~same
    return alone


def speck_share(cells: Cells) -> float:
    """Share of the beads that are specks, 0..1."""
    beads = np.count_nonzero(cells >= 0)
    return float(np.count_nonzero(specks_of(cells)) / beads) if beads else 0.0
