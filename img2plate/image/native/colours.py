"""One clean colour for each cell of a found grid.

The cells are those that give the picture when enlarged again: by least squares through the kernel
and, where that explains the picture better, through the halved colour channels of JPEG. Clean hard
cells need no more than the middle of each.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from img2plate.base.arrays import Pixels
from img2plate.image.native.axis import Lines
from img2plate.image.native.joint import RELAX, TWO_PASSES
from img2plate.image.native.loops import HARDEST
from img2plate.image.native.luma import CLOSE_CHROMA, LUMA_CHROMA
from img2plate.image.native.merge import merge_like
from img2plate.image.native.parts import premultiplied, reduced
from img2plate.image.native.solver import Solver, kept_cells

Planes = NDArray[np.float32]
MARGIN = 0.2
"""Share of a cell on each side that is left out: neighbours bleed in there."""
LEAST_SAMPLES, MOST_SAMPLES, MOST_SAMPLED = 3, 9, 1500
"""Along one side of a cell: of many cells fewer, so that a side of the picture gives so many."""
ROUNDS = 14
"""Of correcting the soft solution for what was clipped to 0..255."""
CLEAN = 0.5
"""Error in 8-bit steps up to which nothing was lost."""
MOST_SOLVED = 1_500_000
"""Pixels that are all looked at; a larger picture is made smaller, or only seen at its middles."""


def cell_colours(pixels: Pixels, x: Lines, y: Lines, kind: int) -> Pixels:
    """(rows, columns, 4) uint8 colours of the kept cells of a picture (h, w, 4)."""
    if kind <= HARDEST:
        cells, spread = _middles(pixels, x, y)
        if spread < CLEAN:
            return straight(cells)
        if pixels[..., 0].size > MOST_SOLVED:
            return straight(merge_like(cells, 3.0 + 1.6 * spread))
    times = _times(pixels, min(x.pitch, y.pitch))
    planes = premultiplied(pixels) if times == 1 else reduced(pixels, times)
    opaque = times > 1 and bool(planes[..., 3].min() == 255)
    fit = _Fit(np.ascontiguousarray(planes[..., :3]) if opaque else planes, x, y, kind, times)
    cells, left = fit.solved(False)
    if opaque:
        cells = np.pad(cells, ((0, 0), (0, 0), (0, 1)), constant_values=255)
    spread = _size(left)
    if spread < CLEAN:
        return straight(cells)
    if times == 1 and pixels[..., 3].min() == 255:
        through_jpeg, left_then = fit.solved(True)
        if _size(left_then) < 0.98 * spread:
            radius = 2.4 + 1.3 * _size(left_then)
            return straight(merge_like(through_jpeg, radius, CLOSE_CHROMA))
    return straight(merge_like(cells, _radius(left, x, y)))


def _times(pixels: Pixels, pitch: float) -> int:
    """How many times smaller a large picture is made, at two pixels a cell or more."""
    needed = int(np.ceil(np.sqrt(pixels[..., 0].size / MOST_SOLVED)))
    return max(1, min(needed, int(pitch / 2)))


def _radius(left: Planes, x: Lines, y: Lines) -> float:
    """How far cells of one colour may lie apart, by the errors (h, w, channels) of the fit.

    Plain noise averages out over the pixels of a cell; errors that hang together do not.
    """
    spread = _size(left)
    if abs(float((left[:, 1:] * left[:, :-1]).mean())) < 0.1 * spread**2:
        return 0.5 + 3.0 * spread / float(np.sqrt(x.pitch * y.pitch))
    return 3.0 + 1.6 * spread


def _size(left: Planes) -> float:
    return float(np.sqrt(np.vdot(left, left) / left.size))


def straight(planes: NDArray[np.float32]) -> Pixels:
    """Undo `premultiplied`: uint8, alpha all or nothing where it is nearly so."""
    alpha = planes[..., 3:]
    alpha = np.where(alpha < 8, 0, np.where(alpha > 247, 255, alpha))
    colours = np.where(alpha > 0, planes[..., :3] * 255 / np.maximum(planes[..., 3:], 1), 0)
    both = np.concatenate([colours, alpha], axis=-1)
    return np.asarray(np.clip(np.rint(both), 0, 255), dtype=np.uint8)


def _middles(pixels: Pixels, x: Lines, y: Lines) -> tuple[NDArray[np.float32], float]:
    """Middle of each cell: the median when it is clean, else a mean without the outer quarters."""
    at_x, at_y = _positions(x, pixels.shape[1]), _positions(y, pixels.shape[0])
    seen = premultiplied(pixels[at_y[:, :, None, None], at_x[None, None]].reshape(-1, 1, 4))
    rows, down, columns, across = *at_y.shape, *at_x.shape
    seen = seen.reshape(rows, down, columns, across, 4)
    flat = seen.transpose(0, 2, 1, 3, 4).reshape(rows, columns, down * across, 4)
    if flat.shape[2] == 1 or (flat == flat[:, :, :1]).all():
        return flat[:, :, 0], 0.0
    flat.sort(axis=2)
    count = flat.shape[2]
    middle = flat[:, :, count // 2]
    spread = float(np.sqrt(np.mean((flat - middle[:, :, None]) ** 2)))
    if spread < CLEAN:
        return middle, spread
    quarter = count // 4
    return flat[:, :, quarter : count - quarter].mean(axis=2), spread


def _positions(lines: Lines, length: int) -> NDArray[np.int64]:
    """(cells, samples) pixel positions inside the middle of each kept cell."""
    first, count = kept_cells(lines, length)
    most = int(np.clip(MOST_SAMPLED / count, LEAST_SAMPLES, MOST_SAMPLES))
    samples = int(np.clip(round(lines.pitch * (1 - 2 * MARGIN)), 1, most))
    share = (np.arange(samples) + 0.5) / samples * (1 - 2 * MARGIN) + MARGIN
    at = lines.offset + (first + np.arange(count)[:, None] + share) * lines.pitch
    return np.clip(np.floor(at), 0, length - 1).astype(np.int64)


class _Fit:
    """Kept cells that give a picture when enlarged with a kernel and clipped."""

    def __init__(self, planes: Planes, x: Lines, y: Lines, kind: int, times: int) -> None:
        self._planes, self._lines, self._kind, self._times = planes, (x, y), kind, times
        self._on_x, self._on_y = self._solvers(False)

    def _solvers(self, halved: bool) -> tuple[Solver, Solver]:
        across, down = self._planes.shape[1::-1]
        x, y = self._lines
        return (
            Solver(x, across * self._times, self._kind, self._times, halved),
            Solver(y, down * self._times, self._kind, self._times, halved),
        )

    def solved(self, jpeg: bool) -> tuple[Planes, Planes]:
        """Cells, and the errors that they leave. `jpeg`: through chroma of half the size, too."""
        planes, kind, on_x, on_y = self._planes, self._kind, self._on_x, self._on_y
        solve = _separable(on_y.solve, on_x.solve)
        if jpeg:
            half_x, half_y = self._solvers(True)
            solve = _by_channel(solve, _separable(half_y.solve, half_x.solve))
            blur = _by_channel(lambda shown: shown, _separable(half_y.blur, half_x.blur))
        cells = np.zeros((on_y.cells, on_x.cells, planes.shape[2]), np.float32)
        left, soft, spread = planes, kind > HARDEST, np.inf
        for number in range(ROUNDS if soft else 2):
            step = solve(left) * (RELAX if soft and number else 1.0)
            cells = np.clip(cells + step, 0, 255)
            across = on_x.spread(_turned(cells))
            if kind in TWO_PASSES:
                np.clip(across, 0, 255, out=across)
            shown = on_y.spread(_turned(across))
            np.clip(shown, 0, 255, out=shown)
            left = np.subtract(planes, blur(shown) if jpeg else shown, out=shown)
            before, spread = spread, _size(left)
            if spread > 0.998 * before:
                break
        return cells[on_y.kept, :][:, on_x.kept], left


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
