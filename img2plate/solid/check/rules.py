"""Do the plates of a figure go together? Judged from their beads' places alone.

Nothing here knows how the plates were made: neither faces nor fingers nor patterns. What it is
given is each plate's beads as points of a cubic lattice and the axis it says it is square to, the
beads that there should be, and a few declared exceptions (plates that are meant to come off). It
looks whether

    owned       every bead that should be there is in exactly one plate, and no other bead is
    flat        a plate lies in one layer across its axis
    connected   a plate hangs together along edges of cells (4-connected)
    interlocked two plates that meet hold each other both ways along the line where they cross;
                on lines of 3 or 4 beads one way is enough if the other plates do the rest
    even        the fingers of such a line differ by at most one bead, so that none is misplaced;
                where one plate alone could have a bead, nothing is compared (`check/meet.py`)
    together    plates of a part hang together by such joints, and parts by strips and rods
    fins        stand in slots closed all round, on shoulders, and can be pushed in; those that
                cross have half of the line each; what holds them upright is on both sides
    trays       lie on something, and come out once lids are off, all else being together
    doors       swing from 0 to 110 degrees and stay clear of all else by twice their wobble
    plugs       walls of a group do so, each with a finger of its own
    kept        a plate that slides out within its plane cannot leave it
    order       plates can be put together one after the other, each along a straight way; walls
                along their normal

Plates that slope stand on no lattice; `check/slopes` judges them, and where they meet others.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from img2plate.solid.check.fins import crossing_findings, fin_findings, held_findings
from img2plate.solid.check.hang import Tie, groups_apart, plates_apart, slot_ties, strips_and_rods
from img2plate.solid.check.lattice import (
    Exceptions,
    Finding,
    Place,
    Rod,
    Solid,
    Step,
    Voxels,
    places_of,
)
from img2plate.solid.check.meet import SHORT_LINE, Line, line_between, uneven_at
from img2plate.solid.check.order import put_together, way_is_free
from img2plate.solid.check.plugs import plug_findings
from img2plate.solid.check.slopes import check_slopes
from img2plate.solid.check.swing import Hinge, swing_findings
from img2plate.solid.check.swing_below import swing_below
from img2plate.solid.check.trays import tray_findings
from img2plate.solid.connected import components


@dataclass(frozen=True)
class Report:
    """What the checker found; no findings is good."""

    findings: tuple[Finding, ...]
    orders: dict[str, tuple[Step, ...]] = field(default_factory=dict)
    """For each group, its plates from the first to the last; "" holds the order of the groups."""


def check(
    solids: list[Solid],
    wanted: Iterable[Voxels],
    exceptions: Exceptions | None = None,
    rods: Sequence[Rod] = (),
    hinges: Sequence[Hinge] = (),
) -> Report:
    """Check a whole figure. `wanted` lists the beads that there should be, each place once."""
    allowed = exceptions or Exceptions()
    upright = [solid for solid in solids if solid.turn is None]
    findings = [*_owned(upright, wanted), *_flat(solids), *_connected(solids)]
    if findings:  # the rest needs plates that are plates
        return Report(tuple(findings))
    slopes = check_slopes(solids)
    findings += slopes.findings
    findings += [found for hinge in hinges for found in swing_below(hinge, solids)]
    solids, orders = upright, slopes.orders
    groups = list(dict.fromkeys(solid.group for solid in solids))
    in_rods = set().union(*(places_of(rod.voxels) for rod in rods))
    for group in groups:
        members = [solid for solid in solids if solid.group == group]
        loose, ties = _interlocked(members, allowed, in_rods)
        findings += loose
        findings += _not_kept(members, allowed)
        findings += plates_apart(members, ties)
        findings += put_together(members, orders, group, allowed)
    unheld, ties = strips_and_rods(solids, rods, allowed)
    findings += unheld
    fins = [solid for solid in solids if solid.name in allowed.fins]
    for fin in fins:
        wrong, holders = fin_findings(fin, solids, allowed.fins)
        findings += wrong
        ties += [(fin.group, holder) for holder in holders]
    crossed = [pair for pair in combinations(fins, 2) if pair[0].axis != pair[1].axis]
    rest = _rest(solids, allowed.fins) if crossed else set()
    for one, two in crossed:
        findings += crossing_findings(one, two, rest)
    for held in allowed.held:
        findings += held_findings(held, solids)
    for group in (g for g in groups if g in allowed.plugs):
        wrong, holders = plug_findings(group, solids)
        findings += wrong
        ties += [(group, holder) for holder in holders]
    for group in (g for g in groups if g in allowed.trays):
        findings += tray_findings(group, solids, allowed)
    for hinge in hinges:
        findings += swing_findings(hinge, solids)
    all_groups = [*groups, *(rod.name for rod in rods), *slopes.orders]
    ties += [tie for tie in slopes.ties if tie[0] in slopes.orders]
    findings += groups_apart(all_groups, ties, allowed)
    gone = allowed.lids if allowed.trays else frozenset()  # what lies inside is put in before them
    whole = [
        Solid(
            g,
            "",
            np.concatenate([s.voxels for s in solids if s.group == g and s.name not in gone]),
            2,
        )
        for g in groups
    ]
    whole += [Solid(rod.name, "", rod.voxels, rod.axis) for rod in rods]
    small = frozenset(solid.group for solid in solids if solid.name in allowed.fins)
    small |= allowed.plugs | {hinge.group for hinge in hinges}
    findings += put_together(whole, orders, "", None, small)
    if "" in orders:
        orders[""] += tuple(slopes.steps)
    return Report(tuple(findings), orders)


def _rest(solids: list[Solid], fins: frozenset[str]) -> set[Place]:
    """Places of all plates but fins."""
    return set().union(*(s.places for s in solids if s.name not in fins))


def _owned(solids: list[Solid], wanted: Iterable[Voxels]) -> list[Finding]:
    """Each wanted place in exactly one plate."""
    should = set().union(*(places_of(part) for part in wanted))
    count = sum(len(solid.voxels) for solid in solids)
    if count == len(should) and should == set().union(*(solid.places for solid in solids)):
        return []
    owner: dict[Place, str] = {}
    found = []
    for solid in solids:
        for place in sorted(solid.places):
            if place in owner:
                words = f"a bead is in {owner[place]} and in {solid.name}"
                found.append(Finding(words, solid.name, place))
            owner[place] = solid.name
        if len(solid.places) < len(solid.voxels):
            found.append(Finding(f"{solid.name}: has a bead twice", solid.name))
    lost, extra = sorted(should - owner.keys())[:3], sorted(owner.keys() - should)[:3]
    found += [Finding("a bead is in no plate", "", place) for place in lost]
    found += [Finding(f"{owner[p]}: a bead should not be there", owner[p], p) for p in extra]
    return found


def _flat(solids: list[Solid]) -> list[Finding]:
    """Plates have beads, and lie in one layer across their axis."""
    return [Finding(f"{s.name}: is no flat plate", s.name) for s in solids if not _is_flat(s)]


def _is_flat(solid: Solid) -> bool:
    return len(solid.voxels) > 0 and np.ptp(solid.voxels[:, solid.axis]) == 0


def _connected(solids: list[Solid]) -> list[Finding]:
    """Plates hang together."""
    found = []
    for solid in filter(_is_flat, solids):
        labels = components(_picture(solid))
        count = int(labels.max())
        if count > 1:
            flat = np.delete(solid.voxels, solid.axis, axis=1)
            rows, columns = (flat - flat.min(axis=0)).T
            sizes = np.bincount(labels[rows, columns])
            small = int(sizes[1:].argmin()) + 1
            off = solid.voxels[labels[rows, columns] == small]
            beads = "a single bead" if len(off) == 1 else f"{len(off)} beads"
            words = f"{solid.name}: in {count} pieces, one of them {beads}"
            found.append(Finding(words, solid.name, min(places_of(off))))
    return found


def _picture(solid: Solid) -> NDArray[np.bool_]:
    """(h, w) mask of a plate in its own layer."""
    flat = np.delete(solid.voxels, solid.axis, axis=1)
    flat = flat - flat.min(axis=0)
    mask = np.zeros(flat.max(axis=0) + 1, dtype=bool)
    mask[flat[:, 0], flat[:, 1]] = True
    return mask


def _interlocked(
    members: list[Solid], allowed: Exceptions, in_rods: set[Place]
) -> tuple[list[Finding], list[Tie]]:
    """What does not hold each other, or unevenly, of each pair that meets; and pairs that do."""
    whole = set().union(*(solid.places for solid in members))
    found: list[Finding] = []
    ties: list[Tie] = []
    for one, two in combinations(members, 2):
        sliding = {one.name, two.name} & allowed.sliding
        if sliding:
            first, second = (one, two) if one.name in sliding else (two, one)
            ties += slot_ties(first, [second])
            continue
        line = line_between(one, two, whole, in_rods)
        if line is None or not line.meets:
            continue
        halved = {one.name, two.name} <= allowed.halved
        wrong = _what_is_wrong(line, one, two, members, halved=halved)
        if wrong:
            touching = next((p for p, c in zip(line.places, line.word, strict=True) if c == "P"),
                            None)  # fmt: skip
            found.append(Finding(wrong, one.name, touching))
            continue
        ties.append((one.name, two.name))
        if not {one.name, two.name} & allowed.tabbed:
            place = uneven_at(line)
            if place is not None:
                words = f"{one.name} and {two.name}: their fingers are of uneven length"
                plate = one.name if place in one.places else two.name
                found.append(Finding(words, plate, place))
    return found, ties


def _what_is_wrong(
    line: Line, one: Solid, two: Solid, members: list[Solid], *, halved: bool
) -> str:
    """Why two plates that meet do not hold each other; empty when they do."""
    steps = line.steps
    if steps == 1 and line.length <= SHORT_LINE and not halved:
        along = 3 - one.axis - two.axis
        steps += all(_is_held(plate, members, along) for plate in (one, two))
    if steps >= 2 - halved:
        return ""
    how = "hold each other only one way" if steps else "meet, but nothing holds them"
    return f"{one.name} and {two.name} {how}"


def _is_held(solid: Solid, members: list[Solid], axis: int) -> bool:
    """Whether a plate cannot move by one place either way along an axis."""
    for step in (1, -1):
        moved = solid.voxels.copy()
        moved[:, axis] += step
        beside = places_of(moved)
        if not any(beside & other.places for other in members if other is not solid):
            return False
    return True


def _not_kept(members: list[Solid], allowed: Exceptions) -> list[Finding]:
    """Sliding plates that would fall out of their slots."""
    found = []
    for solid in (s for s in members if s.name in allowed.sliding):
        others = [s for s in members if s is not solid]
        if any(way_is_free(solid, others, solid.axis, step) for step in (1, -1)):
            found.append(Finding(f"{solid.name}: falls out of its slots", solid.name))
    return found
