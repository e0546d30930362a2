"""A grid on both axes, and how much it explains."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from img2plate.image.native.axis import PRICES, Axis, AxisGrid
from img2plate.image.native.loops import NEAREST, NOISE

FINE = 2.6
"""Pixels a cell below which nearly every picture can be explained."""


@dataclass(frozen=True)
class Candidate:
    """A grid on both axes, with a kernel."""

    x: AxisGrid
    y: AxisGrid
    kind: int
    cost: float

    @property
    def finer_pitch(self) -> float:
        """The smaller one of both axes."""
        return min(self.x.pitch, self.y.pitch)


def axis_gain(x: Axis, y: Axis, candidate: Candidate) -> float:
    """How much better than its neighbours a grid is: nats for each pixel of both axes.

    Neighbours are whole-frame grids of 0.6 to 1.6 times the pitch, with the same kernel.
    """
    better = 0.0
    for axis, lines in ((x, candidate.x), (y, candidate.y)):
        counts = axis.length / (lines.pitch * np.geomspace(0.6, 1.6, 24))
        near = {max(1, round(count)) for count in counts}
        near -= (
            {round(axis.length / lines.pitch) + d for d in (-1, 0, 1)} if len(near) > 6 else set()
        )
        others = [AxisGrid(axis.length / n, 0.0, True) for n in sorted(near)]
        own = axis.costs([lines], candidate.kind)[0]
        if others:
            better += float(np.median(axis.costs(others, candidate.kind))) - own
    return better / (x.length + y.length)


def unexplained(axis: Axis, lines: AxisGrid, kind: int) -> float:
    """Share of an axis' variation that a grid leaves, 0..1."""
    flat = AxisGrid(float(axis.length), 0.0, True)
    return left_over(axis, lines, kind) / max(left_over(axis, flat, NEAREST), 1e-9)


def left_over(axis: Axis, lines: AxisGrid, kind: int) -> float:
    """Mean squared error that a grid leaves on an axis."""
    bare = replace(lines, whole=True) if kind == NEAREST else lines
    cost = axis.costs([bare], kind)[0]
    return float(np.exp((cost - PRICES[kind] * axis.length / lines.pitch) / axis.length)) - NOISE
