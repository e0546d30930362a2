"""What the plate is to look like: the picture through each view, and how much each cell counts."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from img2plate.base.arrays import Floats, Mask
from img2plate.colour.look_error import View, blur
from img2plate.colour.spaces import linear2lab
from img2plate.image.grid import Grid
from img2plate.plate.search.filters import space_of, terms_of
from img2plate.plate.shade.looks import FLIP, Sight

_SHARPEN, _SHARPEN_SPREAD = 0.25, 0.8
"""Amount, and standard deviation in cells, of the unsharp mask for views at the table."""
_LEAST_WEIGHT, _MOST_WEIGHT = 0.6, 1.6
_CLIP = 90
"""Percentile of the gradient from which on a cell counts most."""
_FLIP_DARK = 0.6


def wanted(picture: Grid, filled: Mask, sight: Sight, pitch_mm: float) -> NDArray[np.float32]:
    """(h, w, 3, n) the picture as a view sees it, at n samples a cell.

    f(X), f(Y), f(Z) of CIELAB for S-CIELAB; L* and a*, b* scaled as in `lab32.flip_sum` for FLIP.
    """
    per_cell, view = picture.per_cell, View(sight.metres, pitch_mm)
    space = space_of(sight.meter)
    shown = np.repeat(np.repeat(filled, per_cell, axis=0), per_cell, axis=1)[..., None]
    rgb = np.where(shown, picture.rgb, np.float32(1))
    if sight.sharpened:
        rgb = _sharpened(rgb, per_cell)
    channels = rgb @ space.from_rgb.T.astype(np.float32)
    degrees_per_sample = view.cell_degrees / per_cell
    for channel, gaussians in enumerate(terms_of(sight, pitch_mm)):
        plane = np.ascontiguousarray(channels[..., channel])
        channels[..., channel] = blur(plane, gaussians, degrees_per_sample, per_cell)
    sampled = _to_samples(channels, filled.shape, sight.side)
    ratio = sampled @ space.to_xyz.T.astype(np.float32)
    straight = np.float32((29 / 6) ** 2 / 3) * ratio + np.float32(4 / 29)
    f = np.where(ratio > (6 / 29) ** 3, np.cbrt(np.maximum(ratio, 0)), straight)
    if sight.meter == FLIP:
        f = _flip_lab(f)
    return np.ascontiguousarray(f.transpose(0, 1, 3, 2), dtype=np.float32)


def _sharpened(rgb: Floats, per_cell: int) -> NDArray[np.float32]:
    """An unsharp mask in linear light."""
    import cv2

    spread = _SHARPEN_SPREAD * per_cell
    soft = cv2.GaussianBlur(rgb, (0, 0), spread, borderType=cv2.BORDER_REFLECT)
    return np.asarray(np.clip(rgb + np.float32(_SHARPEN) * (rgb - soft), 0, 1), np.float32)


def _to_samples(channels: Floats, shape: tuple[int, ...], side: int) -> NDArray[np.float32]:
    """(h, w, n, 3) means over side x side samples a cell."""
    import cv2

    height, width = shape
    size = (width * side, height * side)
    small = cv2.resize(channels, size, interpolation=cv2.INTER_AREA)
    cells = small.reshape(height, side, width, side, 3).transpose(0, 2, 1, 3, 4)
    return np.asarray(cells.reshape(height, width, side * side, 3), np.float32)


def _flip_lab(f: Floats) -> NDArray[np.float32]:
    """L* and scaled a*, b* from f(X), f(Y), f(Z)."""
    light = 116 * f[..., 1] - 16
    scale = np.maximum(0.01 * light, _FLIP_DARK)
    red, yellow = 500 * (f[..., 0] - f[..., 1]), 200 * (f[..., 1] - f[..., 2])
    return np.stack([light, scale * red, scale * yellow], axis=-1).astype(np.float32)


def importance(texture: Floats, filled: Mask, favour: NDArray[np.float32]) -> NDArray[np.float32]:
    """(h, w) how much each cell counts, 1 on average: more where the picture has edges.

    favour: (h, w) what it is multiplied by, as in faces.
    """
    weight = favour * (_LEAST_WEIGHT + (_MOST_WEIGHT - _LEAST_WEIGHT) * texture)
    mean = float(weight[filled].mean()) if filled.any() else 1.0
    return np.asarray(np.where(filled, weight / mean, 0), np.float32)


def texture_of(lab: Floats, filled: Mask) -> NDArray[np.float32]:
    """(h, w) 0 where the picture is smooth, 1 where it has as much of edges as a tenth of it.

    lab: (h, w, 3) CIELAB of the cells.
    """
    import cv2

    light = np.where(filled, lab[..., 0], 100).astype(np.float32)
    along_y, along_x = (cv2.Sobel(light, cv2.CV_32F, *d, borderType=cv2.BORDER_REFLECT)
                        for d in ((0, 1), (1, 0)))  # fmt: skip
    edges = cv2.GaussianBlur(np.hypot(along_x, along_y), (0, 0), 1, borderType=cv2.BORDER_REFLECT)
    most = float(np.percentile(edges[filled], _CLIP)) if filled.any() else 0.0
    return np.asarray(np.clip(edges / max(most, 1.0), 0, 1), np.float32)


def cell_lab(picture: Grid, shape: tuple[int, ...]) -> NDArray[np.float32]:
    """(h, w, 3) CIELAB of the cells' mean colours."""
    height, width = shape
    m = picture.per_cell
    means = picture.rgb.reshape(height, m, width, m, 3).mean(axis=(1, 3))
    return np.asarray(linear2lab(means), np.float32)
