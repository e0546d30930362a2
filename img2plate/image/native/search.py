"""Which grid: candidates from an exhaustive scan and from spectra, the cheapest of them wins.

They are found and refined on each axis alone, which is quick, and judged on both at once.
"""

from __future__ import annotations

from dataclasses import replace
from math import log

import numpy as np
from numpy.typing import NDArray

from img2plate.image.native.axis import FREE, FREE_PITCH, Axis, Lines
from img2plate.image.native.candidates import (
    bend_pitches,
    dip_pitches,
    divides,
    minima,
    pitch_grid,
    spread,
)
from img2plate.image.native.guess import Guess, axis_gain, left_over, unexplained
from img2plate.image.native.joint import ROUNDS, Joint, refined, step_for
from img2plate.image.native.loops import (
    BICUBIC,
    BICUBIC_SHARP,
    BILINEAR,
    HARDEST,
    LANCZOS,
    LANCZOS_WIDE,
    NEAREST,
)
from img2plate.image.native.refine import resettle, settle

WINDOW = 720
"""Pixels of an axis that the first scan looks at."""
SMALL_WINDOW, SOFT_KEEP = 320, 5
"""Pixels that a first look with a soft kernel takes, and pitches that stay after it."""
LOOKED_AT = 20
_NEAR = np.array([0.99, 0.995, 1.0, 1.005, 1.01])
HOPELESS = 0.2
"""Gain in a first look below which a grid is not looked at again."""
FINE = 2.6
"""Pixels a cell below which nearly every picture can be explained."""
NOISY = 2.0
"""How much more a gain counts in plain noise, which hides most of it."""
ENOUGH = 0.03
"""Share of the variation that a grid may leave."""
FINALISTS = 6
"""Grids of either sort, hard or soft, that are judged on both axes at once."""
REFINED = 3
PLAIN_KINDS = (BILINEAR, BICUBIC, LANCZOS)
"""Kernels that grids cheap on neither axis are tried with."""
SOFT_KINDS = (BICUBIC, BILINEAR, LANCZOS, BICUBIC_SHARP, LANCZOS_WIDE)


def windows(x: Axis, y: Axis) -> tuple[Axis, Axis]:
    """The part of both axes that is looked at: all of a small picture."""
    return x.window(WINDOW), y.window(WINDOW)


def search(x: Axis, y: Axis, planes: NDArray[np.float32]) -> tuple[Guess, float]:
    """The best grid over all families, and its gain; of a large picture, refined on all of it.

    `planes` (h, w, channels) float32 is the picture that the axes are of.
    """
    small_x, small_y = windows(x, y)
    left, top = x.busiest(WINDOW), y.busiest(WINDOW)
    guess, gain = _search(small_x, small_y, planes[top : top + WINDOW, left : left + WINDOW])
    if (small_x, small_y) == (x, y):
        return guess, gain
    # How hard cells end matters little on many pixels, and only the plain kernel is quick.
    kind = NEAREST if guess.kind <= HARDEST else guess.kind
    on_all = settle(x, y, guess.x.pitch, guess.y.pitch, kind)
    return replace(on_all, kind=guess.kind), gain


def _search(x: Axis, y: Axis, planes: NDArray[np.float32]) -> tuple[Guess, float]:
    """Search all families on two axes of moderate length."""
    guesses = _hard(x, y, pitch_grid(x.length, y.length))
    if not _is_enough(x, y, guesses[0]):
        guesses += _soft(x, y, [guess.x.pitch for guess in guesses[:3]])
    # Of large cells a small part of the picture shows too few.
    steps = {step_for(min(guess.x.pitch, guess.y.pitch)) for guess in _cheapest(guesses)}
    found = [_judged(Joint(planes, x, y, step), x, y, guesses) for step in sorted(steps | {1})]
    return max(found, key=lambda best: best[1])


def _cheapest(guesses: list[Guess]) -> list[Guess]:
    """The best with hard cells, and with soft ones."""
    sorts = [g for g in guesses if g.kind <= HARDEST], [g for g in guesses if g.kind > HARDEST]
    return [min(some, key=lambda guess: guess.cost) for some in sorts if some]


def _judged(joint: Joint, x: Axis, y: Axis, guesses: list[Guess]) -> tuple[Guess, float]:
    """The best on both axes at once, each soft one with every kernel; and its gain."""
    hard = _distinct([g for g in guesses if g.kind <= HARDEST])[: 2 * FINALISTS]
    smooth = _distinct([g for g in guesses if g.kind > HARDEST])
    others = [replace(g, kind=kind) for g in smooth[FINALISTS:] for kind in PLAIN_KINDS]
    soft = smooth[:FINALISTS] + sorted(others, key=joint.cost)[:2]
    soft += [_whole(joint, g) for g in soft if not joint.cut and not (g.x.whole and g.y.whole)]
    finalists = hard + [replace(g, kind=kind) for g in soft for kind in SOFT_KINDS]
    ranked = sorted(finalists, key=joint.cost)
    if joint.is_plain_noise(ranked[0]):
        joint.white = True
        ranked.sort(key=joint.cost)
    joint.rounds = ROUNDS
    ranked = sorted(ranked[:FINALISTS], key=joint.cost) + ranked[FINALISTS:]
    best = _not_too_fine(x, y, ranked)
    if best.kind > HARDEST and not joint.cut:
        tops = [g for g in ranked[: 2 * FINALISTS] if g.kind > HARDEST]
        apart = [g for i, g in enumerate(tops) if not any(_alike(g, h) for h in tops[:i])]
        best = min([best, *(refined(joint, g) for g in apart[:REFINED])], key=joint.cost)
    return best, joint.gain(best) * (NOISY if joint.white else 1.0)


