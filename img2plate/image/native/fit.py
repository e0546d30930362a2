"""Cells that give a picture when enlarged: by least squares, through a kernel and its clipping.

Where asked for, through the halved colour channels of JPEG, too.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from img2plate.image.native.axis import AxisGrid
from img2plate.image.native.clipped import RELAX, TWO_PASSES
from img2plate.image.native.loops import HARDEST
from img2plate.image.native.luma import LUMA_CHROMA
from img2plate.image.native.solver import Solver

Planes = NDArray[np.float32]
ROUNDS = 14
"""Of correcting the soft solution for what was clipped to 0..255."""
SETTLED = 0.998
"""Share of the error that a round may leave: with more it was the last."""


class CellFit:
    """The cells of a picture (h, w, channels), premultiplied 0..255, on a grid."""

    def __init__(
        self,
        planes: Planes,
        x: AxisGrid,
        y: AxisGrid,
        kind: int,
        times: int = 1,
        jpeg: bool = False,
    ) -> None:
        """`planes` show `times` smaller pixels than those that the grid is in."""
        self._planes, self._kind = planes, kind
        sides = [(x, planes.shape[1] * times), (y, planes.shape[0] * times)]
        self._x, self._y = (Solver(lines, side, kind, times) for lines, side in sides)
        self._solve = _separable(self._y.solve, self._x.solve)
        self._blur: Callable[[Planes], Planes] = _same
        if jpeg:
            half_x, half_y = (Solver(lines, side, kind, times, True) for lines, side in sides)
            self._solve = _by_channel(self._solve, _separable(half_y.solve, half_x.solve))
            self._blur = _by_channel(_same, _separable(half_y.blur, half_x.blur))

    def solved(self) -> tuple[Planes, Planes]:
        """Cells (rows, columns, channels), also those that are hardly there; errors they leave."""
        cells = np.zeros((self._y.cells, self._x.cells, self._planes.shape[2]), np.float32)
        left, soft, spread = self._planes, self._kind > HARDEST, np.inf
        for number in range(ROUNDS if soft else 2):
            step = self._solve(left) * (RELAX if soft and number else 1.0)
            cells = np.clip(cells + step, 0, 255)
            left = self.left(cells)
            before, spread = spread, size(left)
            if spread > SETTLED * before:
                break
        return cells, left

    def left(self, cells: Planes) -> Planes:
        """The picture without what cells show: the errors that they leave."""
        across = self._x.spread(_turned(cells))
        if self._kind in TWO_PASSES:
            np.clip(across, 0, 255, out=across)
        shown = self._y.spread(_turned(across))
        np.clip(shown, 0, 255, out=shown)
        if shown.shape[2] == 4:
            # No colour is brighter than its alpha: what would be is clipped, too.
            np.minimum(shown[..., :3], shown[..., 3:], out=shown[..., :3])
        return np.asarray(np.subtract(self._planes, self._blur(shown), out=shown))

    def kept(self, cells: Planes) -> Planes:
        """A view of the cells that are at least half inside."""
        return cells[self._y.kept, :][:, self._x.kept]


def size(left: Planes) -> float:
    """Root of the mean square."""
    return float(np.sqrt(np.vdot(left, left) / left.size))


def _same(planes: Planes) -> Planes:
    return planes


def _separable(
    down: Callable[[Planes], Planes], across: Callable[[Planes], Planes]
) -> Callable[[Planes], Planes]:
    """Both axes of (h, w, channels), one after the other."""
    return lambda planes: _turned(across(_turned(down(planes))))


def _turned(planes: Planes) -> Planes:
    """(w, h, channels) of (h, w, channels): OpenCV's copy is several times as quick as numpy's."""
    import cv2

    turned = cv2.transpose(np.ascontiguousarray(planes))
    return np.asarray(turned, np.float32).reshape(*planes.shape[1::-1], -1)


def _by_channel(
    luma: Callable[[Planes], Planes], chroma: Callable[[Planes], Planes]
) -> Callable[[Planes], Planes]:
    """One way for luma and alpha, another for chroma."""
    back = np.linalg.inv(LUMA_CHROMA)

    def both(planes: Planes) -> Planes:
        turned = planes @ LUMA_CHROMA.T
        out = luma(turned[..., [0, 3]]), chroma(turned[..., 1:3])
        return np.asarray(
            np.concatenate([out[0][..., :1], out[1], out[0][..., 1:]], axis=-1) @ back.T, np.float32
        )

    return both
