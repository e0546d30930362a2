"""Counts that tell a sprite already at one pixel per cell from a photo.

A sprite is small, has few colours, and many of its pixels have the very colour of a neighbour; a
photo, however small, has nearly as many colours as pixels.
"""

from __future__ import annotations

import numpy as np

from img2plate.base.arrays import Pixels

ROUNDED = 3
"""8-bit steps that rounding adds to the sum of three channels."""
MOST_SIDE = 256
"""Sprites are drawn by hand, pixel by pixel; larger ones are nearly always enlargements."""


def colour_count(pixels: Pixels) -> int:
    """How many distinct colours a picture has, without what is see-through."""
    packed = np.ascontiguousarray(pixels).view(np.uint32)[..., 0]
    return len(np.unique(packed[pixels[..., 3] > 0]))


def same_neighbour_share(pixels: Pixels) -> float:
    """Share of neighbouring pixel pairs that have one colour, 0..1."""
    packed = np.ascontiguousarray(pixels).view(np.uint32)[..., 0]
    same = np.count_nonzero(packed[1:] == packed[:-1])
    same += np.count_nonzero(packed[:, 1:] == packed[:, :-1])
    pairs = packed[1:].size + packed[:, 1:].size
    return float(same / pairs) if pairs else 1.0


def soft_edge_share(pixels: Pixels) -> float:
    """Share of the edges of a picture that a pixel between softens, 0..1.

    Of a drawing with soft edges it is a third to a half, of pixel art seldom over a quarter.
    """
    planes = pixels.astype(np.int16)
    planes[..., :3] = planes[..., :3] * (planes[..., 3:] / 255)
    softened = edges = 0
    for lines in (planes, planes.transpose(1, 0, 2)):
        before, middle, after = lines[:, :-2], lines[:, 1:-1], lines[:, 2:]
        one, two, both = (
            np.abs(a - b).sum(axis=2)
            for a, b in ((before, middle), (middle, after), (before, after))
        )
        between = (one > 0) & (two > 0) & (one + two <= both + ROUNDED)
        softened += int(np.count_nonzero(between))
        edges += int(np.count_nonzero((one > 0) | (two > 0)))
    return softened / max(1, edges)


def is_native_sprite(pixels: Pixels) -> bool:
    """Whether each pixel is meant as one cell."""
    if max(pixels.shape[:2]) > MOST_SIDE:
        return False
    colours = colour_count(pixels)
    if colours <= 32:
        return True
    return colours <= 256 and same_neighbour_share(pixels) >= 0.15


def has_single_pixel_detail(pixels: Pixels) -> bool:
    """Whether most edges lie one pixel apart on both axes: then nothing was enlarged."""
    packed = np.ascontiguousarray(pixels).view(np.uint32)[..., 0]
    for lines in (packed, packed.T):
        edges = np.flatnonzero((lines[1:] != lines[:-1]).any(axis=1))
        gaps = np.diff(edges)
        if len(gaps) < 2 or np.mean(gaps == 1) < 0.6:
            return False
    return True
