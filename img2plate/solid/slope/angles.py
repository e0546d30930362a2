"""Angles and lengths of sloping plates: what a plate of whole beads can do between two walls.

Seen along the ridge, a roof plate over a wall, its middle planes drawn; b is the slope:

            o      the ridge: two plates meet by fingers of one row
          / b
        /          L p + shift   along the slope, from the wall to the ridge
      /|
    /  |_ _ _      D p           the run, from the wall to below the ridge
       |

An upright tab of thickness t goes through a slot of a plate of the same thickness, at an angle of
a = 90 - b between the planes. For that the slot has to be S = t cot(a / 2) long. A slot of k cells
is s_k long (see `fit/model`), so a slope has a smallest a for each k: 2 atan(t / s_k).

Fingers at the ridge, with an angle of r between the plates, touch the other plate when its free
edge is (t / 2) (1 + |cos r|) / sin r from the axis; where r is over 90 degrees they end w / 2
beyond it, so may come nearer. Where that is more than the p - w / 2 that the beads leave, both
plates move down their slopes by the rest, the shift.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import acos, atan, atan2, cos, degrees, hypot, pi, sin, sqrt, tan

from img2plate.solid.fit.model import FitModel

HOST = 2
"""Beads of a plate between slots, and to its edges; a guess."""
MOST_CELLS = 4
"""Cells of a slot along the slope; steeper plates are walls."""
GOOD_RIDGE = (89.0, 121.0)
"""Degrees between two roof plates that hold best."""
_TURNS = 40
"""Rounds until slope and shift, which depend on each other, stand still."""


@dataclass(frozen=True)
class Slope:
    """What a sloping plate does; lengths in beads where nothing else is said."""

    run: float
    """Between the supports' middle planes, or from one to below the ridge."""
    length: float
    """Along the slope, from the middle of a slot to the ridge's row, or to the other slot."""
    cells: int
    """Of a slot, along the slope."""
    angle: float
    """Slope, radians."""
    rise_mm: float
    slack_mm: float
    """Play of a tab along the slope, on either side: (s_k - S) / 2."""
    shift_mm: float = 0.0
    """How far both plates of a ridge stand off it."""
    ridge_degrees: float | None = None
    """Angle between the plates of a ridge; None: there is none."""

    @property
    def degrees(self) -> float:
        """Slope in degrees."""
        return degrees(self.angle)


def slot_needed_mm(between: float, thickness_mm: float) -> float:
    """S: how long a slot is for a tab at an angle between the planes, radians."""
    return thickness_mm / tan(between / 2)


def slot_mm(cells: int, thickness_mm: float, model: FitModel) -> float:
    """How long a slot of so many cells is for what goes through it aslant."""
    free = (cells + 1) * model.cell_mm(thickness_mm) - model.width_mm(thickness_mm)
    return min(model.opening_mm(cells, thickness_mm), free)


def smallest_degrees(cells: int, thickness_mm: float, model: FitModel) -> float:
    """Smallest angle between tab and plate that a slot of so many cells takes."""
    return degrees(2 * atan(thickness_mm / slot_mm(cells, thickness_mm, model)))


def cells_for(angle: float, thickness_mm: float, model: FitModel) -> int:
    """Fewest cells of a slot for an upright tab through a slope; over MOST_CELLS: too steep."""
    needed = slot_needed_mm(pi / 2 - angle, thickness_mm)
    cells = 1
    while cells <= MOST_CELLS and slot_mm(cells, thickness_mm, model) < needed:
        cells += 1
    return cells


def ridge_shift_mm(ridge: float, thickness_mm: float, model: FitModel) -> float:
    """How far two plates stand off the line where their middle planes meet; angle in radians."""
    half, free = thickness_mm / 2, model.cell_mm(thickness_mm) - model.width_mm(thickness_mm) / 2
    across, down = abs(cos(ridge)), sin(ridge)
    shift = half * (1 + across) / down - free
    if ridge > pi / 2:  # the fingers' ends, which the shift draws back too
        ends = model.width_mm(thickness_mm) / 2 * across + half * down - free
        shift = min(shift, ends / (1 + across))
    return max(0.0, shift)


