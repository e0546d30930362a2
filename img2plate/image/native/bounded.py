"""Cells within the bounds that a JPEG file sets: by least squares, then clipped into its steps."""

from __future__ import annotations

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
from img2plate.image.native.clipped import TWO_PASSES
from img2plate.image.native.loops import HARDEST
from img2plate.image.native.luma import LUMA_CHROMA
from img2plate.image.native.solver import Solver

BACK = np.linalg.inv(LUMA_CHROMA[:3, :3]).astype(np.float32)
INSIDE = 0.48
"""Share of a step on each side into which coefficients are clipped: a little within its half."""
SLACK = 0.52
"""Share from where on one counts as out of bounds: encoders calculate in whole numbers."""
_AROUND = np.indices((3, 3, 3)).reshape(3, -1).T - 1
_EXACT = np.array([4, 1, 1], np.float32)
"""How well luma and chroma of a cell are known beside each other."""
ROUNDING = 0.1
"""What a difference counts that rounding hides."""
ROUNDS = 15
HARDLY = 0.0005
"""Share of what most cells show below which one beyond the border does not count."""
RIDGE = 1e-3
"""Share of what the file says of most cells with which they keep to what is near them."""


class BoundedFit:
    """The cells of a grid, (3, rows, columns) of Y, Cb and Cr, that a file allows."""

    def __init__(
        self,
        stored: Coefficients,
        x: AxisGrid,
        y: AxisGrid,
        kind: int,
        near: NDArray[np.float32] | None = None,
    ) -> None:
        """`near`: the kept cells in RGB (rows, columns, 3), about right.

        They stand where the file says nothing: outside of its whole blocks.
        """
        width, height = stored.size
        self.kind = kind
        self._x, self._y = Solver(x, width, kind), Solver(y, height, kind)
        self._shares_x, self._shares_y = _shares(self._x), _shares(self._y)
        self.models = [
            ChannelModel(
                channel,
                axis_model(self._shares_y, channel, 1),
                axis_model(self._shares_x, channel, 0),
            )
            for channel in stored.channels
        ]
        self.size = (self._y.cells, self._x.cells)
        self.kept = (self._y.kept, self._x.kept)
        self._near = np.zeros((len(self.models), *self.size), np.float32)
        if near is not None:
            self._near[:] = from_rgb(self._filled_up(near))[: len(self.models)]
        self.aims = [model.channel.stored.copy() for model in self.models]
        """Coefficients to be met: those stored, less what no linear way explains."""

    def _filled_up(self, near: Matrix) -> Matrix:
        """Kept cells, and those around them alike. Raises ValueError when they are too many."""
        around = [
            (kept.start, cells - kept.stop)
            for kept, cells in zip(self.kept, self.size, strict=True)
        ]
        return np.asarray(np.pad(near, [*around, (0, 0)], mode="edge"))

    @cached_property
    def squares(self) -> list[Any]:
        """Weighed normal matrix of each channel."""
        first = [self.models[0].square()]
        if len(self.models) == 1:
            return first
        steps = [model.channel.steps for model in self.models]
        alike = np.array_equal(steps[1], steps[2])
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

    def solved(self, cells: Matrix | None = None, rounds: int = ROUNDS) -> Matrix:
        """Least squares, or given cells, brought into the bounds in so many rounds."""
        out = []
        for c in range(len(self.models)):
            own = self._solved(c) if cells is None else cells[c].copy()
            for _ in range(rounds):
                own += self._solve(c, self.missed(c, own))
            out.append(own)
        return np.array(out, np.float32)

    def missed(self, channel: int, cells: Matrix) -> Matrix:
        """What coefficients of cells (rows, columns) lack to be in their bounds."""
        model, aim = self.models[channel], self.aims[channel]
        seen, reach = model.forth(cells), INSIDE * model.steps
        return np.asarray(np.clip(seen, aim - reach, aim + reach) - seen)

    def _solved(self, channel: int) -> Matrix:
        """Least squares."""
        near = self._near[channel]
        aim = self.aims[channel] - self.models[channel].forth(near)
        return np.asarray(near + self._solve(channel, aim))

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
        turned = np.rint(from_rgb(shown))
        return [
            coefficients_of(plane, model.channel)
            for plane, model in zip(turned, self.models, strict=True)
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
    """(rows, columns, 3) whole RGB of (channels, rows, columns); luma without its middle.

    Of the colours nearby it is that whose Y, Cb and Cr, in whole numbers as an encoder takes them,
    are nearest: only every fourth of all such triples is a colour.
    """
    if len(cells) == 1:
        grey = np.clip(np.rint(cells[0] + MIDDLE), 0, 255)
        return np.repeat(grey[..., None], 3, axis=2).astype(np.float32)
    flat = cells.reshape(3, -1).T.copy()
    flat[:, 0] += MIDDLE
    colours, place = np.unique(flat, axis=0, return_inverse=True)
    tried = np.clip(np.rint(colours @ BACK.T)[:, None] + _AROUND, 0, 255).astype(np.float32)
    turned = tried @ LUMA_CHROMA[:3, :3].T
    off = (np.rint(turned) - colours[:, None]) ** 2 + ROUNDING * (turned - colours[:, None]) ** 2
    best = (off @ _EXACT).argmin(axis=1)
    return np.asarray(tried[np.arange(len(best)), best][place.ravel()].reshape(*cells.shape[1:], 3))


def from_rgb(rgb: Matrix) -> Matrix:
    """(3, rows, columns) Y, Cb and Cr of (rows, columns, 3); luma without its middle."""
    turned = np.ascontiguousarray((rgb @ LUMA_CHROMA[:3, :3].T).transpose(2, 0, 1))
    turned[0] -= MIDDLE
    return np.asarray(turned, np.float32)
