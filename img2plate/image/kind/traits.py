"""What tells drawings from photos: how much of a picture is flat, and where its edges lie."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil

import numpy as np
from numpy.typing import NDArray

from img2plate.base.arrays import Pixels

MOST_SIDE = 640
"""Pixels of a side; a larger picture is looked at made smaller."""
RIM, LIKE_RIM = 3, 10
"""Pixels of the rim, and steps from its median within which it is plain."""
FLAT = 3
"""8-bit steps between pixels next to each other that are as good as none."""
EDGES = 0.25
"""Of the pixels, those on which the steps of a drawing are."""


@dataclass(frozen=True)
class Traits:
    """Shares, 0..1, and what else is said of colours and greys."""

    half_edges: float
    """Of all steps in the picture at half its size, those of the quarter of pixels with most."""
    rim: float
    """Of the rim, what is as its median."""
    smooth: float
    """Of the pixels, those that hardly differ from those round them once specks are gone."""
    equal: float
    """Of neighbours, those of one colour."""
    clear: float
    """Of the pixels, those that are see-through."""
    tones: float
    """Entropy of the greys in nats, 0 to 5.5."""
    spread: float
    """Standard deviation of the greys, in 8-bit steps."""
    shades: int
    """Colours, told apart to 5 bits a channel."""


def traits(pixels: Pixels) -> Traits:
    """Look at a picture (h, w, 4)."""
    import cv2

    times = ceil(max(pixels.shape[:2]) / MOST_SIDE)
    if times > 1:
        size = (max(1, pixels.shape[1] // times), max(1, pixels.shape[0] // times))
        whole = pixels[: size[1] * times, : size[0] * times]  # parts of pixels take much longer
        pixels = np.asarray(cv2.resize(whole, size, interpolation=cv2.INTER_AREA))
    rgb, clear = _on_white(pixels), float((pixels[..., 3] < 128).mean())
    size = (max(2, rgb.shape[1] // 2), max(2, rgb.shape[0] // 2))
    half = np.asarray(cv2.resize(rgb, size, interpolation=cv2.INTER_AREA))
    calm = np.asarray(cv2.medianBlur(rgb, 5))
    greys = np.asarray(cv2.cvtColor(rgb, cv2.COLOR_RGB2GRAY))
    return Traits(
        half_edges=_share_of_top(_steps(half), EDGES),
        rim=_rim(rgb),
        smooth=float((_ranges(calm) <= FLAT).mean()),
        equal=_equal(rgb),
        clear=clear,
        tones=_entropy(greys),
        spread=float(greys.std()),
        shades=_shades(rgb),
    )


def _on_white(pixels: Pixels) -> NDArray[np.uint8]:
    """(h, w, 3) uint8."""
    if pixels[..., 3].min() == 255:
        return np.ascontiguousarray(pixels[..., :3])
    alpha = pixels[..., 3:].astype(np.uint16)
    mixed = (pixels[..., :3] * alpha + 255 * (255 - alpha) + 127) // 255
    return mixed.astype(np.uint8)


def _steps(rgb: NDArray[np.uint8]) -> NDArray[np.float32]:
    """(h - 1, w - 1) how much a pixel differs from the next ones, across and down."""
    planes = rgb.astype(np.int16)
    across = np.abs(planes[:-1, 1:] - planes[:-1, :-1]).max(axis=2)
    down = np.abs(planes[1:, :-1] - planes[:-1, :-1]).max(axis=2)
    return np.asarray(across + down, np.float32)


def _share_of_top(steps: NDArray[np.float32], share: float) -> float:
    """Share of the sum that the largest so many have."""
    total = float(steps.sum())
    if total == 0:
        return 1.0
    count = max(1, int(share * steps.size))
    top = np.partition(steps.ravel(), steps.size - count)[-count:]
    return float(top.sum()) / total


def _ranges(rgb: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """(h, w) largest less smallest value in 3 x 3 pixels, of the channel where that is most."""
    import cv2

    square = np.ones((3, 3), np.uint8)
    ranges = cv2.subtract(cv2.dilate(rgb, square), cv2.erode(rgb, square))
    return np.asarray(ranges.max(axis=2), np.uint8)


def _rim(rgb: NDArray[np.uint8]) -> float:
    """Share of the rim that is as its median."""
    sides = rgb[:RIM], rgb[-RIM:], rgb[:, :RIM], rgb[:, -RIM:]
    rim = np.concatenate([side.reshape(-1, 3) for side in sides]).astype(np.int16)
    off = np.abs(rim - np.median(rim, axis=0)).max(axis=1)
    return float((off <= LIKE_RIM).mean())


def _equal(rgb: NDArray[np.uint8]) -> float:
    """Share of neighbouring pairs of one colour."""
    across = (rgb[:, 1:] == rgb[:, :-1]).all(axis=2)
    down = (rgb[1:] == rgb[:-1]).all(axis=2)
    return float((across.sum() + down.sum()) / (across.size + down.size))


def _entropy(greys: NDArray[np.uint8]) -> float:
    """Of the greys, in nats."""
    counts = np.bincount(greys.ravel())
    share = counts[counts > 0] / counts.sum()
    return float(-(share * np.log(share)).sum())


def _shades(rgb: NDArray[np.uint8]) -> int:
    """Colours to 5 bits a channel."""
    red, green, blue = (rgb[..., channel].astype(np.int32) >> 3 for channel in range(3))
    return int(np.count_nonzero(np.bincount(((red << 10) | (green << 5) | blue).ravel())))
