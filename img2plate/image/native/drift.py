"""Cells that drift: lines are straight, but unevenly spaced, as some programs draw pixel art.

Lines get freedom of two kinds, by dynamic programming on each axis: either each width is off on its
own, so that what follows is off as well, or each line is off its even place.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import log

import numpy as np
from numpy.typing import NDArray

from img2plate.base.arrays import Pixels
from img2plate.image.native.axis import Axis, axes_of
from img2plate.image.native.drift_loops import LEAST_TRIMMED, by_places, by_widths
from img2plate.image.native.parts import premultiplied, varying_channels

Lines = NDArray[np.int64]
LEAST_PITCH, MOST_PITCH, PITCHES = 4.5, 18.0, 44
"""Pixels; and how many pitches widths are tried about."""
LINE_PRICE, PRICE = 5.0, 9.0
"""Nats of a cell: while widths are chosen, so that wide ones gain nothing; and between pitches."""
NOISE = 4.0
"""Mean squared error that does not count."""
START_NOISE, WEIGHINGS = 60.0, 2
"""Mean squared error thought to be left at first, and rounds of finding out."""
PHASES = (-0.2, 0.0, 0.2)
"""Shares of the pitch by which the frame's own lines are off."""
MOST_SIDE, LEAST_CELLS = 1100, 6
"""Pixels of a picture that is looked at; and cells of the longer side, fewer of which drift as one
likes."""
DECOYS = (0.5, 1 / 3, -1 / 3)
"""Shares of each cell by which all lines are shifted for comparison."""
LEAST_CONTRAST, MOST_MIXED = 1.45, 0.07
"""Nats by which lines are better than shifted ones, and share of cells with an edge inside, for a
claim. Of 36 photos the contrast was at most 0.24, of soft even cells 0.61; of small icons with soft
edges seldom over 1.4, and then they have edges inside."""
ACTIVE, EDGE, EDGE_SHARE = 20.0, 16.0, 0.7
"""8-bit steps by which a cell differs from a neighbour, or within, to count; and within, over so
much of the difference to its neighbours, to have an edge inside."""
SAMPLES = 6
"""Places across and down a cell that are looked at for edges."""


@dataclass(frozen=True, eq=False)
class DriftingGrid:
    """Uneven lines on both axes."""

    x: Lines
    """(columns + 1,) first pixels of cells, and the end of the picture."""
    y: Lines
    contrast: float
    """Half the log of what is left by shifted lines over what is left by these."""


@dataclass(frozen=True, eq=False)
class _Tables:
    """Summed Gram matrix of an axis and its summed diagonal, for one sample."""

    summed: NDArray[np.float64]
    powers: NDArray[np.float64]

    @property
    def length(self) -> int:
        return len(self.powers) - 1

    def weight(self, left: float) -> float:
        """What a squared error counts when so much is left in all: the slope of the cost."""
        return 1 / (left / self.length + NOISE)

    def cost(self, lines: Lines, left: float, prior: float) -> float:
        """Nats."""
        return self.length * log(left / self.length + NOISE) + PRICE * (len(lines) - 1) + prior


def drifting_grid(pixels: Pixels) -> DriftingGrid | None:
    """The uneven grid of a picture (h, w, 4), if it explains much more than shifted ones do."""
    if max(pixels.shape[:2]) > MOST_SIDE or min(pixels.shape[:2]) < 3 * LEAST_PITCH:
        return None
    planes = varying_channels(premultiplied(pixels))
    found = likeliest(*axes_of(planes))
    if found is None or max(map(len, found)) <= LEAST_CELLS:
        return None
    contrast = _Sums(planes).contrast(*found)
    if contrast < LEAST_CONTRAST or mixed_share(planes, *found) > MOST_MIXED:
        return None
    return DriftingGrid(found[0], found[1], contrast)


def mixed_share(planes: NDArray[np.float32], x: Lines, y: Lines) -> float:
    """Share of cells of a picture (h, w, channels) with an edge inside, of those that differ."""
    down, across = _looked_at(y), _looked_at(x)
    seen = planes[down.reshape(-1, 1), across.reshape(1, -1)]
    seen = seen.reshape(len(down), SAMPLES, len(across), SAMPLES, -1)
    within = (seen.max(axis=(1, 3)) - seen.min(axis=(1, 3))).max(axis=2)
    means = seen.mean(axis=(1, 3))
    apart = np.zeros_like(within)
    below, beside = (np.abs(np.diff(means, axis=axis)).max(axis=2) for axis in (0, 1))
    for part, steps in (
        (np.s_[:-1], below), (np.s_[1:], below), (np.s_[:, :-1], beside), (np.s_[:, 1:], beside)
    ):  # fmt: skip
        np.maximum(apart[part], steps, out=apart[part])
    active = (apart > ACTIVE) | (within > ACTIVE)
    mixed = active & (within > EDGE_SHARE * apart + EDGE)
    return float(mixed.sum() / max(1, active.sum()))


