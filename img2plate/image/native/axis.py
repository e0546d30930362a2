"""One axis of a picture, prepared for trying grids on it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from math import ceil, floor

import numpy as np
from numpy.typing import NDArray

from img2plate.image.native.boxes import box_edges, box_scan
from img2plate.image.native.loops import NEAREST, NOISE, residuals

MOST_LINES = 320
"""AxisGrid across the axis that are looked at; more tell little more."""
PRICES = (3.4, 6.0, 9.0, 10.0, 12.5, 12.5, 12.5, 12.5, 12.5, *[12.5] * 5)
"""What a cell costs, by kernel: keeps too fine grids out. Chosen on the tuning set."""
FREE, FREE_PITCH = 12.0, 10.0
"""What a free phase costs, and a pitch that is no whole number besides."""


@dataclass(frozen=True)
class AxisGrid:
    """A grid on one axis: cell i reaches from offset + i pitch to offset + (i + 1) pitch."""

    pitch: float
    offset: float
    """From -pitch to 0."""
    whole: bool = False
    """Whether the frame holds a whole number of cells, from edge to edge."""

    def count(self, length: int) -> int:
        """Cells that the frame touches."""
        if self.whole:
            return round(length / self.pitch)
        return ceil((length - self.offset) / self.pitch - 1e-6) - floor(
            1e-6 - self.offset / self.pitch
        )


@dataclass(frozen=True, eq=False)
class Axis:
    """Gram matrix of one axis."""

    gram: NDArray[np.float32]
    """(length, length)."""
    samples: int
    bends: NDArray[np.float64]
    """(length,) mean log of the second difference: high where cells meet, or at their middles."""

    @property
    def length(self) -> int:
        """Pixels along the axis."""
        return len(self.gram)

    @cached_property
    def total(self) -> float:
        """Sum of squares."""
        return float(np.trace(self.gram.astype(np.float64)))

    @cached_property
    def summed_gram(self) -> NDArray[np.float64]:
        """(length + 1, length + 1) summed Gram matrix."""
        out = np.zeros((self.length + 1, self.length + 1))
        out[1:, 1:] = self.gram.astype(np.float64).cumsum(axis=0).cumsum(axis=1)
        return out

    def scan(self, pitches: NDArray[np.float64]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Cost and best offset of each pitch, with the nearest kernel."""
        return box_scan(self.summed_gram, self.total, self.samples, pitches, PRICES[NEAREST])

    def costs(self, lines: list[AxisGrid], kind: int) -> NDArray[np.float64]:
        """Cost of each grid with one kernel; lower is better."""
        left = np.maximum(self.residuals(lines, kind), 0)
        return _priced(left / (self.length * self.samples), self.length, lines, kind)

    def residuals(self, lines: list[AxisGrid], kind: int) -> NDArray[np.float64]:
        """Squares that the best fit of each grid leaves."""
        if kind == NEAREST:
            return np.array(
                [self.total - box_edges(self.summed_gram, g.pitch, g.offset)[1] for g in lines]
            )
        return residuals(
            self.gram,
            np.array([g.pitch for g in lines]),
            np.array([g.offset for g in lines]),
            kind,
            np.array([g.count(self.length) for g in lines]),
            np.array([g.whole for g in lines]),
        )

    def busiest(self, most: int) -> int:
        """Where the busiest stretch of so many pixels begins."""
        if self.length <= most:
            return 0
        sums = np.concatenate([[0.0], self.bends.cumsum()])
        return int((sums[most:] - sums[:-most]).argmax())

    def window(self, most: int) -> Axis:
        """The busiest stretch of the axis, at most so long."""
        if self.length <= most:
            return self
        start = self.busiest(most)
        cut = slice(start, start + most)
        return Axis(np.ascontiguousarray(self.gram[cut, cut]), self.samples, self.bends[cut])


@dataclass(frozen=True, eq=False)
class LongAxis:
    """A long axis, known through some stretches of it."""

    length: int
    """Pixels along the axis."""
    stretches: tuple[tuple[int, Axis], ...]
    """First pixel of each, and what is there."""

    def costs(self, lines: list[AxisGrid], kind: int) -> NDArray[np.float64]:
        """Cost of each grid with one kernel, as that of an `Axis`."""
        left, values = np.zeros(len(lines)), 0
        for start, axis in self.stretches:
            there = [AxisGrid(g.pitch, wrap(g.offset - start, g.pitch)) for g in lines]
            left += np.maximum(axis.residuals(there, kind), 0)
            values += axis.length * axis.samples
        return _priced(left / values, self.length, lines, kind)


AnyAxis = Axis | LongAxis


def _priced(
    mean: NDArray[np.float64], length: int, lines: list[AxisGrid], kind: int
) -> NDArray[np.float64]:
    """Cost of grids that leave these mean squared errors."""
    extra = [
        0.0 if g.whole else FREE + FREE_PITCH * (abs(g.pitch - round(g.pitch)) > 1e-6)
        for g in lines
    ]
    cells = np.array([length / g.pitch for g in lines])
    return np.asarray(length * np.log(mean + NOISE) + PRICES[kind] * cells + extra)


def wrap(offset: float, pitch: float) -> float:
    """Bring an offset into -pitch..0."""
    return -((-offset) % pitch)


def axes_of(planes: NDArray[np.float32]) -> tuple[Axis, Axis]:
    """Horizontal and vertical axis of a picture given as (h, w, channels) float32 0..255."""
    return axis_of(planes.transpose(1, 0, 2)), axis_of(planes)


def axis_of(planes: NDArray[np.float32]) -> Axis:
    """Axis along the first dimension, from lines spread over the second."""
    across = planes.shape[1]
    most = MOST_LINES
    lines = np.unique(np.linspace(0, across - 1, min(2 * most, across)).round().astype(int))
    part = np.ascontiguousarray(planes[:, lines])
    # AxisGrid on which little happens only water down what the others say.
    busy = np.abs(np.diff(part, axis=0)).sum(axis=(0, 2))
    part = part[:, np.argsort(-busy, kind="stable")[: min(most, max(24, len(lines) // 4))]]
    part = np.ascontiguousarray(part).reshape(len(planes), -1)
    bends = np.zeros(len(part))
    if len(part) > 2:
        bends[1:-1] = np.log1p(np.abs(np.diff(part, n=2, axis=0))).mean(axis=1)
    return Axis(part @ part.T, part.shape[1], bends)
