"""Which grid: candidates from an exhaustive scan and from spectra, the cheapest of them wins."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from img2plate.image.native.axis import FREE, FREE_PITCH, PRICES, Axis, Lines
from img2plate.image.native.loops import (
    BICUBIC,
    BICUBIC_SHARP,
    BILINEAR,
    HARDEST,
    LANCZOS,
    LANCZOS_WIDE,
    NEAREST,
    NOISE,
)

LEAST_PITCH, MOST_PITCH = 1.5, 90.0
WINDOW = 720
"""Pixels of an axis that the first scan looks at."""
KEEP = 7
"""Scanned pitches that are looked at more closely."""
SMALL_WINDOW, SOFT_KEEP = 320, 5
"""Pixels that a first look with a soft kernel takes, and pitches that stay after it."""
_NEAR = np.array([0.99, 0.995, 1.0, 1.005, 1.01])
HOPELESS = 0.2
"""Gain in a first look below which a grid is not looked at again."""
FINE = 2.6
"""Pixels a cell below which nearly every picture can be explained."""
ENOUGH = 0.03
_UNEVEN = 40.0
"""What axes of different pitch cost, besides their cells."""


@dataclass(frozen=True)
class Guess:
    """A grid on both axes, with a kernel."""

    x: Lines
    y: Lines
    kind: int
    cost: float


def windows(x: Axis, y: Axis) -> tuple[Axis, Axis]:
    """The part of both axes that is looked at: all of a small picture."""
    return x.window(WINDOW), y.window(WINDOW)


def search(x: Axis, y: Axis) -> Guess:
    """Return the cheapest grid over all families; of a large picture, refined on all of it."""
    small_x, small_y = windows(x, y)
    guess = _search(small_x, small_y)
    if (small_x, small_y) == (x, y):
        return guess
    return _settle(x, y, guess.x.pitch, guess.y.pitch, guess.kind)


def _search(x: Axis, y: Axis) -> Guess:
    """Search all families on two axes of moderate length."""
    guesses = _hard(x, y, _pitch_grid(x.length, y.length))
    if not _is_enough(x, y, guesses[0]):
        guesses += _soft(x, y, [guess.x.pitch for guess in guesses[:3]])
    best = min(guesses, key=lambda guess: guess.cost)
    return _not_too_fine(x, y, best, guesses)


def _not_too_fine(x: Axis, y: Axis, best: Guess, guesses: list[Guess]) -> Guess:
    """Give way to a coarser grid that explains nearly all: the finest ones fit anything."""
    if min(best.x.pitch, best.y.pitch) >= FINE:
        return best
    coarser = [
        g
        for g in guesses
        if min(g.x.pitch, g.y.pitch) >= FINE
        and _unexplained(x, g.x, g.kind) < ENOUGH
        and _unexplained(y, g.y, g.kind) < ENOUGH
    ]
    for guess in sorted(coarser, key=lambda guess: guess.cost):
        if gain(x, y, guess) > 0.6:
            return guess
    return best


def _unexplained(axis: Axis, lines: Lines, kind: int) -> float:
    """Share of an axis' variation that a grid leaves, 0..1."""
    flat = Lines(float(axis.length), 0.0, True)
    return _left(axis, lines, kind) / max(_left(axis, flat, NEAREST), 1e-9)


def gain(x: Axis, y: Axis, guess: Guess) -> float:
    """How much better than its neighbours a grid is: nats for each pixel of both axes.

    Neighbours are whole-frame grids of 0.6 to 1.6 times the pitch, with the same kernel.
    """
    better = 0.0
    for axis, lines in ((x, guess.x), (y, guess.y)):
        counts = axis.length / (lines.pitch * np.geomspace(0.6, 1.6, 24))
        near = {max(1, round(count)) for count in counts}
        near -= (
            {round(axis.length / lines.pitch) + d for d in (-1, 0, 1)} if len(near) > 6 else set()
        )
        others = [Lines(axis.length / n, 0.0, True) for n in sorted(near)]
        own = axis.costs([lines], guess.kind)[0]
        if others:
            better += float(np.median(axis.costs(others, guess.kind))) - own
    return better / (x.length + y.length)


def _left(axis: Axis, lines: Lines, kind: int) -> float:
    """Mean squared error that a grid leaves on an axis."""
    bare = replace(lines, whole=True) if kind == NEAREST else lines
    cost = axis.costs([bare], kind)[0]
    return float(np.exp((cost - PRICES[kind] * axis.length / lines.pitch) / axis.length)) - NOISE


