"""How far a fin leans in what holds it upright, and what would hold it better, in words.

A plate of thickness t in slots s wide touches two rims that lie h apart along it, one on either
side, when it leans by the angle a at which s cos a - h sin a = t. The rims are the outermost ones
of all that holds it: the face, plates behind it, a collar on it, a fin across.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import asin, degrees, hypot, radians, sin

from img2plate.base.errors import FigureError
from img2plate.solid.fit.model import FitModel
from img2plate.solid.spec import FinSpec

LEAN_DEGREES, LEAN_BEADS = 6.0, 4
"""A fin that leans more and stands higher needs something else to hold it; a guess."""
_CROSSED_BEADS = 7
"""Beads of the lowest row from which a fin of the same outline can stand across."""


@dataclass(frozen=True)
class Support:
    """What holds a fin upright, in layers from its face."""

    inward: int = 0
    """The innermost plate that its tab goes through; 0: the face alone."""
    collar: bool = False
    outward: int = 0
    """Row of the fin, from 1, up to which another one holds it; 0: none does."""

    def depth_mm(self, thickness_mm: float, model: FitModel) -> float:
        """Distance of its outermost rims."""
        inner = self.inward * model.pitch_mm + thickness_mm / 2
        if self.outward:
            return inner + self.outward * model.pitch_mm + model.width_mm(thickness_mm) / 2
        # A collar is free to lie right on its face: a thickness off it, not a pitch.
        return inner + thickness_mm / 2 + (thickness_mm if self.collar else 0.0)


def lean_degrees(slot_mm: float, depth_mm: float, thickness_mm: float) -> float:
    """Angle a at which a plate in a slot touches both its rims: s cos a - h sin a = t."""
    if slot_mm <= thickness_mm:
        return 0.0
    long = hypot(slot_mm, depth_mm)
    return degrees(asin(slot_mm / long) - asin(thickness_mm / long))


def lean_words(
    spec: FinSpec, support: Support, t: float, model: FitModel, behind: Mapping[int, str]
) -> str:
    """How far a fin sways, in words. Raises FigureError where it would lean too far.

    behind: layers behind the face, from 1, that its tab could reach, and what lies there.
    """

    def angle_of(held: Support) -> float:
        return lean_degrees(model.opening_mm(1, t), held.depth_mm(t, model), t)

    rows = len(spec.cells)
    high = rows * model.pitch_mm
    angle = angle_of(support)
    said = f"{spec.name} leans up to {angle:.1f} degrees, {_sway(high, angle)} at its top"
    if angle <= LEAN_DEGREES or rows <= LEAN_BEADS or spec.may_lean:
        return said
    offers = []
    depths = [*sorted(behind), *range(2, spec.depth + 40)]
    good = next((n for n in depths if angle_of(Support(n)) <= LEAN_DEGREES), 2)
    sways = f"so that it sways {_sway(high, angle_of(Support(good)))}"
    if good in behind:
        offers.append(f"`depth = {good + 1}` lets its tab reach the {behind[good]}, {sways}")
    else:
        offers.append(f"put a shelf or a divider {good} layers behind the face and say"
                      f" `depth = {good + 1}`, {sways}")  # fmt: skip
    collared = angle_of(Support(support.inward, collar=True))
    if collared <= LEAN_DEGREES and not spec.collar:
        offers.append(f"`collar = true` ({_sway(high, collared)})")
    if int((spec.cells[-1] >= 0).sum()) >= _CROSSED_BEADS and spec.tabs == 1:
        crossed = _sway(high, angle_of(Support(support.inward, outward=rows // 2)))
        offers.append(f'a second fin with `across = "{spec.name}"` ({crossed})')
    raise FigureError(
        f"{said}: too far for {rows} beads of height; {'; or '.join(offers)}; or say `leans = true`"
    )


def _sway(high_mm: float, angle: float) -> str:
    """How far the top of a fin moves, in words."""
    return f"{high_mm * sin(radians(angle)):.1f} mm"
