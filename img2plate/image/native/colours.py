"""One clean colour for each cell of a found grid."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from img2plate.base.arrays import Pixels
from img2plate.image.native.axis import Lines
from img2plate.image.native.loops import HARDEST, sampling

MARGIN = 0.2
"""Share of a cell on each side that is left out: neighbours bleed in there."""
MOST_SAMPLES = 9
"""Along one side of a cell."""
ROUNDS = 20
"""Of correcting the soft solution for what was clipped to 0..255."""
MOST_MERGED_CELLS = 20_000


def kept_cells(lines: Lines, length: int) -> tuple[int, int]:
    """First cell and number of cells that are at least half inside the frame."""
    if lines.whole:
        return 0, lines.count(length)
    first = int(np.ceil(-lines.offset / lines.pitch - 0.5 - 1e-6))
    last = int(np.floor((length - lines.offset) / lines.pitch - 0.5 + 1e-6))
    return first, max(1, last - first + 1)


def cell_colours(pixels: Pixels, x: Lines, y: Lines, kind: int) -> Pixels:
    """(rows, columns, 4) uint8 colours of the kept cells of a picture (h, w, 4)."""
    planes = premultiplied(pixels)
    solve = _middles if kind <= HARDEST else _least_squares
    cells, spread = solve(planes, x, y, kind)
    merged = merge_like(cells, spread)
    return straight(merged)


def premultiplied(pixels: Pixels) -> NDArray[np.float32]:
    """(h, w, 4) float32 0..255, colours times alpha."""
    planes = pixels.astype(np.float32)
    if pixels[..., 3].min() < 255:
        planes[..., :3] *= planes[..., 3:] / 255
    return planes


def straight(planes: NDArray[np.float32]) -> Pixels:
    """Undo `premultiplied`: uint8, alpha all or nothing where it is nearly so."""
    alpha = planes[..., 3:]
    alpha = np.where(alpha < 8, 0, np.where(alpha > 247, 255, alpha))
    colours = np.where(alpha > 0, planes[..., :3] * 255 / np.maximum(planes[..., 3:], 1), 0)
    both = np.concatenate([colours, alpha], axis=-1)
    return np.asarray(np.clip(np.rint(both), 0, 255), dtype=np.uint8)


def _middles(
    planes: NDArray[np.float32], x: Lines, y: Lines, kind: int
) -> tuple[NDArray[np.float32], float]:
    """Middle of each cell: the median when it is clean, else a mean without the outer quarters."""
    at_x, at_y = _positions(x, planes.shape[1]), _positions(y, planes.shape[0])
    seen = planes[at_y[:, :, None, None], at_x[None, None]]
    rows, down, columns, across, channels = seen.shape
    flat = seen.transpose(0, 2, 1, 3, 4).reshape(rows, columns, down * across, channels)
    if flat.shape[2] == 1:
        return flat[:, :, 0], 0.0
    flat.sort(axis=2)
    count = flat.shape[2]
    middle = flat[:, :, count // 2]
    spread = float(np.sqrt(np.mean((flat - middle[:, :, None]) ** 2)))
    if spread < 0.5:
        return middle, spread
    quarter = count // 4
    return flat[:, :, quarter : count - quarter].mean(axis=2), spread


def _positions(lines: Lines, length: int) -> NDArray[np.int64]:
    """(cells, samples) pixel positions inside the middle of each kept cell."""
    first, count = kept_cells(lines, length)
    samples = int(np.clip(round(lines.pitch * (1 - 2 * MARGIN)), 1, MOST_SAMPLES))
    share = (np.arange(samples) + 0.5) / samples * (1 - 2 * MARGIN) + MARGIN
    at = lines.offset + (first + np.arange(count)[:, None] + share) * lines.pitch
    return np.clip(np.floor(at), 0, length - 1).astype(np.int64)


def _least_squares(
    planes: NDArray[np.float32], x: Lines, y: Lines, kind: int
) -> tuple[NDArray[np.float32], float]:
    """Cells that give the picture when enlarged with the kernel, clipped to 0..255."""
    height, width = planes.shape[:2]
    on_x, on_y = _Solver(x, width, kind), _Solver(y, height, kind)
    cells = np.zeros((on_y.cells, on_x.cells, planes.shape[2]), np.float32)
    left = planes
    for _ in range(ROUNDS):
        step = on_x.solve(on_y.solve(left).transpose(1, 0, 2)).transpose(1, 0, 2)
        cells = np.clip(cells + step, 0, 255)
        shown = on_x.spread(on_y.spread(cells).transpose(1, 0, 2)).transpose(1, 0, 2)
        left = planes - np.clip(shown, 0, 255)
    spread = float(np.sqrt(np.mean(left**2)))
    return cells[on_y.kept, :][:, on_x.kept], spread


class _Solver:
    """Least squares along the first dimension with one axis' sampling matrix."""

    def __init__(self, lines: Lines, length: int, kind: int) -> None:
        from scipy.sparse import csr_array
        from scipy.sparse.linalg import splu

        count = lines.count(length)
        first, weights = sampling(length, lines.pitch, lines.offset, kind, count, lines.whole)
        columns = first[:, None] + np.arange(weights.shape[1])
        used = weights != 0
        low = 0 if lines.whole else int(columns[used].min())
        self.cells = count if lines.whole else int(columns[used].max()) - low + 1
        rows = np.broadcast_to(np.arange(length)[:, None], columns.shape)
        entries = (weights[used], (rows[used], columns[used] - low))
        self._matrix = csr_array(entries, shape=(length, self.cells))
        square = (self._matrix.T @ self._matrix).tolil()
        square.setdiag(square.diagonal() + 1e-3)
        self._factors = splu(square.tocsc())
        start, kept = kept_cells(lines, length)
        self.kept = slice(start - low, start - low + kept)

    def solve(self, planes: NDArray[np.float32]) -> NDArray[np.float32]:
        """(length, m, c) to (cells, m, c)."""
        flat = self._matrix.T @ planes.reshape(planes.shape[0], -1)
        return np.asarray(self._factors.solve(flat), np.float32).reshape(-1, *planes.shape[1:])

    def spread(self, cells: NDArray[np.float32]) -> NDArray[np.float32]:
        """(cells, m, c) to (length, m, c): enlarge."""
        flat = self._matrix @ cells.reshape(cells.shape[0], -1)
        return np.asarray(flat, np.float32).reshape(-1, *cells.shape[1:])


