"""The best of many grids, judged on both axes at once."""

from __future__ import annotations

from dataclasses import replace
from math import log

import numpy as np

from img2plate.image.native.axis import Axis, AxisGrid, wrap
from img2plate.image.native.grid_candidate import FINE, Candidate, axis_gain, unexplained
from img2plate.image.native.joint import ROUNDS, Joint
from img2plate.image.native.loops import BICUBIC, BILINEAR, HARDEST, LANCZOS, SOFT_KINDS

NOISY = 2.0
"""How much more a gain counts in plain noise, which hides most of it."""
ENOUGH = 0.03
"""Share of the variation that a grid may leave."""
FINALISTS = 6
"""Grids of either sort, hard or soft, that are judged on both axes at once."""
STANDING, REFINED = 4, 3
"""Soft pitches whose gain is looked at, and those that are refined on both axes at once."""
HOPEFUL = 0.5
"""Nats by which one may be behind the best to be refined."""
OUTSTANDING = 0.15
"""What a nat counts by which a soft grid is better than its neighbours: finer ones than the right
one may fit compression a little better, but hardly better than what is near them."""
PLAIN_KINDS = (BILINEAR, BICUBIC, LANCZOS)
"""Kernels that grids cheap on neither axis are tried with."""


def judged(joint: Joint, x: Axis, y: Axis, candidates: list[Candidate]) -> tuple[Candidate, float]:
    """The best on both axes at once, each soft one with every kernel; and its gain."""
    hard = _distinct([g for g in candidates if g.kind <= HARDEST])[: 2 * FINALISTS]
    finalists = hard + _with_all_kernels(joint, x, y, candidates)
    ranked = sorted(finalists, key=joint.cost)
    if joint.is_plain_noise(ranked[0]):
        joint.white = True
        ranked.sort(key=joint.cost)
    joint.rounds = ROUNDS
    ranked = sorted(ranked[:FINALISTS], key=joint.cost) + ranked[FINALISTS:]
    best = _not_too_fine(x, y, ranked)
    if best.kind > HARDEST:
        apart = _distinct_pitches([g for g in ranked if g.kind > HARDEST])[:STANDING]
        tops = sorted([best, *apart], key=lambda g: _standing(joint, g))
        if not any(joint.cut):  # else what all of the axis says is worth more
            most = _standing(joint, tops[0]) + HOPEFUL
            tops += [_refined(joint, g) for g in tops[:REFINED] if _standing(joint, g) < most]
        best = min(tops, key=lambda g: _standing(joint, g))
    return best, joint.gain(best) * (NOISY if joint.white else 1.0)


def _with_all_kernels(
    joint: Joint, x: Axis, y: Axis, candidates: list[Candidate]
) -> list[Candidate]:
    """The best of the soft grids, as they are and on the whole frame, with every kernel."""
    smooth = _distinct([g for g in candidates if g.kind > HARDEST])
    # Some that are cheap on neither axis are cheap on both.
    others = [replace(g, kind=kind) for g in smooth[FINALISTS:] for kind in PLAIN_KINDS]
    soft = smooth[:FINALISTS] + sorted(others, key=joint.cost)[:2]
    soft += [_whole(x, y, g) for g in soft if not (g.x.whole and g.y.whole)]
    return [replace(g, kind=kind) for g in soft for kind in SOFT_KINDS]


def _standing(joint: Joint, candidate: Candidate) -> float:
    """Cost of a soft grid, less when it is much better than its neighbours."""
    return joint.cost(candidate) - OUTSTANDING * joint.gain(candidate)


def _distinct_pitches(candidates: list[Candidate]) -> list[Candidate]:
    """The first of each pitch."""
    return [g for i, g in enumerate(candidates) if not any(_alike(g, h) for h in candidates[:i])]


def _whole(x: Axis, y: Axis, candidate: Candidate) -> Candidate:
    """The same, with a whole number of cells in the frame."""
    on_x, on_y = (
        AxisGrid(axis.length / max(1, round(axis.length / lines.pitch)), 0.0, True)
        for axis, lines in ((x, candidate.x), (y, candidate.y))
    )
    return replace(candidate, x=on_x, y=on_y)


def _not_too_fine(x: Axis, y: Axis, ranked: list[Candidate]) -> Candidate:
    """The best, or a coarser grid that explains nearly all: the finest ones fit anything."""
    if ranked[0].finer_pitch >= FINE:
        return ranked[0]
    for candidate in ranked:
        if (
            candidate.finer_pitch >= FINE
            and max(
                unexplained(x, candidate.x, candidate.kind),
                unexplained(y, candidate.y, candidate.kind),
            )
            < ENOUGH
            and axis_gain(x, y, candidate) > 0.6
        ):
            return candidate
    return ranked[0]


def _distinct(candidates: list[Candidate]) -> list[Candidate]:
    """Cheapest of each pitch and kernel."""
    kept: list[Candidate] = []
    for candidate in sorted(candidates, key=lambda candidate: candidate.cost):
        if not any(candidate.kind == other.kind and _alike(candidate, other) for other in kept):
            kept.append(candidate)
    return kept


def _alike(one: Candidate, two: Candidate) -> bool:
    ratios = one.x.pitch / two.x.pitch, one.y.pitch / two.y.pitch
    return all(abs(log(ratio)) < 0.004 for ratio in ratios)


def _refined(joint: Joint, candidate: Candidate) -> Candidate:
    """Turn pitch and offset of both axes in ever smaller steps."""
    cost = joint.cost(candidate)
    scale = 1.0
    for _ in range(6):
        before = cost
        for name, length, start in zip("xy", joint.size, joint.starts, strict=True):
            lines: AxisGrid = getattr(candidate, name)
            turn, shift = 0.4 * scale * lines.pitch / length, scale * lines.pitch / 16
            around = _around(lines, turn, shift, start + length / 2)
            tried = [_moved(candidate, name, at) for at in around]
            costs = [joint.cost(g) for g in tried]
            best = int(np.argmin(costs))
            if costs[best] < cost:
                candidate, cost = tried[best], costs[best]
        if cost > before - 0.01:
            scale /= 2
    return candidate


def _moved(candidate: Candidate, axis: str, lines: AxisGrid) -> Candidate:
    return replace(candidate, x=lines) if axis == "x" else replace(candidate, y=lines)


def _around(lines: AxisGrid, turn: float, shift: float, middle: float) -> list[AxisGrid]:
    """Grids a little wider, narrower, further left and right."""
    out = []
    for pitch, by in ((lines.pitch + turn, 0.0), (lines.pitch - turn, 0.0),
                      (lines.pitch, shift), (lines.pitch, -shift)):  # fmt: skip
        offset = middle - (middle - lines.offset) * pitch / lines.pitch + by
        out.append(AxisGrid(pitch, wrap(offset, pitch)))
    return out