def _pitch_grid(width: int, height: int) -> NDArray[np.float64]:
    """Pitches so close that a grid drifts by half a pixel over the window.

    Besides all that a frame holds a whole number of times, and whole and half pixels: there many
    edges lie on ties, so that a pitch nearby is not good enough.
    """
    top = max(min(MOST_PITCH, min(width, height) / 2), 2.0)
    count = int(np.log(top / LEAST_PITCH) * max(width, height) / 0.5)
    even = np.geomspace(LEAST_PITCH, top, max(8, count))
    halves = np.arange(4, int(2 * top) + 1) / 2
    frames = [side / np.arange(2, int(side / LEAST_PITCH) + 1) for side in (width, height)]
    grid = np.unique(np.concatenate([even, halves, *frames]))
    return grid[(grid >= LEAST_PITCH) & (grid <= top)]


def _hard(x: Axis, y: Axis, pitches: NDArray[np.float64]) -> list[Guess]:
    """Best grids with hard cells, cheapest first."""
    cost_x, _ = x.scan(pitches)
    cost_y, _ = y.scan(pitches)
    odd = FREE * ~_divides(x.length, pitches) + FREE * ~_divides(y.length, pitches)
    odd = odd + np.where(odd > 0, 2 * FREE_PITCH * (np.abs(pitches - pitches.round()) > 1e-6), 0)
    pairs = [(pitches[i], pitches[i]) for i in _minima(cost_x + cost_y + odd, pitches)]
    own_x, own_y = pitches[cost_x.argmin()], pitches[cost_y.argmin()]
    if abs(np.log(own_x / own_y)) > 0.03:
        pairs.append((own_x, own_y))
    guesses = [_settle(x, y, *pair, NEAREST) for pair in pairs]
    guesses.sort(key=lambda guess: guess.cost)
    if not _is_enough(x, y, guesses[0]):
        tops = [*guesses[:2], *[g for g in guesses[2:] if g.x.pitch >= FINE][:2]]
        tops = [g for g in tops if gain(x, y, g) > HOPELESS]
        guesses += [_resettle(x, y, g, kind) for g in tops for kind in range(1, HARDEST + 1)]
    return sorted(guesses, key=lambda guess: guess.cost)


