"""Openings in a plate, and the reasons to refuse one; the cell is always named.

Refused are openings that overlap another one or a joint, that leave less than two beads to the
plate's edge, and that cut the plate in two. Bars of one bead between two openings are allowed, as
in a window.
"""

from __future__ import annotations

import numpy as np

from img2plate.base.arrays import Mask
from img2plate.base.errors import FigureError
from img2plate.solid.connected import components

_WAYS = ((0, 1), (0, -1), (1, 0), (-1, 0))


def cell_name(row: int, column: int) -> str:
    """Name a cell as on the sheets: from 1, from the upper left, seen from outside."""
    return f"column {column + 1}, row {row + 1}"


def check_cut(kept: Mask, cut: Mask, what: str, plate: str) -> None:
    """Refuse an opening `cut` (h, w) in a plate that has its beads at `kept` (h, w).

    Raises FigureError that names the first cell that stands against it.
    """
    _refuse(cut & ~kept, what, plate, "is not a bead of this plate (another opening or a joint)")
    # A ring of cells round the plate, so that what lies beyond its box counts as outside too.
    ringed, outside = np.pad(cut, 1), _outside(kept)
    left = kept & ~cut
    at_edge, thin = np.zeros_like(ringed), np.zeros_like(ringed)
    for way in _WAYS:
        beyond = _shifted(outside, (-way[0], -way[1]))
        at_edge |= ringed & beyond
        thin |= _shifted(ringed, way) & np.pad(left, 1) & beyond
    _refuse(at_edge[1:-1, 1:-1], what, plate, "lies at the very edge of the plate")
    _refuse(thin[1:-1, 1:-1], what, plate, "would be a wall one bead thin at the edge")
    parts = components(left)
    if parts.max() > 1:
        sizes = np.bincount(parts[parts > 0])
        small = int(sizes[1:].argmin()) + 1
        _refuse(parts == small, what, plate, "would be cut off from the rest of the plate")


def rectangle(
    shape: tuple[int, int],
    cells: tuple[int, int],
    at: tuple[int, int] | None,
    what: str,
    plate: str,
) -> Mask:
    """(h, w) mask of an opening of cells (across, down) at a column and row, or in the middle.

    Raises FigureError when it reaches over the plate.
    """
    height, width = shape
    across, down = cells
    column, row = at or ((width - across) // 2, (height - down) // 2)
    if column < 0 or row < 0 or column + across > width or row + down > height:
        raise FigureError(
            f"{plate}: {what} of {across} x {down} cells at {cell_name(row, column)} reaches over"
            f" the plate of {width} x {height}"
        )
    mask = np.zeros(shape, dtype=bool)
    mask[row : row + down, column : column + across] = True
    return mask


def _outside(kept: Mask) -> Mask:
    """(h + 2, w + 2) where no bead is and one can walk out of the plate; with a ring round it."""
    parts = components(np.pad(~kept, 1, constant_values=True))
    return np.asarray(parts == parts[0, 0])


def _shifted(mask: Mask, way: tuple[int, int]) -> Mask:
    """A mask moved by one cell; what comes in from outside the plate is outside: False."""
    moved = np.zeros_like(mask)
    down, across = way
    height, width = mask.shape
    moved[max(down, 0) : height + min(down, 0), max(across, 0) : width + min(across, 0)] = mask[
        max(-down, 0) : height + min(-down, 0), max(-across, 0) : width + min(-across, 0)
    ]
    return moved


def _refuse(bad: Mask, what: str, plate: str, reason: str) -> None:
    """Raise for the first bad cell, if there is any."""
    found = np.argwhere(bad)
    if len(found):
        row, column = (int(number) for number in found[0])
        raise FigureError(f"{plate}, {what}: {cell_name(row, column)} {reason}")
