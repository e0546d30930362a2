"""A grid turned until it fits the stored coefficients of a JPEG file best, on one axis at a time.

Every row of coefficients is a sample with cells of its own, so that one axis is looked at alone;
each frequency counts by the quantiser step it was stored with.
"""

from __future__ import annotations

from dataclasses import replace
from math import ceil

import numpy as np

from img2plate.image.jpeg.coefficients import Channel, Coefficients
from img2plate.image.native.axis import AxisGrid, wrap
from img2plate.image.native.blocks import Matrix, axis_model
from img2plate.image.native.bounded import BoundedFit
from img2plate.image.native.loops import HARDEST, NEAREST, SOFT_KINDS
from img2plate.image.native.matrices import sampling_matrix
from img2plate.image.native.solver import kept_cells
from img2plate.image.native.stored_evidence import RIGHT, SoftGrid, steps_left

RIDGE = 1e-3
MOST_FREQUENCY = 5
"""Frequencies of the other axis that are looked at: higher ones hold little."""
SNAP = 1.05
"""Share of the least error up to which whole pixels are taken: pictures are cut so."""
BEHIND = 2
PASSES, FEW_ROUNDS = 2, 3
HALVINGS, LEAST_GAIN = 6, 1e-4


def refined(
    stored: Coefficients, x: AxisGrid, y: AxisGrid, kind: int, near: Matrix | None = None
) -> tuple[AxisGrid, AxisGrid, int]:
    """The grid and kernel near a found one of soft cells that leave the least error in luma.

    `near`: the kept cells in RGB (rows, columns, 3); their number stays.
    """
    if kind <= HARDEST:
        return x, y, _hard_kind(stored, x, y, kind)
    if kind not in SOFT_KINDS:
        return x, y, kind
    found = best = SoftGrid(x, y, kind)
    if near is None:
        return _turned(stored, found, near, free=True)
    least = steps_left(stored, found, near)
    # Clipped overshoots look like another kernel, so the found one is kept where it is right.
    for free in (False, True):
        if free and least <= RIGHT:
            break
        tried = _turned(stored, found, near, free=free)
        if tried.cells(stored.size) == near.shape[:2]:
            left = steps_left(stored, tried, near)
            if left < (least if free else SNAP * least):
                best, least = tried, left
    return best


def _turned(stored: Coefficients, grid: SoftGrid, near: Matrix | None, *, free: bool) -> SoftGrid:
    """Lines that fit best with a kernel, or with the one that fits best when it is `free`."""
    x, y, kind = grid
    x, y = (_snapped(lines, length) for lines, length in zip((x, y), stored.size, strict=True))
    for _ in range(PASSES):
        fit = BoundedFit(stored, x, y, kind, near)
        fit.correct(fit.solved(rounds=FEW_ROUNDS))
        on_x, on_y = (
            _Axis(stored.channels[0], fit.aims[0], length, i)
            for i, length in enumerate(stored.size)
        )
        x, y = (axis.descend(lines, kind) for axis, lines in ((on_x, x), (on_y, y)))
        kinds = SOFT_KINDS if free else (kind,)
        before = kind
        kind = min(kinds, key=lambda one: on_x.error(x, one) + on_y.error(y, one))
        if kind == before:
            break
    return SoftGrid(x, y, kind)


def _hard_kind(stored: Coefficients, x: AxisGrid, y: AxisGrid, kind: int) -> int:
    """The kernel of hard cells: the plain one unless the found one explains more."""
    if kind == NEAREST:
        return kind
    on_x, on_y = (
        _Axis(stored.channels[0], stored.channels[0].stored, length, i)
        for i, length in enumerate(stored.size)
    )
    plain, other = (on_x.error(x, one) + on_y.error(y, one) for one in (NEAREST, kind))
    return NEAREST if plain < SNAP * other else kind


def _snapped(lines: AxisGrid, length: int) -> AxisGrid:
    """The grid with an offset of whole pixels, turned about its far end: pictures are cut so."""
    moved = lines if lines.whole else _moved(lines, round(lines.offset), length)
    return moved if kept_cells(moved, length)[1] == kept_cells(lines, length)[1] else lines


def _moved(lines: AxisGrid, offset: float, length: int) -> AxisGrid:
    """Another offset, the far end where it was."""
    count = round((length - lines.offset) / lines.pitch)
    end = lines.offset + lines.pitch * count
    return replace(lines, offset=float(offset), pitch=(end - offset) / count)


class _Axis:
    """Luma along one axis."""

    def __init__(self, luma: Channel, aims: Matrix, length: int, number: int) -> None:
        self._channel, self._length, self._number = luma, length, number
        own, steps = (m.T if number == 0 else m for m in (aims, luma.steps))
        blocks = len(own) // 8
        self._rows = np.array([own[:, u::8] for u in range(MOST_FREQUENCY)], np.float32)
        """By frequency of the other axis: (8 blocks, samples)."""
        self._weights = np.tile(1 / steps.T[:MOST_FREQUENCY] ** 2, (1, blocks)).astype(np.float32)
        self._total = float((self._weights[..., None] * self._rows**2).sum())

    def error(self, lines: AxisGrid, kind: int) -> float:
        """Weighed squares that the best cells leave."""
        shares = sampling_matrix(lines, self._length, kind)
        model = axis_model(shares, self._channel, self._number)
        weighed = model.T * self._weights[:, None]
        squares = (weighed @ model).astype(np.float64)
        cells = range(model.shape[1])
        squares[:, cells, cells] += RIDGE * squares.trace(axis1=1, axis2=2)[:, None] / len(cells)
        aims = (weighed @ self._rows).astype(np.float64)
        return self._total - float((aims * np.linalg.solve(squares, aims)).sum())

    def descend(self, lines: AxisGrid, kind: int) -> AxisGrid:
        """Turn pitch and offset in ever smaller steps; whole pixels first."""
        if lines.whole:
            return lines
        free = self._walk(lines, kind)
        tried = [
            whole
            for offset in {round(lines.offset), round(free.offset)}
            for whole in self._ending_whole(_moved(free, offset, self._length))
        ]
        whole = min(tried, key=lambda one: self.error(one, kind))
        best = whole if self.error(whole, kind) <= SNAP * self.error(free, kind) else free
        return replace(best, offset=wrap(best.offset, best.pitch))

    def _ending_whole(self, lines: AxisGrid) -> list[AxisGrid]:
        """Pitches with which an enlargement of whole pixels ends at, or soon behind, the frame."""
        count = ceil((self._length - lines.offset) / lines.pitch - 0.1)
        found = {lines.pitch}
        for cells in range(count, count + BEHIND):
            end = round(lines.offset + cells * lines.pitch)
            found |= {(end + d - lines.offset) / cells for d in (-1, 0, 1)}
        return [replace(lines, pitch=pitch) for pitch in found]

    def _walk(self, lines: AxisGrid, kind: int) -> AxisGrid:
        turn, shift = 0.25 * lines.pitch / self._length, 0.25
        least = self.error(lines, kind)
        for _ in range(HALVINGS):
            going = True
            while going:
                going = False
                for dp, do in ((turn, 0.0), (-turn, 0.0), (0.0, shift), (0.0, -shift)):
                    tried = replace(lines, pitch=lines.pitch + dp, offset=lines.offset + do)
                    error = self.error(tried, kind)
                    if error < least * (1 - LEAST_GAIN):
                        lines, least, going = tried, error, True
            turn, shift = turn / 2, shift / 2
        return lines
