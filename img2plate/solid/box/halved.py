"""Fins that cross on one face: each has half of the line where they meet, and holds the other.

Seen along the face; the lower fin L stands first, the upper one U, the higher one there, is pushed
over it. Below it is what U looks like from its own side:

    . . U . .        U U U U U
    L L U L L        U U U U U
    L L L L L        U U L U U
    h L L L h        h U L U h

So each stands in a slot of the other, and leans less the farther up that holds it.
"""

from __future__ import annotations

import numpy as np

from img2plate.base.errors import FigureError
from img2plate.solid.box.standing import Standing


def halve(one: Standing, two: Standing) -> None:
    """Take from each of two fins what the other has of the line where they cross, if they do.

    Raises FigureError where neither would hold the other.
    """
    if one.part is not two.part or one.panel != two.panel:
        return
    same = (one.line[:, None] == two.line).all(axis=2)
    if same.sum() != 1:
        return
    i, j = (int(n) for n in np.argwhere(same)[0])
    tops = _layers(one, i), _layers(two, j)
    if not len(tops[0]) or not len(tops[1]):
        return
    _refuse_collars(one, two)
    if tops[0].max() <= tops[1].max():
        _cross(one, i, two, j)
    else:
        _cross(two, j, one, i)


def _layers(fin: Standing, column: int) -> np.ndarray[tuple[int], np.dtype[np.int64]]:
    """Layers off the face at which a column has beads, without the tab's."""
    out: np.ndarray[tuple[int], np.dtype[np.int64]] = fin.out[fin.cells[:, column] >= 0]
    return out[out > 0]


def _refuse_collars(one: Standing, two: Standing) -> None:
    """Fins that cross hold each other; their collars would be in each other's way."""
    for fin in (one, two):
        if fin.spec.collar:
            raise FigureError(
                f"{two.spec.name}: crosses {one.spec.name}, which holds both; leave out the"
                f" `collar` of {fin.spec.name}"
            )


def _cross(lower: Standing, i: int, upper: Standing, j: int) -> None:
    """Halve the line at a column of the lower fin and one of the upper."""
    names = f"{upper.spec.name} and {lower.spec.name}"
    low, high = _layers(lower, i), _layers(upper, j)
    first, last = int(max(low.min(), high.min())), int(low.max())
    shared = range(first, last + 1)
    if not all(lower.filled(i, n) and upper.filled(j, n) for n in shared):
        raise FigureError(f"{names} cross where one has empty cells; fill that column")
    middle = first + len(shared) // 2 - 1
    upper.clear(j, int(upper.out.min()), middle)
    lower.clear(i, middle + 1, last)
    held = (_held(upper, j, range(first, middle + 1)), _held(lower, i, range(middle + 1, last + 1)))
    if not all(held):
        raise FigureError(
            f"{names} cross where neither holds the other; each needs beads on both sides of the"
            " other's half, so cross them further in, or make them higher there"
        )
    lower.held_at, upper.held_at = max(lower.held_at, held[0]), max(upper.held_at, held[1])


def _held(slot: Standing, column: int, layers: range) -> int:
    """The outermost layer at which a fin has beads on both sides of its slot; 0: none."""
    good = [n for n in layers if slot.filled(column - 1, n) and slot.filled(column + 1, n)]
    return max(good, default=0)
