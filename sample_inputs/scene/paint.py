"""Brushes for the harbour scene: seeded noise, soft-edged shapes, layers of paint, glow.

Colours are sRGB-encoded floats 0..1; a picture is (h, w, 3), a mask (h, w). A camera stands a
little above the water with its horizon at `HORIZON`; `SUN` is where the sun went down, in px.
"""

from __future__ import annotations

from collections.abc import Sequence

import cv2
import numpy as np
from numpy.typing import NDArray

WIDTH, HEIGHT, HORIZON = 1600, 1200, 640
SUN = (1010.0, 652.0)
HAZE = (0.93, 0.71, 0.58)
Array = NDArray[np.float32]
Points = Sequence[tuple[float, float]]
_stream = np.random.default_rng(0)


def restart(seed: int) -> None:
    """Start the one stream of chance again, so that a picture comes out the same each time."""
    global _stream
    _stream = np.random.default_rng(seed)


def noise(shape: tuple[int, int], cell: tuple[float, float], octaves: int = 5) -> Array:
    """Smooth noise 0..1 of a shape (h, w); `cell` is the largest feature in px (down, across)."""
    total = np.zeros(shape, np.float32)
    for octave in range(octaves):
        down, across = (
            max(1, int(size / (c / 2**octave)) + 2) for size, c in zip(shape, cell, strict=True)
        )
        grid = _stream.random((down, across), dtype=np.float32)
        total += cv2.resize(grid, shape[::-1], interpolation=cv2.INTER_CUBIC) / 2**octave
    low, high = np.percentile(total[:: min(8, shape[0]), ::8], [1, 99])
    return np.clip((total - low) / (high - low), 0, 1)


def normal(shape: tuple[int, int]) -> Array:
    """Independent normal values, mean 0 and spread 1."""
    return _stream.standard_normal(shape).astype(np.float32)


def chance() -> float:
    """One number, 0 to 1."""
    return float(_stream.random())


def colour(text: str) -> Array:
    """Turn `#RRGGBB` into three floats."""
    return np.array(list(bytes.fromhex(text[1:])), dtype=np.float32) / 255


def ramp(values: Array, stops: Sequence[tuple[float, str]]) -> Array:
    """Look values up in a row of colour stops; adds an axis of 3."""
    at = [place for place, _ in stops]
    table = np.array([colour(text) for _, text in stops])
    return np.stack([np.interp(values, at, table[:, k]) for k in range(3)], -1).astype(np.float32)


def cover(shape: tuple[int, int], points: Points) -> Array:
    """Share of each pixel inside a polygon, with soft edges."""
    mask = np.zeros(shape, np.uint8)
    fixed = np.rint(np.array(points) * 16).astype(np.int32)
    cv2.fillPoly(mask, [fixed], 255, lineType=cv2.LINE_AA, shift=4)
    return mask.astype(np.float32) / 255


def stroke(shape: tuple[int, int], points: Points, width: int) -> Array:
    """Share of each pixel on a line."""
    mask = np.zeros(shape, np.uint8)
    fixed = np.rint(np.array(points) * 16).astype(np.int32)
    cv2.polylines(mask, [fixed], False, 255, width, lineType=cv2.LINE_AA, shift=4)
    return mask.astype(np.float32) / 255


def sample(picture: Array, across: Array, down: Array) -> Array:
    """Take a picture's values at places between its pixels; beyond its rim it is mirrored."""
    places = across.astype(np.float32), down.astype(np.float32)
    return cv2.remap(picture, *places, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REFLECT)


def lay(under: Array, mask: Array, paint: Array | tuple[float, ...]) -> None:
    """Lay paint (a colour or a picture) over a picture in place, where the mask says."""
    box = np.s_[slice(*extent(mask.any(axis=1))), slice(*extent(mask.any(axis=0)))]
    paint = np.broadcast_to(np.asarray(paint, np.float32), under.shape)[box]
    under[box] += mask[box][..., None] * (paint - under[box])


def extent(filled: NDArray[np.bool_]) -> tuple[int, int]:
    """First and one past the last True, (0, 0) when there is none."""
    places = np.flatnonzero(filled)
    return (int(places[0]), int(places[-1]) + 1) if len(places) else (0, 0)


def glow(picture: Array, x: float, y: float, radius: float, paint: str, power: float) -> None:
    """Add soft light around a lamp, in place: bright never passes 1 (screen blend)."""
    down, across = np.mgrid[: picture.shape[0], : picture.shape[1]].astype(np.float32)
    far2 = ((across - x) ** 2 + (down - y) ** 2) / radius**2
    light = power / (1 + far2) ** 2
    picture += (1 - picture) * np.clip(light[..., None] * colour(paint), 0, 1)
