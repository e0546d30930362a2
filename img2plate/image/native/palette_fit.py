"""The fewest colours that give what a JPEG file stores."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from img2plate.image.native.blocks import Matrix
from img2plate.image.native.bounded import RIDGE, BoundedFit
from img2plate.image.native.palette_loops import reassign

CUTS = (2.0, 3.0, 4.5, 6.5, 9.0, 13.0)
"""Distances at which cells are cut into groups, in deviations of a cell."""
COLOUR_PRICE, EXCESS_PRICE = 16.6, 30.0
"""Nats for a colour of 24 bits, and for a squared step that a coefficient is out of bounds."""
SWEEPS = 6
SETTLING, MOST_SETTLED = 10, 80
"""Rounds in which a palette is brought into the bounds, and colours up to which it is. Few colours
mean that one rounding is seen in many blocks, which least squares take for the truth."""


@dataclass(frozen=True, eq=False)
class PaletteFit:
    """Cells of few colours."""

    cells: Matrix
    """(channels, rows, columns)."""
    labels: NDArray[np.int64]
    colours: int
    cost: float
    """Nats."""
    excess: float
    """See `BoundedFit.excess`."""


def with_palettes(fit: BoundedFit, cells: Matrix) -> list[PaletteFit]:
    """Solutions of few colours, the cheapest first, from cells (channels, rows, columns) nearby."""
    flat = cells.reshape(len(cells), -1).T.astype(np.float64)
    scale = [1 / np.sqrt(12 * np.median(square.diagonal())) for square in fit.squares]
    solver = _Palettes(fit)
    tried = [solver.fit(labels, flat) for labels in cuts(flat / scale)]
    return sorted(tried, key=lambda one: one.cost)


def cuts(points: NDArray[np.float64]) -> list[NDArray[np.int64]]:
    """Groups of points (n, 3) by average linkage, at each cut."""
    from scipy.cluster.hierarchy import fcluster, linkage

    tree = linkage(points, "average")
    out: list[NDArray[np.int64]] = []
    for cut in CUTS:
        labels = fcluster(tree, cut, "distance").astype(np.int64) - 1
        if not any(np.array_equal(labels, other) for other in out):
            out.append(labels)
    return out


class _Palettes:
    """Palette solutions on one fit."""

    def __init__(self, fit: BoundedFit) -> None:
        from scipy.sparse import block_diag, csr_array

        self._fit = fit
        squares = [fit.squares[min(c, len(fit.squares) - 1)] for c in range(3)]
        if len(fit.models) == 1:
            squares[1:] = [csr_array(squares[0].shape)] * 2
        self._squares = squares
        whole = csr_array(block_diag(squares, format="csr"))
        self._sparse = whole.indptr, whole.indices, whole.data.astype(np.float64)
        self._diagonal = whole.diagonal()
        self._entries = [square.tocoo() for square in squares[: len(fit.models)]]
        self._ridges = [RIDGE * np.median(square.diagonal()) for square in squares]

    def fit(self, labels: NDArray[np.int64], flat: NDArray[np.float64]) -> PaletteFit:
        """Solve for colours and move cells to better ones, in turn."""
        fit = self._fit
        fit.correct(self._planes(flat))
        for _ in range(SWEEPS):
            labels = np.unique(labels, return_inverse=True)[1].astype(np.int64)
            palette = self._colours(labels, flat)
            fit.correct(self._planes(palette[labels]))
            slopes = self._slopes(palette[labels].T)
            if not reassign(labels, palette, slopes, *self._sparse, self._diagonal):
                break
        labels = np.unique(labels, return_inverse=True)[1].astype(np.int64)
        palette = self._colours(labels, flat, SETTLING if len(palette) <= MOST_SETTLED else 0)
        cells = self._planes(palette[labels])
        excess = fit.excess(fit.encoded(cells))
        count = len(palette)
        cost = len(labels) * np.log(count + 1) + COLOUR_PRICE * count + EXCESS_PRICE * excess
        return PaletteFit(cells, labels, count, float(cost), excess)

    def _planes(self, flat: NDArray[np.float64]) -> Matrix:
        """(channels, rows, columns) of cells (n, 3)."""
        planes = flat.T.reshape(-1, *self._fit.size)[: len(self._fit.models)]
        return np.asarray(planes, np.float32)

    def _colours(
        self, labels: NDArray[np.int64], near: NDArray[np.float64], rounds: int = 0
    ) -> NDArray[np.float64]:
        """The colours (palette, 3) that fit best, brought into the bounds in so many rounds."""
        count = int(labels.max()) + 1
        palette = np.zeros((count, 3))
        for c, model in enumerate(self._fit.models):
            entries = self._entries[c]
            pairs = labels[entries.row] * count + labels[entries.col]
            square = np.bincount(pairs, entries.data, count**2).reshape(count, count)
            square[np.diag_indices(count)] += self._ridges[c] * np.bincount(labels)
            inverse = np.linalg.inv(square)
            aim = model.back(self._fit.aims[c]).ravel() + self._ridges[c] * near[:, c]
            palette[:, c] = inverse @ np.bincount(labels, aim, count)
            for _ in range(rounds):
                cells = palette[labels, c].reshape(self._fit.size).astype(np.float32)
                missed = model.back(self._fit.missed(c, cells))
                palette[:, c] += inverse @ np.bincount(labels, missed.ravel(), count)
        return palette

    def _slopes(self, cells: NDArray[np.float64]) -> NDArray[np.float64]:
        """(3, cells) half the slope of the squares at cells (3, n)."""
        slopes = np.zeros_like(cells)
        for c, model in enumerate(self._fit.models):
            slopes[c] = self._squares[c] @ cells[c] - model.back(self._fit.aims[c]).ravel()
        return slopes