def _looked_at(lines: Lines) -> Lines:
    """(cells, SAMPLES) pixels inside each cell, from its first to its last one."""
    low, high = _inner(lines)
    shares = np.linspace(0, 1, SAMPLES)
    return np.rint(low[:, None] + shares * (high - 1 - low)[:, None]).astype(np.int64)


def likeliest(x: Axis, y: Axis) -> tuple[Lines, Lines] | None:
    """The lines on both axes that cost least."""
    on_x, on_y = _tables(x), _tables(y)
    found: list[tuple[float, Lines, Lines]] = []
    for pitch in np.geomspace(LEAST_PITCH, MOST_PITCH, PITCHES):
        (cost_x, lines_x), (cost_y, lines_y) = (_widths(on, float(pitch)) for on in (on_x, on_y))
        found.append((cost_x + cost_y, lines_x, lines_y))
    for cells in range(max(3, int(x.length / MOST_PITCH) + 1), int(x.length / LEAST_PITCH) + 1):
        down = round(y.length * cells / x.length)
        if down >= 3:
            (cost_x, lines_x), (cost_y, lines_y) = _places(on_x, cells), _places(on_y, down)
            found.append((cost_x + cost_y, lines_x, lines_y))
    best = min(found, key=lambda one: one[0])
    return None if np.isinf(best[0]) else (best[1], best[2])


def _tables(axis: Axis) -> _Tables:
    powers = np.concatenate([[0.0], np.cumsum(np.diag(axis.gram).astype(np.float64))])
    return _Tables(axis.summed_gram / axis.samples, powers / axis.samples)


def _widths(on: _Tables, pitch: float) -> tuple[float, Lines]:
    """Cost and lines of widths about a pitch."""
    weight = 1 / (START_NOISE + NOISE)
    lines, left, prior = np.zeros(2, np.int64), 0.0, 0.0
    for _ in range(WEIGHINGS):
        lines, left, prior = by_widths(on.summed, on.powers, pitch, weight, LINE_PRICE)
        weight = on.weight(left)
    return on.cost(lines, left, prior), lines


def _places(on: _Tables, cells: int) -> tuple[float, Lines]:
    """Cost and lines about even places."""
    best, kept = np.inf, np.zeros(2, np.int64)
    pitch, weight = on.length / cells, 1 / (START_NOISE + NOISE)
    for first in PHASES:
        for last in PHASES:
            span = first * pitch, on.length + last * pitch
            lines, left, prior = by_places(on.summed, on.powers, cells, *span, weight)
            cost = on.cost(lines, left, prior) if np.isfinite(left) else np.inf
            if cost < best:
                best, kept = cost, lines
    return best, kept


def _shifted(lines: Lines, by: float) -> Lines:
    """All lines moved by a share of the cell behind or before them, the frame's kept."""
    widths = np.diff(lines)
    inner = lines[1:-1] + by * (widths[1:] if by > 0 else widths[:-1])
    return np.unique(np.concatenate([lines[:1], np.rint(inner).astype(np.int64), lines[-1:]]))


class _Sums:
    """Summed area tables of a picture (h, w, channels) and of its squares."""

    def __init__(self, planes: NDArray[np.float32]) -> None:
        fine = planes.astype(np.float64)
        self._channels = planes.shape[2]
        edge = ((1, 0), (1, 0))
        self._values = np.pad(fine.cumsum(axis=0).cumsum(axis=1), (*edge, (0, 0)))
        self._squares = np.pad((fine**2).sum(axis=2).cumsum(axis=0).cumsum(axis=1), edge)

    def contrast(self, x: Lines, y: Lines) -> float:
        """Half the log of what lines leave that are shifted, over what these leave."""
        shifted = min(self.left(_shifted(x, by), _shifted(y, by)) for by in DECOYS)
        return 0.5 * log((shifted + 1) / (self.left(x, y) + 1))

    def left(self, x: Lines, y: Lines) -> float:
        """Mean squared error about the mean of each cell, without its border pixels."""
        (low_x, high_x), (low_y, high_y) = _inner(x), _inner(y)
        count = (high_y - low_y)[:, None] * (high_x - low_x)
        values, squares = (
            (on[high_y][:, high_x] - on[low_y][:, high_x])
            - (on[high_y][:, low_x] - on[low_y][:, low_x])
            for on in (self._values, self._squares)
        )
        errors = np.maximum(squares - (values**2).sum(axis=2) / count, 0)
        free = max(1, int(count.sum()) - count.size)  # a mean takes one of its pixels
        return float(errors.sum() / free / self._channels)


def _inner(lines: Lines) -> tuple[Lines, Lines]:
    """From where to where cells reach without a pixel a side, where they are wide enough."""
    low, high = lines[:-1].copy(), lines[1:].copy()
    wide = high - low >= LEAST_TRIMMED
    low[wide] += 1
    high[wide] -= 1
    return low, high
