"""Refine a grid near a pitch: whole frame, whole pitch, or free below the pixel."""

from __future__ import annotations

import numpy as np

from img2plate.image.native.axis import PRICES, AnyAxis, AxisGrid, wrap
from img2plate.image.native.grid_candidate import Candidate
from img2plate.image.native.loops import HARDEST, NEAREST

HALVINGS = 5
"""Of the step in which pitch and offset are turned."""
_REACH = 0.03
"""How far a pitch is turned, of itself; at least by what two cells more in the frame make."""
_LEAST_GAIN = 1e-6
"""In cost; less is rounding."""
_UNEVEN = 40.0
"""What axes of different pitch cost, besides their cells."""


def settle(x: AnyAxis, y: AnyAxis, pitch_x: float, pitch_y: float, kind: int) -> Candidate:
    """Refine both axes near a pitch, and add up."""
    on_x, cost_x = refine(x, pitch_x, kind)
    on_y, cost_y = refine(y, pitch_y, kind)
    return Candidate(on_x, on_y, kind, cost_x + cost_y + uneven(x, y, on_x, on_y, kind))


def resettle(x: AnyAxis, y: AnyAxis, candidate: Candidate, kind: int) -> Candidate:
    """The same grid with another kernel, refined from there."""
    shifts = np.arange(-2, 3) * 0.25
    on_x, cost_x = refine(
        x, candidate.x.pitch, kind, [float(candidate.x.offset + s) for s in shifts]
    )
    on_y, cost_y = refine(
        y, candidate.y.pitch, kind, [float(candidate.y.offset + s) for s in shifts]
    )
    return Candidate(on_x, on_y, kind, cost_x + cost_y + uneven(x, y, on_x, on_y, kind))


def uneven(x: AnyAxis, y: AnyAxis, on_x: AxisGrid, on_y: AxisGrid, kind: int) -> float:
    """Price of axes that differ in pitch: as if both had the finer one, and a little more."""
    if abs(np.log(on_x.pitch / on_y.pitch)) < 0.03:
        return 0.0
    fine = min(on_x.pitch, on_y.pitch)
    saved = x.length / fine - x.length / on_x.pitch + y.length / fine - y.length / on_y.pitch
    return _UNEVEN + PRICES[kind] * saved


def refine(
    axis: AnyAxis, pitch: float, kind: int, offsets: list[float] | None = None
) -> tuple[AxisGrid, float]:
    """Best grid near a pitch: whole frame, whole pitch, or free, each at its price."""
    start = [AxisGrid(pitch, o) for o in (offsets or _phases(pitch, kind))]
    near = {max(1, round(axis.length / pitch) + d) for d in (-1, 0, 1)}
    whole = [AxisGrid(axis.length / n, 0.0, True) for n in sorted(near)]
    whole = [
        g for g in whole if abs(np.log(g.pitch / pitch)) < max(0.02, 0.7 * pitch / axis.length)
    ]
    if kind == NEAREST:  # some programs take the pixel's corner for its middle
        whole += [AxisGrid(g.pitch, 0.5, True) for g in whole if g.pitch % 1]
    even = round(pitch)
    if even >= 2 and abs(even - pitch) < 0.03 * pitch:
        start += [AxisGrid(float(even), o) for o in (offsets or _phases(float(even), kind))]
    tried = start + whole
    costs = axis.costs(tried, kind)
    best, cost = tried[int(costs.argmin())], float(costs.min())
    free = tried[int(costs[: len(start)].argmin())]
    turned, turned_cost = _descend(axis, free, kind, float(costs[: len(start)].min()))
    if turned_cost < cost:
        best, cost = turned, turned_cost
    if kind == NEAREST and best.pitch % 1 == 0 and not best.whole:
        # Its edges lie between pixels: of all offsets that mean the same, the whole number.
        best = AxisGrid(best.pitch, wrap(np.ceil(best.offset - 0.5), best.pitch))
    return best, cost


def _phases(pitch: float, kind: int) -> list[float]:
    """Offsets to start from."""
    steps = max(2, round(pitch * 2)) if kind <= HARDEST else 8
    steps = min(steps, 48)
    return [-pitch * i / steps for i in range(steps)]


def _descend(axis: AnyAxis, lines: AxisGrid, kind: int, cost: float) -> tuple[AxisGrid, float]:
    """Turn pitch (about the middle of the frame) and offset in ever smaller steps.

    The pitch stays near where it began: on a flat picture ever fewer cells are ever cheaper.
    """
    middle, first = axis.length / 2, lines.pitch
    reach = max(_REACH, 2 * first / axis.length)
    turn, shift = 0.6 * lines.pitch / axis.length, min(0.5, lines.pitch / 8)
    halved = 0
    while halved < HALVINGS:
        tried = []
        for dp, do in ((turn, 0.0), (-turn, 0.0), (0.0, shift), (0.0, -shift)):
            pitch = lines.pitch + dp
            if abs(pitch / first - 1) > reach:
                continue
            offset = middle - (middle - lines.offset) * pitch / lines.pitch + do
            tried.append(AxisGrid(pitch, wrap(offset, pitch)))
        costs = axis.costs(tried, kind)
        if costs.min() < cost - _LEAST_GAIN:
            lines, cost = tried[int(costs.argmin())], float(costs.min())
        else:
            turn, shift, halved = turn / 2, shift / 2, halved + 1
    return lines, cost
