"""A line of beads round what there is, and a border along the sides of the plate."""

from __future__ import annotations

import numpy as np

from img2plate.base.arrays import Cells, Mask
from img2plate.plate.plate import EMPTY

ROUND = np.ones((3, 3), bool)
"""A step of an outline goes to corners, too: else it would hang by corners there."""


def grown(cells: Cells, beads: int) -> Cells:
    """The plate with so many empty columns and rows more at each side."""
    return np.pad(cells, beads, constant_values=EMPTY)


def outlined(cells: Cells, bead: int, beads: int) -> Cells:
    """An outline of a palette index, so many beads wide, on empty cells next to others.

    Holes inside get it, too, where they are.
    """
    found = cells.copy()
    found[round_about(cells >= 0, beads) & (cells < 0)] = bead
    return found


def round_about(filled: Mask, beads: int) -> Mask:
    """(h, w) what lies at most so many steps from a bead; corners count as steps."""
    from scipy import ndimage

    return np.asarray(ndimage.binary_dilation(filled, ROUND, iterations=beads))


def room_missing(filled: Mask, beads: int) -> bool:
    """Whether an outline so wide would go over a side of the plate."""
    rows, columns = np.flatnonzero(filled.any(axis=1)), np.flatnonzero(filled.any(axis=0))
    height, width = filled.shape
    return bool(
        min(rows[0], columns[0]) < beads
        or rows[-1] + beads >= height
        or columns[-1] + beads >= width
    )


def bordered(cells: Cells, bead: int, beads: int) -> Cells:
    """The outermost rows and columns, so many, all of one palette index."""
    found = np.full_like(cells, bead)
    inside = slice(beads, -beads)
    found[inside, inside] = cells[inside, inside]
    return found
