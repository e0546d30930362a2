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
from img2plate.image.native.drift_evidence import Lines, drift_score
from img2plate.image.native.drift_loops import by_places, by_widths
from img2plate.image.native.parts import premultiplied, varying_channels

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
MOST_SIDE, LEAST_CELLS = 1100, 8
"""Pixels of a picture that is looked at; and cells of the shorter side, fewer of which drift as one
likes."""


@dataclass(frozen=True, eq=False)
class DriftingGrid:
    """Uneven lines on both axes."""

    x: Lines
    """(columns + 1,) first pixels of cells, and the end of the picture."""
    y: Lines


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
    if found is None or min(map(len, found)) <= LEAST_CELLS:
        return None
    return DriftingGrid(*found) if drift_score(planes, *found) > 0 else None


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
