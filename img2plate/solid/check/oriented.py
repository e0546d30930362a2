"""Plates as boxes that lie any way in space: do they overlap, or meet on a straight way?

A plate is a few boxes, a rectangle of its beads each: as thick as the plate, as long and wide as
the beads with their free edges are pressed. Two boxes overlap exactly if the difference of their
middles lies inside the sum of six segments, their half edges; one that moves along a straight way
meets the other if it lies inside the sum of these and the way, a zonotope of seven generators.
Its faces are square to cross products of two generators, so at most 21 dot products tell.
(Ziegler, Lectures on Polytopes, 7.3: zonotopes as sums of segments.)
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from img2plate.solid.check.lattice import Solid

TOLERANCE_MM = 0.001
"""Overlaps of less are none."""
_PARALLEL = 1e-9


@dataclass(frozen=True, eq=False)
class Boxes:
    """The boxes of one plate, mm."""

    middles: NDArray[Any]
    """(n, 3)."""
    halves: NDArray[Any]
    """(n, 3) half lengths along each of the axes."""
    axes: NDArray[Any]
    """(3, 3) a unit direction in each row: what x, y and z become when the plate is turned."""


def boxes_of(solid: Solid, squeezed: int | None = None) -> Boxes:
    """A plate's boxes.

    squeezed: an axis of its own along which it is held between other beads, which take no room from
    each other there: its beads count as wide as their pitch.
    """
    assert solid.pressed is not None
    pitch, wide = solid.pressed.pitch_mm, solid.pressed.wide_mm
    low, high = _rectangles(solid.voxels, solid.axis)
    middles = (low + high + 1) / 2
    halves = (high - low) * pitch / 2 + wide / 2
    halves[:, solid.axis] = solid.pressed.thick_mm / 2
    if squeezed is not None and wide > pitch:
        halves[:, squeezed] -= (wide - pitch) / 2
    axes = np.eye(3)
    if solid.turn is not None:
        middles, axes = solid.turn.points(middles), solid.turn.matrix.T
    return Boxes(middles * pitch, halves, axes)


def _rectangles(voxels: NDArray[Any], axis: int) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """First and last place of each rectangle of beads, each (n, 3): runs, alike ones together."""
    one, two = (a for a in range(3) if a != axis)
    flat = voxels[np.lexsort((voxels[:, two], voxels[:, one]))]
    starts = np.ones(len(flat), dtype=bool)
    starts[1:] = (np.diff(flat[:, one]) != 0) | (np.diff(flat[:, two]) != 1)
    first = np.flatnonzero(starts)
    last = np.append(first[1:], len(flat)) - 1
    open_: dict[tuple[float, float], list[Any]] = {}
    found = []
    for start, end in zip(flat[first], flat[last], strict=True):
        run = (start[two], end[two])
        before = open_.get(run)
        if before is not None and before[1][one] == start[one] - 1:
            before[1] = end
            continue
        open_[run] = [start, end]
        found.append(open_[run])
    low, high = (np.array([box[side] for box in found], dtype=np.float64) for side in (0, 1))
    return low, high


def overlap(one: Boxes, two: Boxes, way: NDArray[Any] | None = None) -> NDArray[Any]:
    """(n, m) how deep each box of one gets into each of two, mm; 0 or less where it does not.

    way: (3,) mm, how far `one` goes from where it is. Depth is measured along the direction in
    which it is least.
    """
    normals = _normals([*one.axes, *two.axes, *([] if way is None else [way])])
    apart = two.middles[None] - one.middles[:, None]
    room = (one.halves @ abs(one.axes @ normals.T))[:, None]
    room = room + (two.halves @ abs(two.axes @ normals.T))[None]
    if way is not None:
        apart = apart - way / 2
        room = room + abs(normals @ way) / 2
    return np.asarray((room - abs(apart @ normals.T)).min(axis=2))


def _normals(generators: Sequence[NDArray[Any]]) -> NDArray[np.float64]:
    """(n, 3) unit normals of all faces that a sum of segments can have."""
    ways = np.array(generators, dtype=np.float64)
    one, two = np.triu_indices(len(ways), 1)
    pairs = np.cross(ways[one], ways[two])
    lengths = np.linalg.norm(pairs, axis=1)
    kept = lengths > _PARALLEL * max(1.0, float(np.linalg.norm(ways, axis=1).max()))
    return np.asarray(pairs[kept] / lengths[kept, None])


def meets(one: Boxes, two: Boxes, way: NDArray[Any] | None = None) -> bool:
    """Whether any box of one overlaps any of two, where it is or along its way."""
    return bool((overlap(one, two, way) > TOLERANCE_MM).any())