def _divides(length: int, pitches: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Whether a frame holds a pitch a whole number of times."""
    count = length / pitches
    return np.asarray(np.abs(count - count.round()) < 1e-6)


def _is_enough(x: Axis, y: Axis, guess: Guess) -> bool:
    """Whether hardly anything is left to explain, and not because the grid is so fine."""
    left = max(_left(x, guess.x, guess.kind), _left(y, guess.y, guess.kind))
    return left < 1.0 and min(guess.x.pitch, guess.y.pitch) >= FINE


def _resettle(x: Axis, y: Axis, guess: Guess, kind: int) -> Guess:
    """The same grid with another kernel, refined from there."""
    shifts = np.arange(-2, 3) * 0.25
    on_x, cost_x = refine(x, guess.x.pitch, kind, [float(guess.x.offset + s) for s in shifts])
    on_y, cost_y = refine(y, guess.y.pitch, kind, [float(guess.y.offset + s) for s in shifts])
    return Guess(on_x, on_y, kind, cost_x + cost_y + _uneven(x, y, on_x, on_y, kind))


def _minima(cost: NDArray[np.float64], pitches: NDArray[np.float64]) -> list[int]:
    """Places of the lowest local minima, one for each hollow."""
    padded = np.pad(cost, 1, constant_values=np.inf)
    low = np.flatnonzero((cost <= padded[:-2]) & (cost <= padded[2:]))
    kept: list[int] = []
    for i in low[np.argsort(cost[low])][:80]:
        if all(abs(np.log(pitches[i] / pitches[k])) > 0.01 for k in kept):
            kept.append(int(i))
    return kept[:KEEP]


def _settle(x: Axis, y: Axis, pitch_x: float, pitch_y: float, kind: int) -> Guess:
    """Refine both axes near a pitch, and add up."""
    on_x, cost_x = refine(x, pitch_x, kind)
    on_y, cost_y = refine(y, pitch_y, kind)
    return Guess(on_x, on_y, kind, cost_x + cost_y + _uneven(x, y, on_x, on_y, kind))


def _uneven(x: Axis, y: Axis, on_x: Lines, on_y: Lines, kind: int) -> float:
    """Price of axes that differ in pitch: as if both had the finer one, and a little more."""
    if abs(np.log(on_x.pitch / on_y.pitch)) < 0.03:
        return 0.0
    fine = min(on_x.pitch, on_y.pitch)
    saved = x.length / fine - x.length / on_x.pitch + y.length / fine - y.length / on_y.pitch
    return _UNEVEN + PRICES[kind] * saved


def refine(
    axis: Axis, pitch: float, kind: int, offsets: list[float] | None = None
) -> tuple[Lines, float]:
    """Best grid near a pitch: whole frame, whole pitch, or free, each at its price."""
    start = [Lines(pitch, o) for o in (offsets or _phases(axis, pitch, kind))]
    near = {max(1, round(axis.length / pitch) + d) for d in (-1, 0, 1)}
    whole = [Lines(axis.length / n, 0.0, True) for n in sorted(near)]
    whole = [
        g for g in whole if abs(np.log(g.pitch / pitch)) < max(0.02, 0.7 * pitch / axis.length)
    ]
    if kind == NEAREST:  # some programs take the pixel's corner for its middle
        whole += [Lines(g.pitch, 0.5, True) for g in whole if g.pitch % 1]
    even = round(pitch)
    if even >= 2 and abs(even - pitch) < 0.03 * pitch:
        start += [Lines(float(even), o) for o in (offsets or _phases(axis, float(even), kind))]
    tried = start + whole
    costs = axis.costs(tried, kind)
    best, cost = tried[int(costs.argmin())], float(costs.min())
    free = tried[int(costs[: len(start)].argmin())]
    turned, turned_cost = _descend(axis, free, kind, float(costs[: len(start)].min()))
    if turned_cost < cost:
        best, cost = turned, turned_cost
    if kind == NEAREST and best.pitch % 1 == 0 and not best.whole:
        # Its edges lie between pixels: of all offsets that mean the same, the whole number.
        best = Lines(best.pitch, _wrap(np.ceil(best.offset - 0.5), best.pitch))
    return best, cost


def _phases(axis: Axis, pitch: float, kind: int) -> list[float]:
    """Offsets to start from."""
    steps = max(2, round(pitch * 2)) if kind <= HARDEST else 8
    steps = min(steps, 48)
    return [-pitch * i / steps for i in range(steps)]


def _descend(axis: Axis, lines: Lines, kind: int, cost: float) -> tuple[Lines, float]:
    """Turn pitch (about the middle of the frame) and offset in ever smaller steps."""
    middle = axis.length / 2
    turn, shift = 0.6 * lines.pitch / axis.length, min(0.5, lines.pitch / 8)
    for _ in range(7):
        tried = []
        for dp, do in ((turn, 0.0), (-turn, 0.0), (0.0, shift), (0.0, -shift)):
            pitch = lines.pitch + dp
            offset = middle - (middle - lines.offset) * pitch / lines.pitch + do
            tried.append(Lines(pitch, _wrap(offset, pitch)))
        costs = axis.costs(tried, kind)
        if costs.min() < cost:
            lines, cost = tried[int(costs.argmin())], float(costs.min())
        else:
            turn, shift = turn / 2, shift / 2
    return lines, cost


def _wrap(offset: float, pitch: float) -> float:
    """Bring an offset into -pitch..0."""
    return -((-offset) % pitch)


def _soft(x: Axis, y: Axis, pitches: list[float]) -> list[Guess]:
    """Best grids with the interpolating kernels, found with the bicubic one for all of them."""
    small_x, small_y = x.window(SMALL_WINDOW), y.window(SMALL_WINDOW)
    candidates = _spread([*_bend_pitches(x, y), *_dip_pitches(x, y), *pitches])
    rough = sorted((_rough(small_x, small_y, p) for p in candidates), key=lambda g: g.cost)
    hopeful = [g for g in rough[: 3 * SOFT_KEEP] if gain(small_x, small_y, g) > HOPELESS]
    tops = _spread([guess.x.pitch for guess in hopeful])[:SOFT_KEEP]
    if not tops:
        return []
    guesses = [_settle(x, y, pitch, pitch, BICUBIC) for pitch in tops]
    others = []
    for guess in guesses:
        for kind in (BILINEAR, LANCZOS, BICUBIC_SHARP, LANCZOS_WIDE):
            cost = x.costs([guess.x], kind)[0] + y.costs([guess.y], kind)[0]
            others.append(Guess(guess.x, guess.y, kind, float(cost)))
    best, other = (min(some, key=lambda guess: guess.cost) for some in (guesses, others))
    if other.cost < best.cost:
        others.append(_resettle(x, y, other, other.kind))
    return [*guesses, *others]


def _rough(x: Axis, y: Axis, pitch: float) -> Guess:
    """Best pitch within one percent, over four phases an axis, with the bicubic kernel."""
    near = pitch * _NEAR
    tried = [Lines(p, -p * i / 4) for p in near for i in range(4)]
    on_x, on_y = (a.costs(tried, BICUBIC).reshape(len(near), 4) for a in (x, y))
    both = on_x.min(axis=1) + on_y.min(axis=1)
    best = int(both.argmin())
    lines = [tried[best * 4 + int(on[best].argmin())] for on in (on_x, on_y)]
    return Guess(lines[0], lines[1], BICUBIC, float(both[best]))


def _spread(pitches: list[float]) -> list[float]:
    """Drop pitches that are nearly equal to an earlier one, or out of range."""
    kept: list[float] = []
    for pitch in pitches:
        if LEAST_PITCH <= pitch <= MOST_PITCH and all(abs(np.log(pitch / k)) > 0.004 for k in kept):
            kept.append(float(pitch))
    return kept


_FREQUENCIES = np.linspace(1 / MOST_PITCH, 1 / LEAST_PITCH, 8000)


def _bend_pitches(x: Axis, y: Axis) -> list[float]:
    """Pitches at the peaks of both axes' summed spectra of bends."""
    power = np.zeros(len(_FREQUENCIES))
    for axis in (x, y):
        signal = axis.bends - axis.bends.mean()
        size = 1 << int(np.ceil(np.log2(axis.length * 16)))
        spectrum = np.abs(np.fft.rfft(signal * np.hanning(len(signal)), size))
        spectrum /= spectrum.mean() + 1e-12
        power += np.interp(_FREQUENCIES, np.fft.rfftfreq(size), spectrum)
    top = 1 / _FREQUENCIES[_peaks(power)]
    # The blocks of JPEG bend at every eighth pixel: they count once, and do not crowd out others.
    top = top[np.abs(8 / top - np.round(8 / top)) > 0.02][:8]
    return [8.0, *(float(p) for p in np.concatenate([top, top[:4] * 2, top[:3] * 3, top[:2] / 2]))]


def _dip_pitches(x: Axis, y: Axis) -> list[float]:
    """Pitches p at whose multiples of 1 / p the picture's own spectrum dips.

    Any kernel that keeps a flat area flat has zeros there, wherever the grid starts.
    """
    score = np.zeros(len(_FREQUENCIES))
    for axis in (x, y):
        size = 1 << int(np.ceil(np.log2(axis.length * 4)))
        window = np.hanning(axis.length)
        # Spectrum of all lines at once: the transform of the summed diagonals of the Gram matrix.
        weighted = axis.gram * np.outer(window, window)
        lags = np.array([np.trace(weighted, d) for d in range(axis.length)])
        spectrum = 2 * np.fft.rfft(lags, size).real - lags[0]
        level = np.log(np.maximum(spectrum, spectrum.max() * 1e-7))
        at = np.fft.rfftfreq(size)
        around = np.convolve(np.pad(level, 24, mode="edge"), np.ones(49) / 49, mode="valid")
        for k in (1, 2):
            inside = np.minimum(_FREQUENCIES * k, 0.5)
            score += np.where(_FREQUENCIES * k <= 0.5, np.interp(inside, at, around - level), 0)
    top = 1 / _FREQUENCIES[_peaks(score)[:10]]
    return [float(p) for p in np.concatenate([top, top / 2, top[:5] / 3])]


def _peaks(values: NDArray[np.float64]) -> NDArray[np.int64]:
    """Places of local maxima, highest first."""
    padded = np.pad(values, 1, constant_values=-np.inf)
    high = np.flatnonzero((values > padded[:-2]) & (values >= padded[2:]))
    return high[np.argsort(-values[high])]
