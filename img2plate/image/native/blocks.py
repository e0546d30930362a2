"""How the cells of a grid give the coefficients that a JPEG file stores.

As libjpeg does it: colours are turned to Y, Cb and Cr, chroma is averaged over pixels, what is
missing in the last blocks repeats the border, each block of 8 x 8 goes through a DCT.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from math import ceil

import numpy as np
from numpy.typing import NDArray

from img2plate.image.jpeg.coefficients import Channel

Matrix = NDArray[np.float32]
_U = np.arange(8)[:, None]
DCT = np.cos((2 * np.arange(8) + 1) * _U * np.pi / 16) * np.where(_U, 0.5, np.sqrt(1 / 8))
"""(8, 8) orthonormal: row u gives coefficient u of eight pixels."""
DCT32 = DCT.astype(np.float32)
MIDDLE = 128
"""What an encoder takes off luma; chroma lies around it."""


@dataclass(frozen=True, eq=False)
class ChannelModel:
    """One channel of a file and the cells' way to its coefficients, on both axes apart."""

    channel: Channel
    down: Matrix
    """(8 blocks down, rows): coefficients along y of each cell."""
    across: Matrix
    """(8 blocks across, columns)."""

    @cached_property
    def weights(self) -> Matrix:
        """(8 blocks down, 8 blocks across): one over the squared step."""
        steps = 1 / self.channel.steps**2
        high, wide = (side // 8 for side in self.channel.stored.shape)
        return np.tile(steps, (high, wide)).astype(np.float32)

    @cached_property
    def steps(self) -> Matrix:
        """(8 blocks down, 8 blocks across): quantiser steps."""
        return np.asarray(1 / np.sqrt(self.weights), np.float32)

    def forth(self, cells: Matrix) -> Matrix:
        """(rows, columns) to coefficients."""
        return np.asarray(self.down @ cells @ self.across.T)

    def back(self, coefficients: Matrix) -> Matrix:
        """The weighed adjoint: (rows, columns) of coefficients."""
        return np.asarray(self.down.T @ (self.weights * coefficients) @ self.across)

    def square(self) -> object:
        """Sparse (cells, cells): the weighed normal matrix."""
        from scipy.sparse import csr_array, kron

        weights = 1 / self.channel.steps**2
        of_x = [self.across[v::8].T @ self.across[v::8] for v in range(8)]
        total = None
        for u in range(8):
            on_y = self.down[u::8].T @ self.down[u::8]
            on_x = np.tensordot(weights[u], np.array(of_x), 1)
            one = kron(csr_array(_thin(on_y)), csr_array(_thin(on_x)), format="csr")
            total = one if total is None else total + one
        return total


def _thin(matrix: Matrix) -> Matrix:
    """Without what is only rounding."""
    return np.asarray(np.where(np.abs(matrix) > 1e-6 * np.abs(matrix).max(), matrix, 0))


def axis_model(shares: Matrix, channel: Channel, axis: int) -> Matrix:
    """(8 blocks, cells) of the weights of cells in pixels (length, cells): 0 across, 1 down."""
    seen = averaged(shares, channel, axis)
    parts = seen.reshape(len(seen) // 8, 8, -1)
    turned = np.einsum("uk,bkc->buc", DCT32, parts).reshape(len(seen), -1)
    return np.asarray(turned, np.float32)


def averaged(lines: Matrix, channel: Channel, axis: int) -> Matrix:
    """(8 blocks, m): lines (length, m) as a channel samples them, the border repeated.

    libjpeg repeats pixels to the right, but below what is averaged already.
    """
    ratio, start = channel.ratio[axis], channel.start[axis]
    needed = channel.stored.shape[1 - axis]
    filled = needed * ratio
    if axis == 1:
        filled = min(filled, ceil((len(lines) - start) / ratio) * ratio)
    some = lines[np.minimum(start + np.arange(filled), len(lines) - 1)]
    means = some.reshape(-1, ratio, *lines.shape[1:]).mean(axis=1)
    return np.asarray(means[np.minimum(np.arange(needed), len(means) - 1)], np.float32)


def coefficients_of(plane: Matrix, channel: Channel) -> Matrix:
    """Coefficients of a channel of a picture (h, w) float32, less MIDDLE, at full size."""
    high, wide = (side // 8 for side in channel.stored.shape)
    down = averaged(plane, channel, 1)
    seen = averaged(np.ascontiguousarray(down.T), channel, 0).T
    if max(channel.ratio) > 1:
        # libjpeg adds one or two quarters in turn, or none and half, and cuts off.
        bias = np.array([0, 0.5] if 1 in channel.ratio else [0.25, 0.5], np.float32)
        seen = np.floor(seen + np.resize(bias, seen.shape[1]) + 1e-3)
    parts = np.ascontiguousarray(seen).reshape(high, 8, wide, 8)
    turned = np.einsum("uk,bkcl,vl->bucv", DCT32, parts, DCT32, optimize=True)
    return np.asarray(turned.reshape(channel.stored.shape), np.float32)
