"""Cells within the bounds that a JPEG file sets: by least squares, then clipped into its steps."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from img2plate.image.jpeg.coefficients import Coefficients
from img2plate.image.native.axis import AxisGrid
from img2plate.image.native.blocks import (
    MIDDLE,
    ChannelModel,
    Matrix,
    axis_model,
    coefficients_of,
)
from img2plate.image.native.joint import TWO_PASSES
from img2plate.image.native.loops import HARDEST
from img2plate.image.native.luma import LUMA_CHROMA
from img2plate.image.native.solver import Solver

BACK = np.linalg.inv(LUMA_CHROMA[:3, :3]).astype(np.float32)
INSIDE = 0.48
"""Share of a step on each side into which coefficients are clipped: a little within its half."""
SLACK = 0.52
"""Share from where on a coefficient counts as out of bounds: encoders calculate in whole numbers."""
ROUNDS = 15
HARDLY = 0.0005
RIDGE = 1e-3


class BoundedFit:
    """The cells of a grid, (3, rows, columns) of Y, Cb and Cr, that a file allows."""

    def __init__(self, stored: Coefficients, x: AxisGrid, y: AxisGrid, kind: int) -> None:
        width, height = stored.size
        self.kind = kind
        self._x, self._y = Solver(x, width, kind), Solver(y, height, kind)
        self._shares_x, self._shares_y = _shares(self._x), _shares(self._y)
        self.models = [
            ChannelModel(
                channel,
                axis_model(self._shares_y, channel.ratio[1], channel.stored.shape[0] // 8, True),
                axis_model(self._shares_x, channel.ratio[0], channel.stored.shape[1] // 8, False),
            )
            for channel in stored.channels
        ]
        self.size = (self._y.cells, self._x.cells)
        self.kept = (self._y.kept, self._x.kept)
        self.aims = [model.channel.stored.copy() for model in self.models]
        """Coefficients to be met: those stored, less what no linear way explains."""

    @cached_property
    def squares(self) -> list[Any]:
        """Weighed normal matrix of each channel."""
        first = [self.models[0].square()]
        if len(self.models) == 1:
            return first
        alike = np.array_equal(*(model.channel.steps for model in self.models[1:]))
        blue = self.models[1].square()
        return [*first, blue, blue if alike else self.models[2].square()]

    @cached_property
    def _factors(self) -> list[Any]:
        from scipy.sparse import eye_array
        from scipy.sparse.linalg import splu

        made: list[Any] = []
        for i, square in enumerate(self.squares):
            if i == 2 and square is self.squares[1]:
                made.append(made[1])
                continue
            ridge = RIDGE * np.median(square.diagonal())
            made.append(splu((square + ridge * eye_array(square.shape[0])).tocsc()))
        return made

    def solved(self, cells: Sequence[Matrix] | None = None, rounds: int = ROUNDS) -> Matrix:
        """Least squares, or given cells, brought into the bounds in so many rounds."""
        out = []
        for c, model in enumerate(self.models):
            aim, reach = self.aims[c], INSIDE * model.steps
            own = self._solve(c, aim) if cells is None else cells[c].copy()
            for _ in range(rounds):
                seen = model.forth(own)
                missed = np.clip(seen, aim - reach, aim + reach) - seen
                own += self._solve(c, missed)
            out.append(own)
        return np.array(out, np.float32)

    def _solve(self, channel: int, coefficients: Matrix) -> Matrix:
        back = self.models[channel].back(coefficients)
        flat = self._factors[channel].solve(back.astype(np.float64).ravel())
        return np.asarray(flat.reshape(self.size), np.float32)

    def encoded(self, cells: Matrix) -> list[Matrix]:
        """Coefficients of the picture that cells give, by the whole numbers of an encoder."""
        rgb = to_rgb(cells)
        shown = self._enlarged(rgb)
        if len(self.models) == 1:
            return [coefficients_of(shown[..., 0] - MIDDLE, self.models[0].channel)]
        turned = np.rint(shown @ LUMA_CHROMA[:3, :3].T)
        turned[..., 0] -= MIDDLE
        return [
            coefficients_of(np.ascontiguousarray(turned[..., c]), model.channel)
            for c, model in enumerate(self.models)
        ]

    def _enlarged(self, rgb: Matrix) -> Matrix:
        """(h, w, 3) picture of cells (rows, columns, 3)."""
        across = np.tensordot(self._shares_x, rgb, (1, 1)).transpose(1, 0, 2)
        if self.kind in TWO_PASSES:
            across = np.clip(np.rint(across), 0, 255)
        return np.asarray(np.clip(np.rint(np.tensordot(self._shares_y, across, 1)), 0, 255))

    def excess(self, encoded: list[Matrix]) -> float:
        """Squares, in steps, by which coefficients are further off than half a step."""
        total = 0.0
        for model, seen in zip(self.models, encoded, strict=True):
            off = np.abs(seen - model.channel.stored) / model.steps - SLACK
            total += float((np.maximum(off, 0) ** 2).sum())
        return total

    def correct(self, cells: Matrix) -> None:
        """Take off what is stored what clipping and rounding do to soft cells."""
        if self.kind <= HARDEST:
            return
        for c, seen in enumerate(self.encoded(cells)):
            model = self.models[c]
            self.aims[c] = model.channel.stored - (seen - model.forth(cells[c]))


def _shares(solver: Solver) -> Matrix:
    """(length, cells): how much of each cell is in each pixel.

    Cells beyond the border that hardly show are taken for their neighbours.
    """
    shares = solver.spread(np.eye(solver.cells, dtype=np.float32)[..., None])[..., 0]
    power = (shares**2).sum(axis=0)
    seen = np.flatnonzero(power > HARDLY * np.median(power))
    low, high = int(seen[0]), int(seen[-1])
    shares[:, low] += shares[:, :low].sum(axis=1)
    shares[:, high] += shares[:, high + 1 :].sum(axis=1)
    shares[:, :low] = shares[:, high + 1 :] = 0
    return shares


def to_rgb(cells: Matrix) -> Matrix:
    """(rows, columns, 3) whole RGB of (channels, rows, columns); luma without its middle."""
    if len(cells) == 1:
        rgb = np.repeat(cells[0][..., None] + MIDDLE, 3, axis=2)
    else:
        turned = cells.transpose(1, 2, 0).copy()
        turned[..., 0] += MIDDLE
        rgb = turned @ BACK.T
    return np.asarray(np.clip(np.rint(rgb), 0, 255), np.float32)
