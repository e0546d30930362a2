"""A drawing at a whole number of pixels a cell: what its colours and lines are looked for in."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from img2plate.base.arrays import Mask, Pixels
from img2plate.image.sample import axis_weights
from img2plate.image.sizing import Framing

FLAT_RANGE = 10
"""Levels of 255 by which neighbours within a flat area may differ: what JPEG and paper leave."""

RIDGE = 40
"""Levels by which a line stands out from both its sides."""


@dataclass(frozen=True, eq=False)
class Work:
    """A picture laid over whole cells."""

    colour: NDArray[np.uint8]
    """(h, w, 4) sRGB and alpha, premultiplied: soft edges are straight mixes there."""
    each: int
    """Pixels along a cell's side."""

    @cached_property
    def inside(self) -> Mask:
        """(h, w) bool: pixels that are like all their neighbours."""
        import cv2

        kernel = np.ones((3, 3), np.uint8)
        spread = cv2.dilate(self.colour, kernel) - cv2.erode(self.colour, kernel)
        return np.asarray(spread.max(axis=2) <= FLAT_RANGE)

    @cached_property
    def ridge(self) -> Mask:
        """(h, w) bool: lines narrower than half a cell, that differ from both their sides.

        A black line round something white on nothing is one only before white paper, a white line
        only before black.
        """
        import cv2

        side = max(3, self.each // 2 | 1)
        kernel = np.ones((side, side), np.uint8)
        black = self.colour[..., :3]
        papers = [black]
        if self.colour[..., 3].min() < 255:
            papers.append(black + (255 - self.colour[..., 3:]))
        found = np.zeros(black.shape[:2], np.bool_)
        for paper in papers:
            for kind in (cv2.MORPH_TOPHAT, cv2.MORPH_BLACKHAT):
                found |= cv2.morphologyEx(paper, kind, kernel).max(axis=2) > RIDGE
        return found


def work_on(pixels: Pixels, framing: Framing, each: int) -> Work:
    """Average a picture (h, w, 4) over `each` x `each` pixels in each cell of a framing."""
    left, top, right, bottom = framing.box
    columns = axis_weights(pixels.shape[1], left, right, framing.size[0] * each, True)
    rows = axis_weights(pixels.shape[0], top, bottom, framing.size[1] * each, True)
    alpha = pixels[..., 3].astype(np.float32)
    planes = [alpha] if alpha.min() == 255 else [alpha / 255 * pixels[..., c] for c in range(3)]
    if len(planes) == 1:
        planes = [pixels[..., c].astype(np.float32) for c in range(3)]
    weighed = [(columns @ (rows @ plane).T).T for plane in (*planes, alpha)]
    return Work(np.clip(np.rint(np.stack(weighed, axis=-1)), 0, 255).astype(np.uint8), each)


def with_rim(pixels: Pixels, framing: Framing) -> tuple[Pixels, Framing]:
    """A cell more on each side: the picture's outer pixels repeated, nothing where a margin is."""
    (width, height), (left, top, right, bottom) = framing.size, framing.box
    across, down = framing.step
    x, y = int(np.ceil(across)), int(np.ceil(down))
    wide = np.pad(pixels, ((y, y), (x, x), (0, 0)), mode="edge")
    if left < 0:
        wide[:, :x] = 0
    if top < 0:
        wide[:y] = 0
    if right > pixels.shape[1]:
        wide[:, -x:] = 0
    if bottom > pixels.shape[0]:
        wide[-y:] = 0
    box = (left - across + x, top - down + y, right + across + x, bottom + down + y)
    return wide, Framing((width + 2, height + 2), box)