def sharpest_ridge(thickness_mm: float) -> float:
    """Degrees at and below which a ridge is refused: 53 at 3 mm, 60 at 4 mm."""
    return 53.0 + 7.0 * (thickness_mm - 3.0)


def roof_slope(run: float, length: float, thickness_mm: float, model: FitModel) -> Slope | str:
    """One plate of a pitched roof, or why there is none of that length; run and length in beads."""
    pitch = model.cell_mm(thickness_mm)
    if length <= run:
        return f"{length:g} beads do not reach over the {run:g} beads from wall to ridge"
    shift = 0.0
    for _ in range(_TURNS):  # a larger shift makes it steeper, which makes the shift smaller
        angle = acos(run * pitch / (length * pitch + shift))
        shift = ridge_shift_mm(pi - 2 * angle, thickness_mm, model)
    angle = acos(run * pitch / (length * pitch + shift))
    ridge = 180 - 2 * degrees(angle)
    said = f"{length:g} beads slope {degrees(angle):.0f} degrees, the ridge has {ridge:.0f}"
    if ridge <= sharpest_ridge(thickness_mm):
        return f"{said}: too sharp for plates of {thickness_mm:g} mm"
    cells = cells_for(angle, thickness_mm, model)
    if cells > MOST_CELLS:
        return f"{said}: too steep for a slot of {MOST_CELLS} cells"
    slack = _slack_mm(cells, angle, thickness_mm, model)
    # A slot of an odd number of cells has its middle on a bead, an even one between two.
    off = abs((length + (cells - 1) / 2) % 1)
    if min(off, 1 - off) * pitch > slack:
        kind = "half" if cells % 2 == 0 else "whole"
        return f"{said}: slots of {cells} {_cells(cells)} need a length of {kind} beads"
    if length - (cells - 1) / 2 < 1 + HOST:
        return f"{said}: fewer than {HOST} beads are left between slot and ridge"
    rise = (length * pitch + shift) * sin(angle)
    return Slope(run, length, cells, angle, rise, slack, shift, ridge)


def wedge_slope(run: float, length: float, thickness_mm: float, model: FitModel) -> Slope | str:
    """One plate on a low and a high wall, or why there is none of that length.

    It lies on both, so the high one is whole beads higher, the nearest to what the length gives;
    what that makes longer or shorter has to be in the play of both slots.
    """
    pitch = model.cell_mm(thickness_mm)
    if length <= run:
        return f"{length:g} beads do not reach over the {run:g} beads from wall to wall"
    rise = max(1, round(sqrt(length**2 - run**2)))
    angle = atan2(rise, run)
    said = f"{length:g} beads slope {degrees(angle):.0f} degrees"
    cells = cells_for(angle, thickness_mm, model)
    if cells > MOST_CELLS:
        return f"{said}: too steep for a slot of {MOST_CELLS} cells"
    if length % 1:
        return f"{length:g} beads: from slot to slot they are whole"
    slack = _slack_mm(cells, angle, thickness_mm, model)
    off = abs(length - hypot(rise, run)) * pitch
    if off / 2 > slack:
        return f"{said} and miss a wall {rise} beads higher by {off:.2f} mm, {2 * slack:.2f} may be"
    if length - cells < HOST:
        return f"{said}: fewer than {HOST} beads are left between both slots"
    return Slope(run, length, cells, angle, rise * pitch, slack - off / 2)


def _slack_mm(cells: int, angle: float, thickness_mm: float, model: FitModel) -> float:
    """(s_k - S) / 2."""
    needed = slot_needed_mm(pi / 2 - angle, thickness_mm)
    return (slot_mm(cells, thickness_mm, model) - needed) / 2


def _cells(count: int) -> str:
    return "cell" if count == 1 else "cells"


def lengths_that_do(
    run: float, thickness_mm: float, model: FitModel, *, ridge: bool
) -> list[Slope]:
    """All slopes of a run by whole and half beads, the flattest first."""
    find = roof_slope if ridge else wedge_slope
    tried = [n / 2 for n in range(1, int(8 * run) + 8)]
    found = [find(run, length, thickness_mm, model) for length in tried if length > run]
    return [slope for slope in found if isinstance(slope, Slope)]
