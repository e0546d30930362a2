"""In which order plates go together: found by taking them off one after the other."""

from __future__ import annotations

import numpy as np

from img2plate.solid.check.lattice import Exceptions, Finding, Solid, Step

WAYS = ((2, 1), (1, -1), (0, 1), (0, -1), (1, 1), (2, -1))
"""Straight ways to take a plate off, best first: so the bottom is the first to lie on the table."""


def put_together(
    members: list[Solid],
    orders: dict[str, tuple[Step, ...]],
    group: str,
    allowed: Exceptions | None,
    small: frozenset[str] = frozenset(),
) -> list[Finding]:
    """Take plates off one after the other; taking off never blocks another, so greed is enough.

    small: what comes off before all else that can, so goes on last.
    """
    left, taken = list(members), []
    sliding = allowed.sliding & {s.name for s in members} if allowed else frozenset()
    while len(left) > 1:
        step = _next_off(left, allowed, small)
        if step is None:
            names = ", ".join(s.name for s in left)
            return [Finding(f"{names}: cannot be put together one by one")]
        taken.append(step)
        left = [s for s in left if s.name != step.name]
    if left:
        axis = left[0].axis if allowed else 2
        taken.append(Step(left[0].name, max(axis, 0), 1))
    orders[group] = tuple(reversed(taken))
    stuck = {step.name for step in taken[len(sliding) :]} & sliding
    found = [
        Finding(f"{name}: cannot be slid out once all is together", name) for name in sorted(stuck)
    ]
    exempt = sliding | allowed.strips | allowed.lugs if allowed else sliding
    last = next((step for step in taken if step.name not in exempt), None)
    if allowed and last and last.axis != next(s.axis for s in members if s.name == last.name):
        found.append(Finding(f"{last.name}: comes last, but not straight in", last.name))
    return found


def _next_off(left: list[Solid], allowed: Exceptions | None, small: frozenset[str]) -> Step | None:
    """A plate that comes off: along its normal if it can, sliding ones first."""
    ranked = [
        (
            -1 if solid.name in small else _rank(solid, way, allowed),
            place,
            -_reach(solid, way),
            solid,
            way,
        )
        for place, way in enumerate(WAYS)
        for solid in left
    ]
    for *_, solid, (axis, step) in sorted(ranked, key=lambda r: r[:3]):
        if way_is_free(solid, [s for s in left if s is not solid], axis, step):
            return Step(solid.name, axis, step)
    return None


def _reach(solid: Solid, way: tuple[int, int]) -> int:
    """How far out a plate reaches along a way: the outermost comes off first."""
    low, high = solid.span
    return high[way[0]] if way[1] > 0 else -low[way[0]]


def _rank(solid: Solid, way: tuple[int, int], allowed: Exceptions | None) -> int:
    """What comes off before what: lids and lugs, plates along their normal, then anything."""
    if allowed is not None and solid.name in allowed.lugs:
        return 0
    if allowed is not None and solid.name in allowed.lids - allowed.sliding:
        return 0 if way[0] == solid.axis else 2
    if allowed is None or way[0] == solid.axis or solid.name in allowed.tabbed:
        return 1
    return 0 if solid.name in allowed.sliding else 2


def way_is_free(solid: Solid, others: list[Solid], axis: int, step: int) -> bool:
    """Whether nothing lies in a plate's way to far along an axis."""
    rest = [a for a in range(3) if a != axis]
    mine = solid.voxels[:, axis] * step
    theirs = np.concatenate([other.voxels for other in others])
    # The nearest and farthest bead of each lane along the way say whether any lies beyond.
    low = np.minimum(solid.voxels.min(axis=0), theirs.min(axis=0))
    wide = int(max(solid.voxels[:, rest[1]].max(), theirs[:, rest[1]].max()) - low[rest[1]]) + 1
    lane = (
        (solid.voxels[:, rest[0]] - low[rest[0]]) * wide + solid.voxels[:, rest[1]] - low[rest[1]]
    )
    lane_of = (theirs[:, rest[0]] - low[rest[0]]) * wide + theirs[:, rest[1]] - low[rest[1]]
    farthest = np.full(int(max(lane.max(), lane_of.max())) + 1, np.iinfo(np.int64).min)
    np.maximum.at(farthest, lane_of, theirs[:, axis] * step)
    return bool((farthest[lane] <= mine).all())
