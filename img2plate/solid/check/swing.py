"""Does a door swing on its rod without touching anything? Judged from places and how beads press.

Seen along the rod, each plate is a few rectangles: runs of its beads, as wide as a bead is pressed
and as thick as the plate. The door's turn round the rod by steps of a quarter degree; between two
steps no point of it moves further than its distance R from the rod times the step, so R times half
the step is taken off each distance.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby

import numpy as np
from numpy.typing import NDArray

from img2plate.solid.check.lattice import Finding, Place, Solid

STEP_DEGREES, FULL_DEGREES = 0.25, 110.0
Corners = NDArray[np.float64]
"""(4, 2) mm, from the rod: along the closed door to its free end, and the way that it opens."""


@dataclass(frozen=True)
class Hinge:
    """What a group turns round, and how."""

    group: str
    rod: Place
    """One place on the rod."""
    along: tuple[int, int]
    """Axis and direction from the rod to the free end of the closed door."""
    opens: tuple[int, int]
    """Axis and direction that the free end moves first."""
    pitch_mm: float
    thick_mm: float
    wide_mm: float
    """Of a pressed bead."""
    wobble_mm: float
    """How far the door may be off its place on the rod."""


def swing_findings(hinge: Hinge, solids: list[Solid]) -> list[Finding]:
    """Lugs that do not reach round the rod; what the door passes nearer than twice its wobble."""
    loose = _loose_lugs(hinge, solids)
    if loose:
        return loose
    nearest, at, other = clearance(hinge, solids)
    if nearest >= 2 * hinge.wobble_mm:
        return []
    words = f"comes within {max(nearest, 0):.1f} mm of" if nearest > 0 else "hits"
    said = f"{hinge.group}: {words} {other} when it is open {at:.0f} degrees"
    return [Finding(f"{said}; it needs {2 * hinge.wobble_mm:.1f} mm")]


def _loose_lugs(hinge: Hinge, solids: list[Solid]) -> list[Finding]:
    """Plates square to the rod that have no bead in the door on either side of it."""
    upright = 3 - hinge.along[0] - hinge.opens[0]
    lugs = [s for s in solids if s.group == hinge.group and s.axis == upright]
    found = [] if len(lugs) > 1 else [Finding(f"{hinge.group}: hangs on fewer than two lugs")]
    for lug in lugs:
        beads = lug.places
        for side in (1, -1):
            place = [*hinge.rod]
            place[upright] = int(lug.voxels[0, upright])
            place[hinge.along[0]] += side
            place[hinge.opens[0]] -= hinge.opens[1]
            if (place[0], place[1], place[2]) not in beads:
                found.append(Finding(f"{lug.name}: does not reach round the rod", lug.name))
    return found


def clearance(hinge: Hinge, solids: list[Solid]) -> tuple[float, float, str]:
    """Least distance in mm over the swing, where in degrees, and to which plate."""
    upright = 3 - hinge.along[0] - hinge.opens[0]
    mine = [solid for solid in solids if solid.group == hinge.group]
    levels = np.concatenate([solid.voxels[:, upright] for solid in mine])
    span = int(levels.min()) - 1, int(levels.max()) + 1
    door = [corners for solid in mine for corners in _rectangles(solid, hinge, span)]
    steps = np.radians(np.arange(0, FULL_DEGREES + STEP_DEGREES / 2, STEP_DEGREES))
    best = (np.inf, 0.0, "nothing")
    for solid in (s for s in solids if s.group != hinge.group):
        for fixed in _rectangles(solid, hinge, span):
            for corners in door:
                slack = np.hypot(*corners.T).max() * np.radians(STEP_DEGREES) / 2
                far = _distances(_turned(corners, steps), fixed, best[0] + slack) - slack
                nearest = int(far.argmin())
                if far[nearest] < best[0]:
                    best = (float(far[nearest]), float(np.degrees(steps[nearest])), solid.name)
    return best


def _rectangles(solid: Solid, hinge: Hinge, span: tuple[int, int]) -> list[Corners]:
    """Rectangles of a plate, of its beads between two levels, seen along the rod."""
    upright = 3 - hinge.along[0] - hinge.opens[0]
    near = (solid.voxels[:, upright] >= span[0]) & (solid.voxels[:, upright] <= span[1])
    seen = {
        tuple((v[axis] - hinge.rod[axis]) * way for axis, way in (hinge.along, hinge.opens))
        for v in solid.voxels[near].tolist()
    }
    # Runs go along the plate; a level one is cut into lines along the door.
    cross = 0 if solid.axis == hinge.along[0] else 1
    half = [hinge.wide_mm / 2, hinge.wide_mm / 2]
    if solid.axis != upright:
        half[cross] = hinge.thick_mm / 2
    found = []
    for line, places in groupby(
        sorted(seen, key=lambda p: (p[cross], p[1 - cross])), lambda p: p[cross]
    ):
        for _, run in groupby(enumerate(places), lambda n: n[1][1 - cross] - n[0]):
            ats = [place[1 - cross] for _, place in run]
            low, high = [0.0, 0.0], [0.0, 0.0]
            low[cross] = high[cross] = line * hinge.pitch_mm
            low[1 - cross], high[1 - cross] = (end * hinge.pitch_mm for end in (ats[0], ats[-1]))
            (a, b), (c, d) = ((low[i] - half[i], high[i] + half[i]) for i in (0, 1))
            found.append(np.array([[a, c], [b, c], [b, d], [a, d]]))
    return found


def _turned(corners: Corners, angles: NDArray[np.float64]) -> NDArray[np.float64]:
    """(n, 4, 2) corners turned round the rod by each angle."""
    sin, cos = np.sin(angles), np.cos(angles)
    turn = np.stack([np.stack([cos, sin], -1), np.stack([-sin, cos], -1)], -2)
    return np.asarray(corners @ turn)


def _distances(turned: NDArray[np.float64], fixed: Corners, enough: float) -> NDArray[np.float64]:
    """(n,) distance of each turned rectangle from one that stands; 0 or less where they meet.

    enough: where they are that far apart, they may be told to be nearer than they are.
    """
    middles = np.linalg.norm(turned.mean(axis=1) - fixed.mean(axis=0), axis=1)
    reach = sum(np.linalg.norm(shape[0] - shape[2]) / 2 for shape in (turned[0], fixed))
    far = middles - reach
    near = np.flatnonzero(far < enough)
    still = np.broadcast_to(fixed, (len(near), 4, 2))
    far[near] = _apart(turned[near], still)
    near = near[(far[near] > 0) & (far[near] < enough)]
    still, moved = np.broadcast_to(fixed, (len(near), 4, 2)), turned[near]
    far[near] = np.minimum(_to_edges(moved, still), _to_edges(still, moved))
    return np.asarray(far)


def _to_edges(points: NDArray[np.float64], shape: NDArray[np.float64]) -> NDArray[np.float64]:
    """(n,) least distance from (n, 4, 2) points to the edges of (n, 4, 2) shapes."""
    start = shape[:, None]
    way = np.roll(shape, -1, axis=1)[:, None] - start
    off = points[:, :, None] - start
    share = np.clip((off * way).sum(-1) / (way * way).sum(-1), 0, 1)
    return np.asarray(np.linalg.norm(off - share[..., None] * way, axis=-1).min(axis=(1, 2)))


def _apart(one: NDArray[np.float64], two: NDArray[np.float64]) -> NDArray[np.float64]:
    """(n,) the widest gap between rectangles along a normal of either; over 0: they are apart."""
    gaps = []
    for shape in (one, two):
        ways = np.roll(shape, -1, axis=1)[:, :2] - shape[:, :2]
        ways = ways / np.linalg.norm(ways, axis=-1, keepdims=True)
        a, b = (np.einsum("nkc,nmc->nkm", ways, corners) for corners in (one, two))
        gaps.append(np.maximum(a.min(-1) - b.max(-1), b.min(-1) - a.max(-1)).max(-1))
    return np.asarray(np.maximum(*gaps))
