"""Two plates at an angle: along which axes they share a line, and how far their beads lie apart."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from img2plate.solid.check.lattice import Pressed, Solid
from img2plate.solid.check.oriented import boxes_of, meets
from img2plate.solid.turn import Turn

STRAIGHT = Turn(0, 1.0, 0.0)
"""Turns nothing."""
_NEAR = 1e-6


def turn_of(solid: Solid) -> Turn:
    """How a plate is turned."""
    return solid.turn or STRAIGHT


def pressed(solid: Solid) -> Pressed:
    """What the plate's beads measure; every plate says so where one slopes."""
    assert solid.pressed is not None, solid.name
    return solid.pressed


def direction(solid: Solid, axis: int) -> NDArray[np.float64]:
    """(3,) what an axis of the plate's own becomes."""
    return turn_of(solid).matrix[:, axis]


def middles_mm(solid: Solid) -> NDArray[np.float64]:
    """(n, 3) middles of its beads in the figure, mm."""
    return turn_of(solid).points(solid.voxels + 0.5) * pressed(solid).pitch_mm


def line_of(one: Solid, two: Solid) -> tuple[int, int] | None:
    """Own axes of two plates along the line in which their planes meet.

    None where the planes are parallel, or the line runs askew to the beads of either.
    """
    along = np.cross(direction(one, one.axis), direction(two, two.axis))
    found = [
        axis
        for solid in (one, two)
        for axis in range(3)
        if axis != solid.axis
        and np.linalg.norm(along) > _NEAR
        and np.linalg.norm(np.cross(direction(solid, axis), along)) < _NEAR
    ]
    return (found[0], found[1]) if len(found) == 2 else None


def collide(one: Solid, two: Solid, way: NDArray[np.float64] | None = None) -> bool:
    """Whether two plates overlap, or one does on its way (3,) mm, but for squeezed ends."""
    line = line_of(one, two)
    first, second = (None, None) if line is None else line
    return meets(boxes_of(one, first), boxes_of(two, second), way)
