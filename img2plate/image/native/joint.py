"""Judge grids on both axes at once: many more pixels for each cell than on one axis alone.

On one axis every line of the picture has cells of its own; on both, the whole picture must come
from few cells. That tells a grid from a finer one that merely follows noise and compression, and
from a coarser one that loses faint detail. Overshoots of soft kernels that the picture clipped at
0 or 255 are allowed for.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from img2plate.image.native.axis import Axis, AxisGrid
from img2plate.image.native.boxes import box_edges
from img2plate.image.native.clipped import BothWays
from img2plate.image.native.grid_candidate import Candidate
from img2plate.image.native.loops import HARDEST, NEAREST
from img2plate.image.native.luma import weighed_error
from img2plate.image.native.matrices import (
    Matrix,
    box_matrix,
    pseudo_inverse,
    sampling_matrix,
    summed_gram,
)

MOST_SIDE = 192
"""Pixels of either axis that are looked at: its busiest stretch."""
STEP_PITCH, MOST_STEP = 12.0, 6
HARD_PRICE, SOFT_PRICE = 12.0, 14.0
"""What a cell costs in nats, hard or soft, where errors hang together, as those of JPEG do."""
WHITE = 0.45
"""Share of that which a cell costs in plain noise, which more cells hardly follow."""
HANG, LEAST_NOISE = 0.12, 4.0
"""Correlation of neighbouring errors below which they are plain noise, and its least power."""
FLOOR, EXACT = 0.4, 0.05
"""Mean squared error that rounding to bytes explains; and of hard cells that nothing rounded."""
UNEVEN = 0.3
"""What axes of different pitch cost."""
HARD_FREE, SOFT_FREE = (12.0, 10.0), (3.0, 3.0)
"""Nats on one axis for a free phase, and for a pitch that is no whole number. Few hard edges fit
many such grids; soft ones are told apart by all pixels."""
NEIGHBOURS = (0.62, 0.7, 0.78, 0.86, 1.15, 1.27, 1.4, 1.55)
QUICK_ROUNDS, ROUNDS = 3, 8
"""Of correcting a fit for what was clipped to 0..255: in a first look, and to decide."""


class Joint:
    """A part of a picture (h, w, channels) float32 0..255 on which grids are judged."""

    def __init__(self, planes: NDArray[np.float32], x: Axis, y: Axis, step: int) -> None:
        self.step = step
        """Every so many pixels one is looked at: of large cells there is enough to see."""
        most = MOST_SIDE * self.step
        self.starts = (x.busiest(most), y.busiest(most))
        left, top = self.starts
        part = planes[top : top + most, left : left + most]
        self.cut = (planes.shape[1] > most, planes.shape[0] > most)
        """Whether it is less than all, across and down."""
        self._lengths = (part.shape[1], part.shape[0])
        part = part[:: self.step, :: self.step]
        self._planes = np.ascontiguousarray(part.transpose(2, 0, 1))
        lines = self._planes.transpose(2, 0, 1), self._planes.transpose(1, 0, 2)
        self._summed = [summed_gram(np.ascontiguousarray(on).reshape(len(on), -1)) for on in lines]
        self._clipped = bool((part <= 0.5).any() or (part >= 254.5).any())
        self._matrices: dict[tuple[AxisGrid, int, int], tuple[Matrix, Matrix]] = {}
        self._costs: dict[tuple[AxisGrid, AxisGrid, int, int, bool], float] = {}
        self.white = False
        """Whether there is plain noise."""
        self.rounds = QUICK_ROUNDS

    @property
    def size(self) -> tuple[int, int]:
        """Width and height of the part, in picture pixels."""
        return self._lengths

    def cost(self, candidate: Candidate) -> float:
        """Nats for each pixel; lower is better."""
        key = (candidate.x, candidate.y, candidate.kind, self.rounds, self.white)
        if key not in self._costs:
            self._costs[key] = self._cost(candidate)
        return self._costs[key]

    def _cost(self, candidate: Candidate) -> float:
        """`cost`, worked out."""
        left, cells = self._fit(candidate)
        exact = candidate.kind == NEAREST and float(np.vdot(left, left)) < EXACT * left.size
        floor = EXACT if exact else FLOOR
        price = HARD_PRICE if candidate.kind <= HARDEST else SOFT_PRICE
        if self.white:
            price *= WHITE
        return float(
            np.log(weighed_error(left) + floor)
            + price * cells / left[0].size
            + self._extra(candidate)
        )

    def _extra(self, candidate: Candidate) -> float:
        """What a free phase costs, a pitch that is no whole number, and one for each axis."""
        free, pitch = HARD_FREE if candidate.kind == NEAREST else SOFT_FREE
        extra = sum(
            (0.0 if lines.whole else free + pitch * (lines.pitch % 1 > 1e-6)) / length
            for lines, length in zip((candidate.x, candidate.y), self.size, strict=True)
        )
        apart = abs(np.log(candidate.x.pitch / candidate.y.pitch))
        return float(extra + (UNEVEN * (1 + apart) if apart > 0.03 else 0.0))

    def gain(self, candidate: Candidate) -> float:
        """How much better than its neighbours a grid is, in nats for each pixel.

        Neighbours are whole-frame grids of 0.6 to 1.6 times the pitch, with the same kernel.
        """
        width, height = self.size
        own, rounds = self.cost(candidate), self.rounds
        self.rounds, others = QUICK_ROUNDS, []  # the neighbours are known well enough
        for times in NEIGHBOURS:
            x, y = (
                AxisGrid(length / max(1, round(length / (lines.pitch * times))), 0.0, True)
                for lines, length in ((candidate.x, width), (candidate.y, height))
            )
            others.append(self.cost(replace(candidate, x=x, y=y)))
        self.rounds = rounds
        return float(np.median(others)) - own

    def is_plain_noise(self, candidate: Candidate) -> bool:
        """Whether the errors are more than rounding, and do not hang together."""
        left, _ = self._fit(candidate)
        power = float(np.vdot(left, left)) / left.size
        shifted = (
            (left[:, 1:], left[:, :-1]),
            (left[:, 2:], left[:, :-2]),
            (left[:, :, 1:], left[:, :, :-1]),
            (left[:, :, 2:], left[:, :, :-2]),
        )
        return (
            self.step == 1
            and power > LEAST_NOISE
            and all(abs(float((one * two).mean())) < HANG * power for one, two in shifted)
        )

    def _fit(self, candidate: Candidate) -> tuple[NDArray[np.float32], int]:
        """Errors of the best fit (channels, h, w), and the number of cells."""
        x, y = (
            self._matrix(candidate.x, candidate.kind, 0),
            self._matrix(candidate.y, candidate.kind, 1),
        )
        rounds = self.rounds if candidate.kind > HARDEST and self._clipped else 0
        left, cells = BothWays(*x, *y).left(self._planes, candidate.kind, rounds)
        return left, int(cells.shape[1] * cells.shape[2])

    def _matrix(self, lines: AxisGrid, kind: int, axis: int) -> tuple[Matrix, Matrix]:
        """Sampling matrix (length, cells) of an axis, and its pseudo-inverse."""
        key = (lines, kind, axis)
        if key not in self._matrices:
            length, step = self.size[axis], self.step
            start = self.starts[axis]
            if kind == NEAREST:
                edges, _ = box_edges(
                    self._summed[axis],
                    lines.pitch / step,
                    (lines.offset - start) / step + _middle(step),
                )
                forth = box_matrix(edges, len(self._summed[axis]) - 1)
            else:
                if self.cut[axis]:
                    lines = AxisGrid(lines.pitch, -((start - lines.offset) % lines.pitch))
                forth = sampling_matrix(lines, length, kind)[::step]
            self._matrices[key] = forth, pseudo_inverse(forth)
        return self._matrices[key]


def _middle(step: int) -> float:
    """Where the middle of the first of so many pixels is, from the middle of all, in steps."""
    return 0.5 - 0.5 / step


def step_for(pitch: float) -> int:
    """Every so many pixels is enough to see cells of this pitch."""
    return int(np.clip(round(pitch / STEP_PITCH), 1, MOST_STEP))
