"""Does a door that swings stay clear of plates that slope? Judged as boxes in space."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from img2plate.solid.check.lattice import Finding, Solid
from img2plate.solid.check.oriented import Boxes, boxes_of, overlap
from img2plate.solid.check.swing import FULL_DEGREES, Hinge

STEP_DEGREES = 2.5
"""Between two positions that are looked at; what a door moves meanwhile is added to its room."""


def swing_below(hinge: Hinge, solids: Sequence[Solid]) -> list[Finding]:
    """The first plate that slopes which a door passes nearer than twice its wobble."""
    turned = [solid for solid in solids if solid.turn is not None]
    if not turned:
        return []
    doors = [boxes_of(solid) for solid in solids if solid.group == hinge.group]
    if not doors:
        return []
    fixed = [(solid.name, boxes_of(solid)) for solid in turned]
    middle = (np.array(hinge.rod) + 0.5) * hinge.pitch_mm
    far = max(float((abs(door.middles - middle) + door.halves).max()) for door in doors) * 1.5
    room = 2 * hinge.wobble_mm + far * np.radians(STEP_DEGREES) / 2
    for angle in np.arange(0, FULL_DEGREES + STEP_DEGREES / 2, STEP_DEGREES):
        for door in doors:
            swung = _swung(door, hinge, middle, float(np.radians(angle)))
            for name, boxes in fixed:
                if (overlap(swung, boxes) > -room).any():
                    words = f"{hinge.group}: comes too near to {name} when it is open {angle:.0f}"
                    return [Finding(f"{words} degrees; make it lower")]
    return []


def _swung(door: Boxes, hinge: Hinge, middle: np.ndarray, angle: float) -> Boxes:
    """Boxes of a door that is open by an angle, radians; middle: (3,) mm, a point of its rod."""
    along, opens = (np.eye(3)[axis] * way for axis, way in (hinge.along, hinge.opens))
    rod = np.eye(3)[3 - hinge.along[0] - hinge.opens[0]]
    turn = (
        np.outer(np.cos(angle) * along + np.sin(angle) * opens, along)
        + np.outer(np.cos(angle) * opens - np.sin(angle) * along, opens)
        + np.outer(rod, rod)
    )
    return Boxes((door.middles - middle) @ turn.T + middle, door.halves, door.axes @ turn.T)
