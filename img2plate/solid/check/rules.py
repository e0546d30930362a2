"""Do the plates of a figure go together? Judged from their beads' places alone.

Nothing here knows how the plates were made: neither faces nor fingers nor patterns. What it is
given is each plate's beads as points of a cubic lattice, the beads that there should be, and a few
declared exceptions (plates that are meant to come off). It looks whether

    owned       every bead that should be there is in exactly one plate, and no other bead is
    flat        a plate lies in one layer
    connected   a plate hangs together along edges of cells (4-connected)
    interlocked two plates that meet hold each other both ways along the line where they cross;
                on lines of 3 or 4 beads one way is enough if the other plates do the rest
    even        the fingers of such a line differ by at most one bead, so that none is misplaced
    kept        a plate that slides out within its plane cannot leave it
    order       plates can be put together one after the other, each along a straight way; walls
                along their normal
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from itertools import combinations, groupby

import numpy as np
from numpy.typing import NDArray

from img2plate.solid.check.lattice import Exceptions, Solid, Step, Voxels
from img2plate.solid.check.order import put_together, way_is_free
from img2plate.solid.connected import components

SHORT_LINE = 4


@dataclass(frozen=True)
class Report:
    """What the checker found; no findings is good."""

    findings: tuple[str, ...]
    orders: dict[str, tuple[Step, ...]] = field(default_factory=dict)
    """For each group, its plates from the first to the last; "" holds the order of the groups."""


def check(
    solids: list[Solid], wanted: Iterable[Voxels], exceptions: Exceptions | None = None
) -> Report:
    """Check a whole figure. `wanted` lists the beads that there should be, each place once."""
    allowed = exceptions or Exceptions()
    findings = [*_owned(solids, wanted), *_flat(solids), *_connected(solids)]
    if findings:  # the rest needs plates that are plates
        return Report(tuple(findings))
    orders: dict[str, tuple[Step, ...]] = {}
    groups = list(dict.fromkeys(solid.group for solid in solids))
    for group in groups:
        members = [solid for solid in solids if solid.group == group]
        findings += _interlocked(members, allowed)
        findings += _not_kept(members, allowed)
        findings += put_together(members, orders, group, allowed)
    findings += _gripped(solids, allowed)
    whole = [
        Solid(g, "", np.concatenate([s.voxels for s in solids if s.group == g])) for g in groups
    ]
    findings += put_together(whole, orders, "", None)
    return Report(tuple(findings), orders)


def _owned(solids: list[Solid], wanted: Iterable[Voxels]) -> list[str]:
    """Each wanted place in exactly one plate."""
    owner: dict[tuple[int, ...], str] = {}
    found = []
    for solid in solids:
        for place in map(tuple, solid.voxels.tolist()):
            if place in owner:
                found.append(f"bead {place} is in {owner[place]} and in {solid.name}")
            owner[place] = solid.name
    should = {tuple(v) for part in wanted for v in part.tolist()}
    found += [f"bead {place} is in no plate" for place in sorted(should - owner.keys())[:3]]
    return found + [f"bead {p} should not be there" for p in sorted(owner.keys() - should)[:3]]


def _flat(solids: list[Solid]) -> list[str]:
    """Plates have beads, and lie in one layer."""
    return [f"{s.name}: no plate" for s in solids if not len(s.voxels) or s.axis < 0]


def _connected(solids: list[Solid]) -> list[str]:
    """Plates hang together."""
    found = []
    for solid in solids:
        if not len(solid.voxels) or solid.axis < 0:
            continue
        count = components(_picture(solid)).max()
        if count > 1:
            found.append(f"{solid.name}: in {count} pieces")
    return found


def _picture(solid: Solid) -> NDArray[np.bool_]:
    """(h, w) mask of a plate in its own layer."""
    flat = np.delete(solid.voxels, solid.axis, axis=1)
    flat = flat - flat.min(axis=0)
    mask = np.zeros(flat.max(axis=0) + 1, dtype=bool)
    mask[flat[:, 0], flat[:, 1]] = True
    return mask


def _interlocked(members: list[Solid], allowed: Exceptions) -> list[str]:
    """Each pair that meets holds each other, and evenly."""
    owner = {tuple(v): i for i, s in enumerate(members) for v in s.voxels.tolist()}
    found = []
    for (i, one), (j, two) in combinations(enumerate(members), 2):
        if one.axis == two.axis or {one.name, two.name} & allowed.sliding:
            continue
        line = _line(one, two)
        if line is None:
            continue
        word = "".join({i: "P", j: "Q", None: "-"}.get(owner.get(place), "F") for place in line)
        halved = {one.name, two.name} <= allowed.strips
        along = 3 - one.axis - two.axis
        steps = ("PQ" in word) + ("QP" in word)
        if steps == 1 and len(word) <= SHORT_LINE and not halved:
            steps += all(_is_held(plate, members, along) for plate in (one, two))
        if steps < 2 - halved:
            found.append(f"{one.name} and {two.name} do not interlock ({word})")
        elif not _is_even(word) and not {one.name, two.name} & allowed.tabbed:
            found.append(f"{one.name} and {two.name}: fingers of uneven length ({word})")
    return found


def _line(one: Solid, two: Solid) -> list[tuple[int, ...]] | None:
    """Places where the layers of two plates cross, as far as both come near; else None."""
    a, b = one.axis, two.axis
    along = 3 - a - b
    low, high = (np.stack([s.voxels.min(axis=0), s.voxels.max(axis=0)]) for s in (one, two))
    here, there = low[0][a], high[0][b]
    near = low[0][b] - 1 <= there <= low[1][b] + 1 and high[0][a] - 1 <= here <= high[1][a] + 1
    first, last = max(low[0][along], high[0][along]), min(low[1][along], high[1][along])
    if not near or first > last:
        return None
    line = []
    start = max(first - 1, min(low[0][along], high[0][along]))
    for at in range(start, min(last + 1, max(low[1][along], high[1][along])) + 1):
        place = [0, 0, 0]
        place[a], place[b], place[along] = int(here), int(there), int(at)
        line.append(tuple(place))
    return line


def _is_even(word: str) -> bool:
    """Fingers differ by one bead at most; an empty place counts to the finger before it."""
    filled = ""
    for letter in word.strip("-"):
        filled += filled[-1] if letter == "-" else letter
    runs = [len(list(run)) for letter, run in groupby(filled) if letter in "PQ"]
    return not runs or max(runs) - min(runs) <= 1 + (len(word) <= SHORT_LINE)


def _is_held(solid: Solid, members: list[Solid], axis: int) -> bool:
    """Whether a plate cannot move by one place either way along an axis."""
    others = {tuple(v) for s in members if s is not solid for v in s.voxels.tolist()}
    for step in (1, -1):
        moved = solid.voxels.copy()
        moved[:, axis] += step
        if not any(tuple(v) in others for v in moved.tolist()):
            return False
    return True


def _not_kept(members: list[Solid], allowed: Exceptions) -> list[str]:
    """Sliding plates that would fall out of their slots."""
    found = []
    for solid in (s for s in members if s.name in allowed.sliding):
        others = [s for s in members if s is not solid]
        if any(way_is_free(solid, others, solid.axis, step) for step in (1, -1)):
            found.append(f"{solid.name}: falls out of its slots")
    return found


def _gripped(solids: list[Solid], allowed: Exceptions) -> list[str]:
    """A strip sits in slots of at least two plates of other groups."""
    found = []
    for strip in (s for s in solids if s.name in allowed.strips):
        mine = {tuple(v) for v in strip.voxels.tolist()}
        grips = 0
        for other in solids:
            if other.group == strip.group or other.axis == strip.axis:
                continue
            line = _line(strip, other)
            if line is not None:
                theirs = {tuple(v) for v in other.voxels.tolist()}
                word = "".join("P" if p in mine else "Q" if p in theirs else "-" for p in line)
                grips += "QP" in word and "PQ" in word
        if grips < 2:
            found.append(f"{strip.name}: gripped by {grips} plates, not by two")
    return found
