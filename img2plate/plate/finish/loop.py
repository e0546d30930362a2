"""A hole to hang a plate by: on a ring, a hook, a magnet pressed in."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from img2plate.base.arrays import Cells, Mask
from img2plate.base.errors import OptionError
from img2plate.colour.palette import Palette
from img2plate.plate.finish.join import nearest_beads
from img2plate.plate.plate import EMPTY
from img2plate.plate.strength.strength import pieces_of

RING = 2
"""Beads round a hole: one breaks where a ring pulls. Common practice, no source."""
MOST_HOLE = 20
LEAST_JOINTS = 3
"""Sides by which the ring hangs on the plate at least."""
_WHERE = ("top", "middle")


class LoopWish(NamedTuple):
    """A hole of so many cells across and down, what round it, where."""

    hole: int
    code: str
    """Colour of added beads; empty for that of the nearest bead."""
    where: str


def parse_loop(text: str) -> LoopWish:
    """Read `N[:CODE][:top|middle]`. Raises OptionError."""
    hole, *rest = text.split(":")
    where = rest.pop() if rest and rest[-1] in _WHERE else "top"
    if not hole.isdecimal() or not 1 <= int(hole) <= MOST_HOLE or len(rest) > 1 or "" in rest:
        raise OptionError(
            f"is not a hole of 1 to {MOST_HOLE} cells, as in 2, 2:CODE or 2:CODE:middle",
            field="loop",
            value=text,
        )
    return LoopWish(int(hole), rest[0] if rest else "", where)


class Looped(NamedTuple):
    """Cells with a hole, and where it is."""

    cells: Cells
    note: str


def looped(cells: Cells, wish: LoopWish, palette: Palette, *, grow: bool) -> Looped:
    """Make the hole with `RING` beads round it, above the plate's middle of mass, or in it.

    grow: it may stand above the plate, which gets the rows that this takes. Else it is cut where
    the plate is. Raises OptionError where no place will do.
    """
    bead = palette.index(wish.code, "loop") if wish.code else -1
    size = wish.hole + 2 * RING
    above = size if grow and wish.where == "top" else 0
    room = np.pad(cells, ((above, 0), (0, 0)), constant_values=EMPTY)
    if min(room.shape) < size:
        raise _no_place(size, wish)
    row, column = _place(room >= 0, wish, size)
    found = _cut(room, row, column, wish.hole, bead)
    spare = min(above, int(np.flatnonzero((found >= 0).any(axis=1))[0]))
    at = row - spare + RING + 1, column + RING + 1
    return Looped(
        np.ascontiguousarray(found[spare:]),
        f"a hole of {wish.hole} x {wish.hole} cells at column {at[1]}, row {at[0]}, with {RING}"
        " beads round it",
    )


def _place(filled: Mask, wish: LoopWish, size: int) -> tuple[int, int]:
    """Row and column of the ring's upper left corner, at the best place for it."""
    ring, hole = _shape(wish.hole)
    inside, taken = (_sums(filled, mask) for mask in (ring, hole))
    joints = _joints(filled, ring, size)
    fits = (inside > 0) & (joints + inside >= LEAST_JOINTS)
    rows, columns = np.nonzero(filled)
    height, width = inside.shape
    middle = columns.mean() - (size - 1) / 2, rows.mean() - (size - 1) / 2
    aside = np.abs(np.arange(width) - middle[0])[None]
    down = np.arange(height)[:, None]
    if wish.where == "top":
        # What hangs must hang straight; after that, what the picture shows stays if it can.
        price = 4.0 * aside + 1.0 * taken + 0.1 * (ring.sum() - inside) + 0.5 * down
        fits &= down < middle[1]
    else:
        price = aside + np.abs(down - middle[1])
    for at in np.argsort(np.where(fits, price, np.inf), axis=None)[: np.count_nonzero(fits)]:
        row, column = divmod(int(at), width)
        if _holds(filled, row, column, ring, hole):
            return row, column
    raise _no_place(size, wish)


def _holds(filled: Mask, row: int, column: int, ring: Mask, hole: Mask) -> bool:
    """Whether the plate is in no more pieces with the ring at a place than before."""
    after = filled.copy()
    part = after[row : row + ring.shape[0], column : column + ring.shape[1]]
    part |= ring
    part &= ~hole
    return pieces_of(after)[1] <= pieces_of(filled)[1]


def _shape(hole: int) -> tuple[Mask, Mask]:
    """Where the ring's beads are, and where its hole; the outermost corners are left out."""
    size = hole + 2 * RING
    inside = np.zeros((size, size), bool)
    inside[RING:-RING, RING:-RING] = True
    ring = ~inside
    ring[:: size - 1, :: size - 1] = False
    return ring, inside


def _sums(filled: Mask, mask: Mask) -> np.ndarray[tuple[int, ...], np.dtype[np.int64]]:
    """Beads under a mask, for each place of its upper left corner where it lies on the plate."""
    from scipy import signal

    many = signal.correlate(filled.astype(float), mask.astype(float), mode="valid")
    return np.asarray(np.rint(many), np.int64)


def _joints(filled: Mask, ring: Mask, size: int) -> np.ndarray[tuple[int, ...], np.dtype[np.int64]]:
    """Beads beside the ring, for each place of its upper left corner."""
    from scipy import ndimage

    wide = np.pad(ring, 1)
    beside = ndimage.binary_dilation(wide) & ~wide
    beside[1 + RING : 1 + size - RING, 1 + RING : 1 + size - RING] = False
    return _sums(np.pad(filled, 1), beside)


def _cut(cells: Cells, row: int, column: int, hole: int, bead: int) -> Cells:
    """The ring laid, and the hole cut."""
    ring, inside = _shape(hole)
    found = cells.copy()
    part = found[row : row + ring.shape[0], column : column + ring.shape[1]]
    near = nearest_beads(cells)[row : row + ring.shape[0], column : column + ring.shape[1]]
    new = ring & (part < 0)
    part[new] = near[new] if bead < 0 else bead
    part[inside] = EMPTY
    return found


def _no_place(size: int, wish: LoopWish) -> OptionError:
    """There is none."""
    return OptionError(
        f"has no place: it takes {size} x {size} cells, joined to the plate",
        field="loop",
        value=wish.hole,
        remedy="choose a smaller hole, or let the plate `grow`",
    )
