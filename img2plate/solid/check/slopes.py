"""Do plates that slope hold, and go on? Judged as boxes in space, from their beads' places alone.

apart       no plate that slopes overlaps another one; at the ends of tabs and fingers beads are
            held between others, as in all joints, so count there as wide as their pitch
slots       where an upright plate goes through: a tab of two beads or more, all the way; the
            slot closed all round, gripping both ends, and no cell longer than needed; shoulders
            on either side that the plate lies on
ridge       two such plates have fingers by turns in the line where they meet, as even as others
closed      each is held by a wall, and all of a group by two: a ridge alone is a hinge
order       one comes along its own slope to the other, then all are lowered from above
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from img2plate.solid.check.aslant import collide, direction, line_of, middles_mm, pressed
from img2plate.solid.check.hang import Tie, plates_apart
from img2plate.solid.check.lattice import Finding, Solid, Step
from img2plate.solid.check.meet import Line, uneven_at
from img2plate.solid.check.slots import held_by

_UP = np.array([0.0, 0.0, 1.0])


@dataclass(eq=False)
class Slopes:
    """What was found of all plates that slope."""

    findings: list[Finding] = field(default_factory=list)
    ties: list[Tie] = field(default_factory=list)
    """Groups that hold each other."""
    orders: dict[str, tuple[Step, ...]] = field(default_factory=dict)
    """Of each of their groups."""
    steps: list[Step] = field(default_factory=list)
    """The groups themselves, which come after all others."""


def check_slopes(solids: Sequence[Solid]) -> Slopes:
    """Check all plates that are turned, among all others."""
    made = Slopes()
    turned = [solid for solid in solids if solid.turn is not None]
    if not turned:
        return made
    made.findings = _overlaps(turned, solids)
    if made.findings:  # the rest needs plates that have room
        return made
    groups = {solid.group: [s for s in turned if s.group == solid.group] for solid in turned}
    for group, members in groups.items():
        _hold(made, group, members, [s for s in solids if s.turn is None])
        _together(made, group, members)
    _lower(made, groups, solids)
    return made


def _overlaps(turned: Sequence[Solid], solids: Sequence[Solid]) -> list[Finding]:
    """Plates that are in each other."""
    found = []
    for one in turned:
        for two in solids:
            if two is one or (two.turn is not None and two.name < one.name):
                continue
            if collide(one, two):
                found.append(Finding(f"{one.name}: has no room beside {two.name}", one.name))
    return found


def _hold(made: Slopes, group: str, members: list[Solid], others: list[Solid]) -> None:
    """Walls that hold a group, fingers that hold its plates to each other."""
    walls: set[str] = set()
    for slope in members:
        before = len(walls)
        for wall in others:
            wrong, holds = held_by(slope, wall)
            made.findings += wrong
            if holds:
                walls.add(wall.name)
                made.ties.append((group, wall.group))
        if len(walls) == before:
            words = f"{slope.name}: no wall holds it, and a ridge alone is a hinge"
            made.findings.append(Finding(words, slope.name))
    if len(walls) == 1:
        made.findings.append(Finding(f"{group}: only one wall holds it", members[0].name))
    ties = []
    for one, two in combinations(members, 2):
        words = _what_is_wrong(one, two)
        if words:
            made.findings.append(Finding(f"{one.name} and {two.name}{words}", one.name))
        else:
            ties.append((one.name, two.name))
    made.findings += plates_apart(members, ties)


def _what_is_wrong(one: Solid, two: Solid) -> str:
    """Why the fingers of two plates that slope do not hold each other; empty when they do."""
    line = line_of(one, two)
    if line is None:
        return " do not meet"
    mine, theirs = _in_line(one, two, line[0]), _in_line(two, one, line[1])
    if not mine and not theirs:
        return " do not meet"
    places = range(min(mine | theirs), max(mine | theirs) + 1)
    word = "".join("P" if p in mine else "Q" if p in theirs else "-" for p in places)
    steps = ("PQ" in word) + ("QP" in word)
    if steps < 2 or "-" in word:
        return " hold each other only one way" if steps else " meet, but nothing holds them"
    free = (True,) * len(word)
    ridge = Line(tuple((0, 0, place) for place in places), word, free, True)
    return "" if uneven_at(ridge) is None else ": their fingers are of uneven length"


def _in_line(one: Solid, two: Solid, along: int) -> set[int]:
    """Places along the line where two plates meet at which the first one has a bead."""
    normal = direction(two, two.axis)
    middles = middles_mm(one)
    pitch = pressed(one).pitch_mm
    steep = abs(float(direction(one, 3 - one.axis - along) @ normal))
    near = abs((middles - middles_mm(two)[0]) @ normal) < pitch / 2 * steep
    line = abs(direction(one, along))
    return set(np.rint(middles[near] @ line / pitch - 0.5).astype(int).tolist())


def _together(made: Slopes, group: str, members: list[Solid]) -> None:
    """The order of a group of one or two plates: the other one comes along its slope."""
    first = Step(members[0].name, 2, 1)
    if len(members) == 1:
        made.orders[group] = (first,)
        return
    one, two = members[0], members[-1]
    way = _down(two, one)
    if len(members) > 2 or collide(two, one, way * _far(members)):
        made.findings.append(Finding(f"{group}: cannot be put together one by one", one.name))
        return
    axis = int(abs(way).argmax())
    x, y, z = (float(part) + 0.0 for part in way)  # no -0
    step = Step(two.name, axis, int(np.sign(way[axis])), (x, y, z))
    made.orders[group] = (first, step)


def _down(solid: Solid, other: Solid) -> NDArray[np.float64]:
    """(3,) unit direction within a plate, away from the line where another one meets it."""
    line = line_of(solid, other)
    assert line is not None
    way = direction(solid, 3 - solid.axis - line[0])
    away = middles_mm(solid).mean(axis=0) - middles_mm(other).mean(axis=0)
    return way if way @ away > 0 else -way


def _far(solids: Sequence[Solid]) -> float:
    """A way that leads out of all plates, mm."""
    middles = np.concatenate([middles_mm(solid) for solid in solids])
    return float(np.ptp(middles, axis=0).sum()) + 100.0


def _lower(made: Slopes, groups: dict[str, list[Solid]], solids: Sequence[Solid]) -> None:
    """Groups are taken off upwards, one after the other; so they go on the other way round."""
    left, here = dict(groups), list(solids)
    up = _UP * _far(solids)
    while left:
        for name, members in left.items():
            others = [solid for solid in here if solid not in members]
            if not any(collide(mine, other, up) for mine in members for other in others):
                group = name
                break
        else:
            words = f"{' and '.join(left)}: cannot be lowered onto what is below"
            made.findings.append(Finding(words))
            return
        del left[group]
        here = [solid for solid in here if solid.group != group]
        made.steps.insert(0, Step(group, 2, 1))