def _whole(joint: Joint, guess: Guess) -> Guess:
    """The same, with a whole number of cells in the frame."""
    x, y = (
        Lines(length / max(1, round(length / lines.pitch)), 0.0, True)
        for lines, length in zip((guess.x, guess.y), joint.size, strict=True)
    )
    return replace(guess, x=x, y=y)


def _not_too_fine(x: Axis, y: Axis, ranked: list[Guess]) -> Guess:
    """The best, or a coarser grid that explains nearly all: the finest ones fit anything."""
    if min(ranked[0].x.pitch, ranked[0].y.pitch) >= FINE:
        return ranked[0]
    for guess in ranked:
        if (
            min(guess.x.pitch, guess.y.pitch) >= FINE
            and max(unexplained(x, guess.x, guess.kind), unexplained(y, guess.y, guess.kind))
            < ENOUGH
            and axis_gain(x, y, guess) > 0.6
        ):
            return guess
    return ranked[0]


def _distinct(guesses: list[Guess]) -> list[Guess]:
    """Cheapest of each pitch and kernel."""
    kept: list[Guess] = []
    for guess in sorted(guesses, key=lambda guess: guess.cost):
        if not any(guess.kind == other.kind and _alike(guess, other) for other in kept):
            kept.append(guess)
    return kept


def _alike(one: Guess, two: Guess) -> bool:
    ratios = one.x.pitch / two.x.pitch, one.y.pitch / two.y.pitch
    return all(abs(log(ratio)) < 0.004 for ratio in ratios)


def _hard(x: Axis, y: Axis, pitches: NDArray[np.float64]) -> list[Guess]:
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
    guesses.sort(key=lambda guess: guess.cost)
    if not _is_enough(x, y, guesses[0]):
        tops = [*guesses[:2], *[g for g in guesses[2:] if g.x.pitch >= FINE][:2]]
        tops = [g for g in tops if axis_gain(x, y, g) > HOPELESS]
        guesses += [resettle(x, y, g, kind) for g in tops for kind in range(1, HARDEST + 1)]
    return sorted(guesses, key=lambda guess: guess.cost)


def _is_enough(x: Axis, y: Axis, guess: Guess) -> bool:
    """Whether hardly anything is left to explain, and not because the grid is so fine."""
    left = max(left_over(x, guess.x, guess.kind), left_over(y, guess.y, guess.kind))
    return left < 1.0 and min(guess.x.pitch, guess.y.pitch) >= FINE


def _soft(x: Axis, y: Axis, pitches: list[float]) -> list[Guess]:
    """Best grids with the interpolating kernels, found with the bicubic one for all of them."""
    small_x, small_y = x.window(SMALL_WINDOW), y.window(SMALL_WINDOW)
    candidates = spread([*bend_pitches(x, y), *dip_pitches(x, y), *pitches])
    rough = sorted((_rough(small_x, small_y, p) for p in candidates), key=lambda g: g.cost)
    # Where much was clipped, finer grids cost less than the right one, which stands out still.
    gains = [axis_gain(small_x, small_y, guess) for guess in rough[:LOOKED_AT]]
    hopeful = [i for i, better in enumerate(gains) if better > HOPELESS]
    standing_out = sorted(hopeful, key=lambda i: -gains[i])
    order = [i for pair in zip(hopeful, standing_out, strict=True) for i in pair]
    tops = spread([rough[i].x.pitch for i in order])[:SOFT_KEEP]
    framed = [_framed(x, y, guess.x.pitch) for guess in rough[:LOOKED_AT]]
    return [*(settle(x, y, pitch, pitch, BICUBIC) for pitch in tops), *framed]


def _framed(x: Axis, y: Axis, pitch: float) -> Guess:
    """A whole number of cells in the frame, with the bicubic kernel."""
    on_x, on_y = (Lines(a.length / max(1, round(a.length / pitch)), 0.0, True) for a in (x, y))
    cost = x.costs([on_x], BICUBIC)[0] + y.costs([on_y], BICUBIC)[0]
    return Guess(on_x, on_y, BICUBIC, float(cost))


def _rough(x: Axis, y: Axis, pitch: float) -> Guess:
    """Best pitch within one percent, over four phases an axis, with the bicubic kernel."""
    near = pitch * _NEAR
    tried = [Lines(p, -p * i / 4) for p in near for i in range(4)]
    on_x, on_y = (a.costs(tried, BICUBIC).reshape(len(near), 4) for a in (x, y))
    both = on_x.min(axis=1) + on_y.min(axis=1)
    best = int(both.argmin())
    lines = [tried[best * 4 + int(on[best].argmin())] for on in (on_x, on_y)]
    return Guess(lines[0], lines[1], BICUBIC, float(both[best]))