def merge_like(cells: NDArray[np.float32], spread: float) -> NDArray[np.float32]:
    """Bring cells together that only compression or noise tore apart.

    `spread` is the mean error of the fit, in 8-bit steps: colours within a few of it become one.
    """
    flat = cells.reshape(-1, cells.shape[-1])
    if spread < 0.5 or len(flat) > MOST_MERGED_CELLS:
        return cells
    radius = min(3.0 + 1.6 * spread, 26.0)
    out = flat.copy()
    open_ = np.ones(len(flat), np.bool_)
    while open_.any():
        rest = flat[open_]
        centre = _densest(rest, radius)
        near = np.linalg.norm(rest - centre, axis=1) <= radius
        near[0] |= not near.any()  # so that each round takes at least one away
        members = np.flatnonzero(open_)[near]
        out[members] = np.median(flat[members], axis=0)
        open_[members] = False
    return out.reshape(cells.shape)


def _densest(points: NDArray[np.float32], radius: float) -> NDArray[np.float32]:
    """Climb from the fullest neighbourhood of a sample to its mean (mean shift)."""
    sample = points[:: max(1, len(points) // 256)]
    distance = np.linalg.norm(sample[:, None] - sample[None], axis=2)
    centre = sample[(distance <= radius).sum(axis=1).argmax()]
    for _ in range(6):
        near = np.linalg.norm(points - centre, axis=1) <= radius
        centre = points[near].mean(axis=0)
    return np.asarray(centre, np.float32) if near.any() else points[0]
