"""Does a plate stand fast in a slot of another, upright on it? Judged from places alone."""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from img2plate.solid.check.lattice import (
    Finding,
    Held,
    Place,
    Solid,
    Voxels,
    first_place,
    places_of,
)
from img2plate.solid.check.order import way_is_free

LEAST_TAB = 2


def fin_findings(
    fin: Solid, solids: list[Solid], fins: frozenset[str] = frozenset()
) -> tuple[list[Finding], list[str]]:
    """What is wrong with a fin, and the groups that hold it.

    fins: names of all fins; where another one crosses, it closes the slot in the host's place.
    """
    wrong: dict[str, Finding] = {}
    across = [s for s in solids if s.axis != fin.axis and s.group != fin.group]
    crossing = set().union(*(s.places for s in across if s.name in fins))
    collars = [s for s in solids if s.group == fin.group and s is not fin]
    whole = _together([fin, *collars])
    for host in (s for s in across if s.name not in fins):
        slot = _slot(fin, host)
        if not slot:
            continue
        reasons = []
        for step in (1, -1):
            words = _what_is_wrong(fin, whole, host, step, crossing)
            on_collar = (_what_is_wrong(fin, fin, c, step, crossing) for c in collars)
            reasons.append(words or next(filter(None, on_collar), ""))
        if "" in reasons:
            return [], [host.group]
        words = min(reasons, key=len)
        wrong[host.name] = Finding(f"{fin.name}: {words} {host.name}", fin.name, first_place(slot))
    return [*list(wrong.values())[:1]] or [Finding(f"{fin.name}: stands in no slot", fin.name)], []


def held_findings(held: Held, solids: list[Solid]) -> list[Finding]:
    """Whether a fin is held upright where it is said to be: one plate is on both sides of it."""
    fin = next(solid for solid in solids if solid.name == held.fin)
    layer = fin.voxels[fin.voxels[:, held.axis] == held.level]
    sides = [places_of(_moved(layer, fin.axis, way)) for way in (1, -1)]
    for host in (s for s in solids if s.axis != fin.axis):
        theirs = host.places
        both = [{_next(p, fin.axis, -way) for p in side & theirs}
                for side, way in zip(sides, (1, -1), strict=True)]  # fmt: skip
        if both[0] & both[1]:
            return []
    words = f"{fin.name}: nothing is on both sides of it where it is said to be held"
    return [Finding(words, fin.name, first_place(places_of(layer)))]


def crossing_findings(one: Solid, two: Solid, rest: set[Place]) -> list[Finding]:
    """Two fins that cross have one half each of the line where they meet, and hold each other.

    rest: places of plates that are no fins; in their layers it is they who hold.
    """
    along = 3 - one.axis - two.axis
    mine, theirs = (
        places_of(a.voxels[a.voxels[:, b.axis] == b.voxels[0, b.axis]])
        for a, b in ((one, two), (two, one))
    )
    if not mine or not theirs:
        return []
    free = [p for p in mine | theirs if not _beside_diagonally(p, along) & rest]
    held = [_closed(some.intersection(free), a.axis, b)
            for some, a, b in ((mine, one, two), (theirs, two, one))]  # fmt: skip
    if not held[0] and not held[1]:
        return []
    names = f"{one.name} and {two.name}"
    ways = sorted((p[along], whose) for whose, some in enumerate((mine, theirs)) for p in some)
    changes = sum(a[1] != b[1] for a, b in pairwise(ways))
    if changes != 1:
        return [Finding(f"{names}: neither can be pushed over the other", one.name, min(mine))]
    here, there = next(pair for pair in pairwise(ways) if pair[0][1] != pair[1][1])
    if there[0] != here[0] + 1:
        return [Finding(f"{names}: a gap is left where they cross", one.name, min(mine))]
    if not held[0] or not held[1]:
        loose, other = (one, two) if not held[0] else (two, one)
        words = f"{loose.name}: {other.name} has no beads on both sides of its half"
        return [Finding(words, loose.name, min(mine if loose is one else theirs))]
    return []


def _closed(places: set[Place], axis: int, other: Solid) -> set[Place]:
    """Those of a fin's places that another one has beads beside, to both sides."""
    theirs = other.places
    return {p for p in places if _next(p, axis, 1) in theirs and _next(p, axis, -1) in theirs}


def _beside_diagonally(place: Place, along: int) -> set[Place]:
    """The four places beside one across two axes at once, in its layer along the third."""
    first, second = (axis for axis in range(3) if axis != along)
    return {_next(_next(place, first, i), second, j) for i in (1, -1) for j in (1, -1)}


def _together(solids: list[Solid]) -> Solid:
    """A fin and its collar as one."""
    voxels = np.concatenate([solid.voxels for solid in solids])
    return Solid(solids[0].name, solids[0].group, voxels, solids[0].axis)


def _slot(fin: Solid, host: Solid) -> set[Place]:
    """Places of a fin in the layer of another plate."""
    level = int(host.voxels[0, host.axis])
    return places_of(fin.voxels[fin.voxels[:, host.axis] == level])


def _what_is_wrong(fin: Solid, whole: Solid, host: Solid, step: int, crossing: set[Place]) -> str:
    """Why a fin that stands out to one side of its host does not hold; empty when it does.

    whole: with its collar, which then is what stands on the host.
    """
    slot = _slot(fin, host)
    if not slot:
        return "it does not reach into"
    mine, theirs = whole.places, host.places
    along = 3 - fin.axis - host.axis
    if any(_next(p, fin.axis, way) not in theirs | crossing for p in slot for way in (1, -1)):
        return "its slot is open along one side in"
    runs = sorted(slot, key=lambda p: p[along])
    ends = [(p, way) for p in runs for way in (1, -1) if _next(p, along, way) not in slot]
    if not all(_grips(_next(p, along, way), along, way, slot | theirs, crossing)
               or _next(p, along, way) in theirs for p, way in ends):  # fmt: skip
        return "nothing grips an end of its tab in"
    if len(slot) < LEAST_TAB * len(ends) // 2 or min(_lengths(runs, along)) < LEAST_TAB:
        return "a tab of a single bead stands in"
    shoulders = [p[along] for p in theirs if _next(p, host.axis, step) in mine]
    middle = sum(p[along] for p in slot) / len(slot)
    if not (shoulders and min(shoulders) < middle < max(shoulders)):
        return "it has no shoulder on either side of its tab on"
    if not way_is_free(whole, [host], host.axis, step):
        return "it cannot be pushed into"
    if not places_of(_moved(whole.voxels, host.axis, -step)) & theirs:
        return "it falls through"
    return ""


def _grips(place: Place, along: int, way: int, slot: set[Place], crossing: set[Place]) -> bool:
    """Whether a fin that crosses here is backed by the slot's going on, or by its end."""
    return place in crossing and _next(place, along, way) in slot


def _moved(voxels: Voxels, axis: int, step: int) -> Voxels:
    """Places one further along an axis."""
    moved = voxels.copy()
    moved[:, axis] += step
    return moved


def _lengths(runs: list[Place], along: int) -> list[int]:
    """Lengths of the runs of places along a line."""
    found = [1]
    for one, two in pairwise(runs):
        if two[along] == one[along] + 1:
            found[-1] += 1
        else:
            found.append(1)
    return found


def _next(place: Place, axis: int, step: int) -> Place:
    """The place beside one along an axis."""
    moved = list(place)
    moved[axis] += step
    return moved[0], moved[1], moved[2]
