"""Whether uneven lines are believed: what they explain, and what their cells look like."""

from __future__ import annotations

from math import log

import numpy as np
from numpy.typing import NDArray

from img2plate.image.native.drift_loops import LEAST_TRIMMED

Lines = NDArray[np.int64]
START = 0.85
CONTRAST, MIXED, LEFT, CORNERS = 3.97, -1.38, -2.55, 10.3
"""A logistic score of the evidence, over 0 for a claim. Fitted to the cases of bench/drift.py and
to the drawings and photos of bench/kinds_set.py that are not kept unseen, and moved so far that 1
of 360 of these was claimed."""
DECOYS = (0.5, 1 / 3, -1 / 3)
"""Shares of each cell by which all lines are shifted for comparison."""
ACTIVE, EDGE, EDGE_SHARE = 20.0, 16.0, 0.7
"""8-bit steps by which a cell differs from a neighbour, or within, to count; and within, over so
much of the difference to its neighbours, to have an edge inside."""
STEP = 24.0
"""8-bit steps between cells that make an edge between them."""
SAMPLES = 6
"""Places across and down a cell that are looked at for edges."""


def drift_score(planes: NDArray[np.float32], x: Lines, y: Lines) -> float:
    """How far the lines of a picture (h, w, channels) are to be believed: over 0, or not.

    Cards and boats with straight edges have lines, too, but few places where edges cross.
    """
    sums = _Sums(planes)
    left = log(sums.left(x, y) + 2)
    mixed, corners = _cell_shares(planes, x, y)
    return START + CONTRAST * sums.contrast(x, y) + LEFT * left + MIXED * mixed + CORNERS * corners


def _cell_shares(planes: NDArray[np.float32], x: Lines, y: Lines) -> tuple[float, float]:
    """Of cells that differ, the share with an edge inside; of corners, that of crossing edges."""
    down, across = _looked_at(y), _looked_at(x)
    seen = planes[down.reshape(-1, 1), across.reshape(1, -1)]
    seen = seen.reshape(len(down), SAMPLES, len(across), SAMPLES, -1)
    within = (seen.max(axis=(1, 3)) - seen.min(axis=(1, 3))).max(axis=2)
    means = seen.mean(axis=(1, 3))
    below, beside = (np.abs(np.diff(means, axis=axis)).max(axis=2) for axis in (0, 1))
    apart = np.zeros_like(within)
    for part, steps in (
        (np.s_[:-1], below), (np.s_[1:], below), (np.s_[:, :-1], beside), (np.s_[:, 1:], beside)
    ):  # fmt: skip
        np.maximum(apart[part], steps, out=apart[part])
    active = (apart > ACTIVE) | (within > ACTIVE)
    mixed = active & (within > EDGE_SHARE * apart + EDGE)
    upright, level = beside > STEP, below > STEP
    crossing = (upright[:-1] | upright[1:]) & (level[:, :-1] | level[:, 1:])
    return float(mixed.sum() / max(1, active.sum())), float(crossing.mean())


def _looked_at(lines: Lines) -> Lines:
    """(cells, SAMPLES) pixels inside each cell, from its first to its last one."""
    low, high = _inner(lines)
    shares = np.linspace(0, 1, SAMPLES)
    return np.rint(low[:, None] + shares * (high - 1 - low)[:, None]).astype(np.int64)


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
