"""Which grid: candidates from scans with hard cells and with soft ones, the cheapest of them wins.

They are found and refined on each axis alone, which is quick, and judged on both at once.
"""

from __future__ import annotations

from math import log

import numpy as np
from numpy.typing import NDArray

from img2plate.image.native.axis import FREE, FREE_PITCH, Axis, AxisGrid, wrap
from img2plate.image.native.candidates import (
    divides,
    minima,
    pitch_grid,
    soft_pitches,
    spread,
)
from img2plate.image.native.grid_candidate import FINE, Candidate, axis_gain, left_over
from img2plate.image.native.joint import Joint, step_for
from img2plate.image.native.judge import judged
from img2plate.image.native.loops import (
    BICUBIC,
    HARD_KINDS,
    HARDEST,
    NEAREST,
)
from img2plate.image.native.refine import refine, resettle, settle, uneven

SMALL_WINDOW, SOFT_KEEP = 320, 5
"""Pixels that a first look with a soft kernel takes, and pitches that stay after it."""
LOOKED_AT = 20
MULTIPLES = (2, 3, 4, 5)
WHOLE = range(3, 13)
"""Pitches that are always looked at."""
NEAR = (-0.15, 0.0, 0.15)
"""Cells by which pitches around one drift apart from it over an axis."""
HOPELESS = 0.2
"""Gain in a first look below which a grid is not looked at again."""
PROMISING = 0.25
"""Gain of the best in a first look below which there is no grid: that of most photos."""
MOST_RUGGED, ROUNDED = 3.0, 2.0
"""Ruggedness above which nothing interpolated between cells: of pictures enlarged twice at most
2.9, of more 2.1, of hard edges 3.4 to 8; and the squares that rounding to bytes makes of it."""
EVEN, PHASES = 0.004, 8
"""Share by which the pitches of both axes may part unnoticed, and phases tried to make them one."""


def search(
    x: Axis, y: Axis, planes: NDArray[np.float32], finest: float = 0.0, *, part: bool = False
) -> tuple[Candidate, float]:
    """The best grid over all families, and its gain, on two axes of moderate length.

    `planes` (h, w, channels) float32 is the picture that the axes are of. When only grids finer
    than `finest` pixels a cell are likely, none is judged, and the gain is 0. `part`: it is a part
    of a picture, in which no whole number of cells is to be expected.
    """
    guesses = _hard(x, y, pitch_grid(x.length, y.length), part)
    if not _is_enough(x, y, guesses[0]) and ruggedness(planes) > MOST_RUGGED:
        if max(axis_gain(x, y, g) for g in guesses[:4]) < PROMISING:
            return guesses[0], 0.0
    elif not _is_enough(x, y, guesses[0]):
        rough = _rough_grids(x, y, [candidate.x.pitch for candidate in guesses[:3]])
        gains = [gain for _, gain in rough] + [axis_gain(x, y, g) for g in guesses[:4]]
        if max(gains) < PROMISING:
            return guesses[0], 0.0
        guesses += _soft(x, y, rough)
    cheapest = _cheapest(guesses)
    if max(candidate.finer_pitch for candidate in cheapest) < finest:
        return cheapest[0], 0.0
    # Of large cells a small part of the picture shows too few.
    steps = {step_for(candidate.finer_pitch) for candidate in cheapest}
    found = [judged(Joint(planes, x, y, step), x, y, guesses) for step in sorted(steps | {1})]
    return max(found, key=lambda best: best[1])


def ruggedness(planes: NDArray[np.float32]) -> float:
    """Squares of third differences of a picture (h, w, channels) to those of the first ones.

    The larger one of both axes: 6 for steps from pixel to pixel, 10 for noise.
    """
    found = []
    for axis in (0, 1):
        lines = planes[:, ::2] if axis == 0 else planes[::2]
        first, third = (np.diff(lines, n=order, axis=axis).ravel() for order in (1, 3))
        power = [float(np.vdot(steps, steps)) / max(1, steps.size) for steps in (first, third)]
        found.append(max(0.0, power[1] - ROUNDED) / max(power[0], 1e-6))
    return max(found)


def _cheapest(guesses: list[Candidate]) -> list[Candidate]:
    """The best with hard cells, and with soft ones."""
    sorts = [g for g in guesses if g.kind <= HARDEST], [g for g in guesses if g.kind > HARDEST]
    return [min(some, key=lambda candidate: candidate.cost) for some in sorts if some]


def _hard(x: Axis, y: Axis, pitches: NDArray[np.float64], part: bool) -> list[Candidate]:
    """Best grids with hard cells, cheapest first."""
    cost_x, _ = x.scan(pitches)
    cost_y, _ = y.scan(pitches)
    odd = FREE * ~divides(x.length, pitches) + FREE * ~divides(y.length, pitches)
    odd = odd + np.where(odd > 0, 2 * FREE_PITCH * (np.abs(pitches - pitches.round()) > 1e-6), 0)
    pairs = [(pitches[i], pitches[i]) for i in minima(cost_x + cost_y + odd, pitches)]
    own_x, own_y = pitches[cost_x.argmin()], pitches[cost_y.argmin()]
    if abs(np.log(own_x / own_y)) > 0.03:
        pairs.append((own_x, own_y))
    guesses = [settle(x, y, *pair, NEAREST) for pair in pairs]
    guesses.sort(key=lambda candidate: candidate.cost)
    # A fraction of the right pitch is less hurt when the scan meets it only nearly.
    for fine in (guesses[0], *[g for g in guesses if g.finer_pitch >= FINE][:1]):
        if part or fine.finer_pitch < 2 * FINE or _left(x, y, fine) < 1:
            coarser = [_coarser(x, y, fine, k) for k in MULTIPLES]
            best = min(coarser, key=lambda candidate: candidate.cost)
            # What is still a fraction of the right one can be made coarser again.
            guesses += [*coarser, *(_coarser(x, y, best, k) for k in MULTIPLES if part)]
    guesses.sort(key=lambda candidate: candidate.cost)
    if not _is_enough(x, y, guesses[0]):
        tops = [*guesses[:2], *[g for g in guesses[2:] if g.x.pitch >= FINE][:2]]
        tops = [g for g in tops if axis_gain(x, y, g) > HOPELESS]
        guesses += [resettle(x, y, g, kind) for g in tops for kind in HARD_KINDS[1:]]
    return sorted(guesses, key=lambda candidate: candidate.cost)


