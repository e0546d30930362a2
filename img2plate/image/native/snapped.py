"""Hard cells that end where the picture's steps are: each line on one of two pixel borders."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from img2plate.image.native.axis import AxisGrid

Planes = NDArray[np.float32]
Edges = NDArray[np.int64]
ON_BORDER = 0.02
"""Pixels by which a line may miss a border and lie on it still."""
BUSY = 2.0
"""Mean square from which on something happens at a line."""
ACTIVE = 20.0
"""8-bit steps by which cells differ that say something."""
UNEVEN = (0.7, 16.0)
"""Share of its difference from its neighbours, and steps besides, that a cell may range inside."""


@dataclass(frozen=True, eq=False)
class Snapped:
    """Cells as their means."""

    x: Edges
    """First pixel of each column, the first being 0."""
    y: Edges
    means: Planes
    """(rows, columns, channels)."""
    errors: Planes
    """(h, w, channels) picture less the means."""


def snapped(planes: Planes, x: AxisGrid, y: AxisGrid) -> Snapped:
    """Put hard cells on a picture (h, w, channels)."""
    on_x = _edges(planes.transpose(1, 0, 2), x)
    on_y = _edges(planes, y)
    height, width = planes.shape[:2]
    sums = np.add.reduceat(np.add.reduceat(planes, on_y, axis=0), on_x, axis=1)
    tall, wide = np.diff(on_y, append=height), np.diff(on_x, append=width)
    means = np.asarray(sums / (tall[:, None] * wide)[..., None], np.float32)
    shown = means.repeat(tall, axis=0).repeat(wide, axis=1)
    return Snapped(on_x, on_y, means, np.asarray(planes - shown, np.float32))


def _edges(planes: Planes, lines: AxisGrid) -> Edges:
    """First pixels of the cells along the first dimension."""
    length = len(planes)
    steps = np.zeros(length + 1)
    steps[1:-1] = np.abs(np.diff(planes, axis=0)).sum(axis=(1, 2))
    first = np.floor(-lines.offset / lines.pitch)
    at = lines.offset + lines.pitch * (first + np.arange(int(length / lines.pitch) + 3))
    low, high = np.floor(at + ON_BORDER), np.ceil(at - ON_BORDER)
    low, high = (np.clip(side, 0, length).astype(np.int64) for side in (low, high))
    found = np.where(steps[high] > steps[low], high, low)
    return np.unique(np.append(found[(found > 0) & (found < length)], 0))


def band_ratios(grid: Snapped, errors: Planes, decoys: list[Planes]) -> NDArray[np.float64]:
    """Half the log ratio of the errors of decoys to those of the grid, round each busy line.

    A line's band reaches from the middle of the cell before it to that of the cell after it.
    """
    found = []
    for axis, edges in ((0, grid.y), (1, grid.x)):
        length = errors.shape[axis]
        middles = (edges + np.append(edges[1:], length)) // 2
        if len(middles) < 2:
            continue
        own, *others = (_by_band(one, axis, middles) for one in (errors, *decoys))
        least = np.min(others, axis=0)
        found.append(0.5 * np.log((least[least > BUSY] + 1) / (own[least > BUSY] + 1)))
    return np.concatenate(found) if found else np.zeros(0)


def _by_band(errors: Planes, axis: int, middles: Edges) -> NDArray[np.float64]:
    """Mean square between each two middles."""
    line = np.mean(errors**2, axis=(1 - axis, 2), dtype=np.float64)
    sums = np.append(0.0, line.cumsum())[middles]
    return np.asarray(np.diff(sums) / np.maximum(1, np.diff(middles)))


def active_and_uneven(planes: Planes, grid: Snapped) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """(rows, columns) cells that say something, and those of them that are uneven inside.

    Inside is what is a pixel or more from the cell's edges.
    """
    most = _inner(planes, grid, np.maximum)
    ranges = (most - _inner(planes, grid, np.minimum)).max(axis=2)
    apart = np.zeros(ranges.shape, np.float32)
    for axis in (0, 1):
        step = np.abs(np.diff(grid.means, axis=axis)).max(axis=2)
        before, after = [(0, 0), (0, 0)], [(0, 0), (0, 0)]
        before[axis], after[axis] = (1, 0), (0, 1)
        apart = np.maximum(apart, np.maximum(np.pad(step, before), np.pad(step, after)))
    active = (apart > ACTIVE) | (ranges > ACTIVE)
    return active, active & (ranges > UNEVEN[0] * apart + UNEVEN[1])


def _inner(planes: Planes, grid: Snapped, reduce: np.ufunc) -> Planes:
    """(rows, columns, channels) largest or smallest value inside each cell."""
    for axis, edges in ((0, grid.y), (1, grid.x)):
        ends = np.append(edges[1:], planes.shape[axis])
        wide = ends - edges >= 3
        low, high = edges + wide, ends - wide
        pairs = np.stack([low, np.minimum(high, planes.shape[axis] - 1)], axis=1).ravel()
        planes = reduce.reduceat(planes, pairs, axis=axis).take(np.arange(0, len(pairs), 2), axis)
    return planes
