"""The six faces of a part, and where each cell of their plates lies among the part's beads.

A part is W x D x H beads: x to the right, y away from the viewer, z up. Every face is seen from
outside, the top with the front below it, the bottom with the front above it:

            +-------+                 column, row of a face's plate from its upper left, from 0
           /  top  /|
          +-------+ |  right          front  x = column            z = H - 1 - row
          | front | +                 back   x = W - 1 - column    z = H - 1 - row
          |       |/                  left   y = D - 1 - column    z = H - 1 - row
          +-------+                   right  y = column            z = H - 1 - row
                                      top    x = column            y = D - 1 - row
                                      bottom x = column            y = row
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

Size: TypeAlias = tuple[int, int, int]
"""Beads wide, deep and high."""
Places: TypeAlias = tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.int64]]
"""x, y and z of each cell of a plate, each (h, w) int64; an index into an array of beads."""

FACES = ("front", "back", "left", "right", "bottom", "top")
NORMAL = {"front": 1, "back": 1, "left": 0, "right": 0, "bottom": 2, "top": 2}
"""Axis that a face is square to."""
FAR = frozenset({"back", "right", "top"})
"""Faces in the last layer along their normal; the others are in layer 0."""
OPPOSITE = {
    "front": "back", "back": "front", "left": "right",
    "right": "left", "bottom": "top", "top": "bottom",
}  # fmt: skip


def layer(face: str, size: Size) -> int:
    """Place of a face along its normal."""
    return size[NORMAL[face]] - 1 if face in FAR else 0


def face_size(face: str, size: Size) -> tuple[int, int]:
    """Beads across and down a face's plate."""
    width, depth, height = size
    return {0: (depth, height), 1: (width, height), 2: (width, depth)}[NORMAL[face]]


@lru_cache(maxsize=32)
def face_places(face: str, size: Size, at: int | None = None) -> Places:
    """Where each cell of a face lies; `at` another layer, for a plate inside seen the same way.

    The arrays are kept for who asks again, so they cannot be written to.
    """
    places = _face_places(face, size, at)
    for axis in places:
        axis.flags.writeable = False
    return places


def _face_places(face: str, size: Size, at: int | None) -> Places:
    across, down = face_size(face, size)
    rows, columns = np.mgrid[0:down, 0:across]
    flat = np.full_like(rows, layer(face, size) if at is None else at)
    width, depth, height = size
    if NORMAL[face] == 2:
        return columns, (depth - 1 - rows if face == "top" else rows), flat
    up = height - 1 - rows
    if NORMAL[face] == 1:
        return (width - 1 - columns if face == "back" else columns), flat, up
    return flat, (depth - 1 - columns if face == "left" else columns), up


def edge_places(one: str, two: str, size: Size) -> Places:
    """Beads of the edge between two faces, each (length,), ascending along the edge."""
    along = 3 - NORMAL[one] - NORMAL[two]
    run = np.arange(size[along])
    parts = [run, run, run]
    for face in (one, two):
        parts[NORMAL[face]] = np.full(len(run), layer(face, size))
    return parts[0], parts[1], parts[2]


def edges_of(faces: Iterable[str]) -> list[tuple[str, str]]:
    """Pairs of faces that meet, in the order of FACES."""
    kept = [face for face in FACES if face in set(faces)]
    return [
        (one, two)
        for i, one in enumerate(kept)
        for two in kept[i + 1 :]
        if NORMAL[one] != NORMAL[two]
    ]
