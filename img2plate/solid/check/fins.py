"""Does a plate stand fast in a slot of another, upright on it? Judged from places alone."""

from __future__ import annotations

from itertools import pairwise

from img2plate.solid.check.lattice import Finding, Place, Solid, first_place, places_of
from img2plate.solid.check.order import way_is_free

LEAST_TAB = 2


def fin_findings(fin: Solid, solids: list[Solid]) -> tuple[list[Finding], list[str]]:
    """What is wrong with a fin, and the groups that hold it."""
    wrong: dict[str, Finding] = {}
    others = [solid for solid in solids if solid.group != fin.group and solid.axis != fin.axis]
    for host in others:
        slot = _slot(fin, host)
        if not slot:
            continue
        reasons = [_what_is_wrong(fin, host, slot, step) for step in (1, -1)]
        if "" in reasons:
            return [], [host.group]
        words = min(reasons, key=len)
        wrong[host.name] = Finding(f"{fin.name}: {words} {host.name}", fin.name, first_place(slot))
    return [*list(wrong.values())[:1]] or [Finding(f"{fin.name}: stands in no slot", fin.name)], []


def _slot(fin: Solid, host: Solid) -> set[Place]:
    """Places of a fin in the layer of another plate."""
    level = int(host.voxels[0, host.axis])
    return places_of(fin.voxels[fin.voxels[:, host.axis] == level])


def _what_is_wrong(fin: Solid, host: Solid, slot: set[Place], step: int) -> str:
    """Why a fin that stands out to one side of its host does not hold; empty when it does."""
    mine, theirs = places_of(fin.voxels), places_of(host.voxels)
    along = 3 - fin.axis - host.axis
    if any(_next(p, fin.axis, way) not in theirs for p in slot for way in (1, -1)):
        return "its slot is open along one side in"
    runs = sorted(slot, key=lambda p: p[along])
    ends = [(p, way) for p in runs for way in (1, -1) if _next(p, along, way) not in slot]
    if any(_next(p, along, way) not in theirs for p, way in ends):
        return "nothing grips an end of its tab in"
    if len(slot) < LEAST_TAB * len(ends) // 2 or min(_lengths(runs, along)) < LEAST_TAB:
        return "a tab of a single bead stands in"
    shoulders = [p[along] for p in theirs if _next(p, host.axis, step) in mine]
    middle = sum(p[along] for p in slot) / len(slot)
    if not (shoulders and min(shoulders) < middle < max(shoulders)):
        return "it has no shoulder on either side of its tab on"
    if not way_is_free(fin, [host], host.axis, step):
        return "it cannot be pushed into"
    inward = fin.voxels.copy()
    inward[:, host.axis] -= step
    if not places_of(inward) & theirs:
        return "it falls through"
    return ""


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
