"""Counts that tell a sprite already at one pixel per cell from a photo.

A sprite is small, has few colours, and many of its pixels have the very colour of a neighbour; a
photo, however small, has nearly as many colours as pixels.
"""

from __future__ import annotations

import numpy as np

from img2plate.base.arrays import Pixels

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
