"""Does a group of plates stand fast in slots of another plate? Judged from places alone.

The layer of a host is crossed by walls of the group. Each of them, but one two beads wide, has a
run of beads there, its finger, gripped at both ends by the host and closed on both sides; and a
bead of the next layer that stands on the host, its shoulder. Fingers of one bead are for walls of
up to four. The group as a whole can leave one way only.
"""

from __future__ import annotations

from collections.abc import Set
from itertools import groupby

import numpy as np

from img2plate.solid.check.lattice import Finding, Place, Solid, Voxels, places_of

NARROW, LEAST_FINGER, SINGLE_UP_TO = 2, 2, 4


def plug_findings(group: str, solids: list[Solid]) -> tuple[list[Finding], list[str]]:
    """What is wrong with a plugged group, and the groups that hold it."""
    walls = [solid for solid in solids if solid.group == group]
    whole = np.concatenate([wall.voxels for wall in walls])
    wrong: Finding | None = None
    for host in (s for s in solids if s.group != group):
        level = int(host.voxels[0, host.axis])
        if not (whole[:, host.axis] == level).any():
            continue
        reach = whole[:, host.axis].min() - level, whole[:, host.axis].max() - level
        step = 1 if reach[1] > -reach[0] else -1
        found = _findings_on(walls, whole, host, step)
        if not found:
            return [], [host.group]
        wrong = wrong or found[0]
    return [wrong or Finding(f"{group}: is plugged into nothing", walls[0].name)], []


def _findings_on(walls: list[Solid], whole: Voxels, host: Solid, step: int) -> list[Finding]:
    """What is wrong with walls that come out of a host along (its axis, step)."""
    theirs, mine = host.places, places_of(whole)
    if any((p[host.axis] - int(host.voxels[0, host.axis])) * step < 0 for p in mine):
        return [Finding(f"{walls[0].group}: reaches through {host.name}", walls[0].name)]
    found, held = [], 0
    for wall in (w for w in walls if w.axis != host.axis):
        words, place = _what_is_wrong(wall, host, step, mine, theirs)
        if words:
            found.append(Finding(f"{wall.name}: {words} {host.name}", wall.name, place))
        held += place is not None and not words
    if held < 2:
        found.append(Finding(f"{walls[0].group}: fewer than two walls are held by {host.name}",
                             walls[0].name))  # fmt: skip
    ways = [(axis, way) for axis in range(3) for way in (1, -1) if (axis, way) != (host.axis, step)]
    free = [way for way in ways if not _moved(mine, *way) & theirs]
    if free:
        found.append(Finding(f"{walls[0].group}: is not held by {host.name}", walls[0].name))
    return found


def _what_is_wrong(
    wall: Solid, host: Solid, step: int, mine: Set[Place], theirs: Set[Place]
) -> tuple[str, Place | None]:
    """Why a wall does not hold, or nothing and a place of its finger; no place without any."""
    level = int(host.voxels[0, host.axis])
    along = 3 - wall.axis - host.axis
    finger = places_of(wall.voxels[wall.voxels[:, host.axis] == level])
    wide = int(np.ptp(wall.voxels[:, along])) + 1
    if not finger:
        return ("" if wide <= NARROW else "has no finger in"), None
    first = min(finger)
    if any(_next(p, wall.axis, way) not in theirs | mine for p in finger for way in (1, -1)):
        return "a slot is open along its side in", first
    ends = [(p, way) for p in finger for way in (1, -1) if _next(p, along, way) not in finger]
    if any(_next(p, along, way) not in theirs for p, way in ends):
        return "nothing grips an end of its finger in", first
    if _shortest(finger, along) < LEAST_FINGER and wide > SINGLE_UP_TO:
        return "a finger of a single bead stands in", first
    above = places_of(wall.voxels[wall.voxels[:, host.axis] == level + step])
    if not any(_next(p, host.axis, -step) in theirs for p in above):
        return "has no shoulder on", first
    return "", first


def _shortest(places: set[Place], along: int) -> int:
    """The shortest run of places along a line."""
    numbered = enumerate(sorted(p[along] for p in places))
    return min(len(list(run)) for _, run in groupby(numbered, key=lambda n: n[1] - n[0]))


def _moved(places: set[Place], axis: int, step: int) -> set[Place]:
    return {_next(place, axis, step) for place in places}


def _next(place: Place, axis: int, step: int) -> Place:
    """The place beside one along an axis."""
    moved = list(place)
    moved[axis] += step
    return moved[0], moved[1], moved[2]
