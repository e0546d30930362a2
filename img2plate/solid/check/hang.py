"""Do the plates of a part hang together, and the parts of a figure? Joints as a graph."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np

from img2plate.solid.check.lattice import (
    Exceptions,
    Finding,
    Place,
    Rod,
    Solid,
    first_place,
    places_of,
)
from img2plate.solid.check.meet import line_between

Tie = tuple[str, str]
"""Two plates, or two groups, that hold each other."""


def pieces_of(names: Sequence[str], ties: Iterable[Tie]) -> list[list[str]]:
    """Names that hang together, by ties; the piece of the first name first."""
    piece = {name: {name} for name in names}
    for one, two in ties:
        if piece[one] is not piece[two]:
            joined = piece[one] | piece[two]
            for name in joined:
                piece[name] = joined
    found: list[set[str]] = []
    for name in names:
        if piece[name] not in found:
            found.append(piece[name])
    return [[name for name in names if name in some] for some in found]


def plates_apart(members: list[Solid], ties: Iterable[Tie]) -> list[Finding]:
    """Plates of one group that no joint ties to its first plate."""
    apart = pieces_of([solid.name for solid in members], ties)
    return [
        Finding(f"{' and '.join(some)}: no joint ties it to {apart[0][0]}", some[0])
        for some in apart[1:]
    ]


def slot_ties(sliding: Solid, others: list[Solid]) -> list[Tie]:
    """Plates in whose slots a sliding one lies: they are in its way up and down."""
    found = []
    for other in others:
        theirs = other.places
        blocked = []
        for step in (1, -1):
            moved = sliding.voxels.copy()
            moved[:, sliding.axis] += step
            blocked.append(bool(places_of(moved) & theirs))
        if all(blocked):
            found.append((sliding.name, other.name))
    return found


def strips_and_rods(
    solids: list[Solid], rods: Iterable[Rod], allowed: Exceptions
) -> tuple[list[Finding], list[Tie]]:
    """Strips that are not gripped and rods that do not hold; ties between groups."""
    findings: list[Finding] = []
    ties: list[Tie] = []
    for strip in (s for s in solids if s.name in allowed.strips):
        hosts = [o for o in solids if o.group != strip.group and _grips(strip, o)]
        ties += [(strip.group, host.group) for host in hosts]
        if len(hosts) < 2:
            findings.append(
                Finding(f"{strip.name}: gripped by {len(hosts)} plates, not by two", strip.name)
            )
        if strip.name in allowed.eared and any(_slides(strip, hosts, step) for step in (1, -1)):
            findings.append(Finding(f"{strip.name}: slides along its slots", strip.name))
    for rod in rods:
        hosts = [solid for solid in solids if _holds_rod(rod, solid, solids)]
        ties += [(rod.name, host.group) for host in hosts]
        if len({host.group for host in hosts}) < 2:
            findings.append(Finding(f"{rod.name}: its rod is not held all round by two parts"))
        inside = places_of(rod.voxels)
        for solid in solids:
            if stuck := inside & solid.places:
                words = f"{solid.name}: is in the way of the rod of {rod.name}"
                findings.append(Finding(words, solid.name, first_place(stuck)))
    return findings, ties


def _grips(strip: Solid, host: Solid) -> bool:
    """Whether a strip stands in a slot of another plate, with beads of it at both ends."""
    line = line_between(strip, host)
    return line is not None and line.steps == 2


def _slides(strip: Solid, hosts: list[Solid], step: int) -> bool:
    """Whether a strip can move by one place through the plates that grip it."""
    if not hosts:
        return True
    moved = strip.voxels.copy()
    moved[:, hosts[0].axis] += step
    return not places_of(moved) & set().union(*(host.places for host in hosts))


def _holds_rod(rod: Rod, host: Solid, solids: list[Solid]) -> bool:
    """Whether a rod goes through a hole of a plate that is closed all round it.

    One side in four may be closed by other plates of its group.
    """
    if rod.axis != host.axis:
        return False
    hole = rod.voxels[rod.voxels[:, rod.axis] == host.voxels[0, host.axis]]
    if not len(hole):
        return False
    ring: set[Place] = set()
    for axis in {0, 1, 2} - {rod.axis}:
        for step in (1, -1):
            moved = hole.copy()
            moved[:, axis] += step
            ring |= places_of(np.asarray(moved))
    ring -= places_of(hole)
    beside = ring - host.places
    group = [s for s in solids if s.group == host.group]
    return 4 * len(beside) <= len(ring) and beside <= set().union(*(s.places for s in group))


def groups_apart(groups: Sequence[str], ties: Iterable[Tie], allowed: Exceptions) -> list[Finding]:
    """Groups that hang on nothing, and none of which is meant to be loose."""
    return [
        Finding(f"{' and '.join(some)}: nothing ties it to {groups[0]}")
        for some in pieces_of(groups, ties)[1:]
        if not allowed.loose & set(some)
    ]
