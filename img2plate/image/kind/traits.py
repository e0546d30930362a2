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
LEAST_RIM, LEAST_CLEAR = 0.6, 0.05
"""Of a picture of something on a ground."""
SAME, SOFT = 1, 20
"""8-bit steps between neighbours that are one colour, and most between those that are no edge."""
LEAST_WITHIN = 200
"""Pixels off the ground; with fewer the whole picture is looked at."""


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
    same_within: float
    """Of neighbours off an even or see-through ground, those of as good as one colour."""
    soft_within: float
    """Of the pixels off the ground, those that differ somewhat from those round them."""
    few_within: float
    """Of the pixels off the ground, those of the three greys that are there most."""

    @property
    def on_ground(self) -> bool:
        """Whether something stands on an even or see-through ground."""
        return _is_on_ground(self.rim, self.clear)


def _is_on_ground(rim: float, clear: float) -> bool:
    return rim >= LEAST_RIM or clear > LEAST_CLEAR


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
    ranges, rim = _ranges(calm), _rim(rgb)
    within = np.ones(greys.shape, np.bool_)
    if _is_on_ground(rim, clear):
        off = _within(pixels, rgb)
        within = off if np.count_nonzero(off) >= LEAST_WITHIN else within
    return Traits(
        half_edges=_share_of_top(_steps(half), EDGES),
        rim=rim,
        smooth=float((ranges <= FLAT).mean()),
        equal=_equal(rgb),
        clear=clear,
        tones=_entropy(greys),
        spread=float(greys.std()),
        same_within=_same(rgb, within),
        soft_within=float(((ranges > FLAT) & (ranges <= SOFT))[within].mean()),
        few_within=float(np.sort(np.bincount(greys[within]))[-3:].sum() / within.sum()),
    )


def _within(pixels: Pixels, rgb: NDArray[np.uint8]) -> NDArray[np.bool_]:
    """(h, w) where neither clear pixels nor the even ground are, nor the edge to them."""
    import cv2

    square = np.ones((5, 5), np.uint8)
    ground = np.asarray(pixels[..., 3] < 128, np.uint8)
    if ground.mean() <= LEAST_CLEAR:
        off = cv2.absdiff(rgb, np.broadcast_to(_median_of_rim(rgb), rgb.shape))
        even = np.asarray(off.max(axis=2) <= LIKE_RIM, np.uint8)
        ground = np.asarray(cv2.morphologyEx(even, cv2.MORPH_OPEN, square))
    return np.asarray(np.logical_not(cv2.dilate(ground, square)), np.bool_)


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


def _rim_pixels(rgb: NDArray[np.uint8]) -> NDArray[np.int16]:
    """(n, 3)."""
    sides = rgb[:RIM], rgb[-RIM:], rgb[:, :RIM], rgb[:, -RIM:]
    return np.concatenate([side.reshape(-1, 3) for side in sides]).astype(np.int16)


def _median_of_rim(rgb: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """(3,)."""
    return np.asarray(np.median(_rim_pixels(rgb), axis=0), np.uint8)


def _rim(rgb: NDArray[np.uint8]) -> float:
    """Share of the rim that is as its median."""
    rim = _rim_pixels(rgb)
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


def _same(rgb: NDArray[np.uint8], within: NDArray[np.bool_]) -> float:
    """Share of neighbouring pairs of as good as one colour, of those that are both within."""
    import cv2

    alike = pairs = 0
    for first, second in (
        (np.s_[:, 1:], np.s_[:, :-1]),
        (np.s_[1:], np.s_[:-1]),
    ):
        both = within[first] & within[second]
        same = cv2.absdiff(rgb[first], rgb[second]).max(axis=2) <= SAME
        alike, pairs = alike + int((same & both).sum()), pairs + int(both.sum())
    return alike / max(1, pairs)
