"""Corners: where a picture changes across and down at once.

Long edges, as windows have, and gradients in one direction have none but at their ends. In art that
was enlarged by the nearest pixel, all corners lie where lines of its grid cross.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from img2plate.base.arrays import Mask, Pixels

Ints = NDArray[np.int64]
LEAST = 8
"""8-bit steps of a corner, in the channel where it is strongest."""
LEAST_LOSSY = 24
"""The same where compression makes corners of its own."""


@dataclass(frozen=True, eq=False)
class Corners:
    """Places between pixels: 5, 7 is the upper left corner of the pixel in column 5 and row 7."""

    x: Ints
    y: Ints

    def __len__(self) -> int:
        return len(self.x)

    def only(self, which: Mask) -> Corners:
        """Those of a mask."""
        return Corners(self.x[which], self.y[which])

    def inside(self, box: tuple[int, int, int, int]) -> Mask:
        """Which lie in or on the rim of left, top, right, bottom."""
        left, top, right, bottom = box
        across = (self.x >= left) & (self.x <= right)
        return np.asarray(across & (self.y >= top) & (self.y <= bottom))


def corners(pixels: Pixels, *, lossy: bool = False) -> Corners:
    """All corners of a picture (h, w, 4): the strongest of 3 x 3 places each."""
    import cv2

    strength = np.zeros((pixels.shape[0] - 1, pixels.shape[1] - 1), np.int16)
    for channel in channels(pixels):
        across = cv2.subtract(channel[:, 1:], channel[:, :-1], dtype=cv2.CV_16S)
        both = cv2.subtract(across[1:], across[:-1])
        np.maximum(strength, cv2.max(both, -both), out=strength)
    least = LEAST_LOSSY if lossy else LEAST
    strongest = cv2.dilate(strength, np.ones((3, 3), np.uint8))
    y, x = np.nonzero((strength >= least) & (strength == strongest))
    return Corners(x + 1, y + 1)


def channels(pixels: Pixels) -> list[NDArray[np.uint8]]:
    """Three planes (h, w); what is see-through is grey."""
    alpha = pixels[..., 3:]
    if alpha.min() < 255:
        share = alpha.astype(np.float32) / 255
        pixels = np.rint(pixels[..., :3] * share + 128 * (1 - share)).astype(np.uint8)
    return [np.ascontiguousarray(pixels[..., c]) for c in range(3)]
