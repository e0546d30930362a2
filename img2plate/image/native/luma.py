"""Luma and chroma: compression spoils the second far more than the first."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

LUMA_CHROMA = np.array(
    [
        [0.299, 0.587, 0.114, 0],
        [-0.168736, -0.331264, 0.5, 0],
        [0.5, -0.418688, -0.081312, 0],
        [0, 0, 0, 1],
    ],
    np.float32,
)
"""RGB and alpha to Y, Cb, Cr and alpha as in JPEG files (ITU-T T.871), without its offset."""
CLOSE_CHROMA = np.array([1, 0.7, 0.7, 1], np.float32)[:, None] * LUMA_CHROMA
"""The same for distances between colours."""
CHROMA_SHARE = 0.1
"""What a squared error in chroma counts beside one in luma, when grids are judged."""


def weighed_error(left: NDArray[np.float32]) -> float:
    """Mean squared error of (channels, h, w) errors: of luma mostly, and of alpha.

    Chroma of half the size and coarser steps make errors that finer grids follow; luma has few.
    """
    flat = left.reshape(len(left), -1)
    power = (flat @ flat.T) / flat.shape[1]
    return float((power * _WEIGHTS[len(left)]).sum())


def _weights(channels: int) -> NDArray[np.float32]:
    """(channels, channels) form that takes products of errors to `weighed_error`."""
    if channels < 3:  # grey, and perhaps alpha
        return np.eye(channels, dtype=np.float32) / np.float32(channels)
    turn = LUMA_CHROMA[:channels, :channels]
    shares = np.array([1, CHROMA_SHARE, CHROMA_SHARE, 1], np.float32)[:channels]
    return np.asarray((turn.T * shares) @ turn / shares.sum(), np.float32)


_WEIGHTS = {channels: _weights(channels) for channels in range(1, 5)}