def _coarser(x: Axis, y: Axis, candidate: Candidate, times: int) -> Candidate:
    """Of the edges of a hard grid each so many-th: those that explain most."""
    (on_x, cost_x), (on_y, cost_y) = (
        refine(
            axis,
            lines.pitch * times,
            NEAREST,
            [wrap(lines.offset + i * lines.pitch, lines.pitch * times) for i in range(times)],
        )
        for axis, lines in ((x, candidate.x), (y, candidate.y))
    )
    return Candidate(on_x, on_y, NEAREST, cost_x + cost_y + uneven(x, y, on_x, on_y, NEAREST))


def _left(x: Axis, y: Axis, candidate: Candidate) -> float:
    """Mean squared error that a grid leaves, on the axis that it fits less."""
    return max(left_over(x, candidate.x, candidate.kind), left_over(y, candidate.y, candidate.kind))


def _is_enough(x: Axis, y: Axis, candidate: Candidate) -> bool:
    """Whether hardly anything is left to explain, and not because the grid is so fine."""
    return _left(x, y, candidate) < 1 and candidate.finer_pitch >= FINE


def _rough_grids(x: Axis, y: Axis, pitches: list[float]) -> list[tuple[Candidate, float]]:
    """Grids with the bicubic kernel, for all that interpolate, cheapest first; and their gains."""
    small_x, small_y = x.window(SMALL_WINDOW), y.window(SMALL_WINDOW)
    # Most pictures are enlarged by a whole number, which another kernel's scan may just miss.
    candidates = spread([*soft_pitches(x, y), *map(float, WHOLE), *pitches])
    rough = sorted((_rough(small_x, small_y, p) for p in candidates), key=lambda g: g.cost)
    return [(candidate, axis_gain(small_x, small_y, candidate)) for candidate in rough[:LOOKED_AT]]


def _soft(x: Axis, y: Axis, rough: list[tuple[Candidate, float]]) -> list[Candidate]:
    """The best of rough grids, refined on all of both axes, and all of them on the whole frame."""
    # Where much was clipped, finer grids cost less than the right one, which stands out still.
    hopeful = [(candidate.x.pitch, gain) for candidate, gain in rough if gain > HOPELESS]
    standing_out = sorted(hopeful, key=lambda one: -one[1])
    order = [pitch for pair in zip(hopeful, standing_out, strict=True) for pitch, _ in pair]
    tops = spread(order)[:SOFT_KEEP]
    framed = [_framed(x, y, candidate.x.pitch) for candidate, _ in rough]
    settled = [settle(x, y, pitch, pitch, BICUBIC) for pitch in tops]
    return [
        *settled,
        *(even for candidate in settled for even in _evened(x, y, candidate)),
        *framed,
    ]


def _evened(x: Axis, y: Axis, candidate: Candidate) -> list[Candidate]:
    """With the pitch of one axis on both, when they part more than rounding the size explains."""
    if abs(log(candidate.x.pitch / candidate.y.pitch)) < EVEN:
        return []
    found = []
    for pitch in (candidate.x.pitch, candidate.y.pitch):
        phases = [AxisGrid(pitch, -pitch * i / PHASES) for i in range(PHASES)]
        costs = [axis.costs(phases, BICUBIC) for axis in (x, y)]
        lines = [phases[int(cost.argmin())] for cost in costs]
        found.append(
            Candidate(lines[0], lines[1], BICUBIC, float(sum(cost.min() for cost in costs)))
        )
    return found


def _framed(x: Axis, y: Axis, pitch: float) -> Candidate:
    """A whole number of cells in the frame, with the bicubic kernel."""
    on_x, on_y = (AxisGrid(a.length / max(1, round(a.length / pitch)), 0.0, True) for a in (x, y))
    cost = x.costs([on_x], BICUBIC)[0] + y.costs([on_y], BICUBIC)[0]
    return Candidate(on_x, on_y, BICUBIC, float(cost))


def _rough(x: Axis, y: Axis, pitch: float) -> Candidate:
    """Best pitch nearby, over four phases an axis, with the bicubic kernel."""
    near = [pitch * (1 + drift * pitch / max(x.length, y.length)) for drift in NEAR]
    tried = [AxisGrid(p, -p * i / 4) for p in near for i in range(4)]
    on_x, on_y = (a.costs(tried, BICUBIC).reshape(len(near), 4) for a in (x, y))
    both = on_x.min(axis=1) + on_y.min(axis=1)
    best = int(both.argmin())
    lines = [tried[best * 4 + int(on[best].argmin())] for on in (on_x, on_y)]
    return Candidate(lines[0], lines[1], BICUBIC, float(both[best]))
