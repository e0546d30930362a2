"""Faces count more: in them everybody sees a bead that is wrong.

scikit-image's cascade of local binary patterns for upright faces (S. Liao and others, Learning
multi-scale block local binary patterns for face recognition, 2007; trained by OpenCV) comes
with the library.
"""

from __future__ import annotations

from weakref import WeakKeyDictionary

import numpy as np
from numpy.typing import NDArray

from img2plate.colour.spaces import linear2bytes
from img2plate.image.grid import Grid
from img2plate.image.kind.kind import Kind

FACE_WEIGHT = 1.7
"""How often a cell in a face counts."""
_SMALLEST = 24
"""Pixels of the smallest face that the cascade knows; about 8 beads, fewer show none."""
_PIXELS_A_BEAD, _MOST_PIXELS = 3, 176
_SCALES, _STEP, _NEIGHBOURS = 1.1, 1.2, 4
_RIM = 0.8
"""Share of half a face's width from which on the weight falls off."""
_found: WeakKeyDictionary[Grid, list[tuple[float, float, float]]] = WeakKeyDictionary()


def face_weight(picture: Grid, shape: tuple[int, ...]) -> NDArray[np.float32]:
    """(h, w) how much more each cell counts: up to FACE_WEIGHT in faces, 1 elsewhere."""
    weight = np.ones(shape, np.float32)
    if picture.kind is not Kind.PHOTO:
        return weight
    y, x = np.mgrid[: shape[0], : shape[1]] + 0.5
    for across, down, width in faces(picture):
        away = np.hypot(x - across, y - down) / (width / 2)
        inside = np.exp(-8 * np.maximum(away - _RIM, 0) ** 2)
        weight = np.maximum(weight, 1 + (FACE_WEIGHT - 1) * inside.astype(np.float32))
    return weight


def faces(picture: Grid) -> list[tuple[float, float, float]]:
    """Middle (across, down) and width of each face, in cells. Looked for once in a picture."""
    found = _found.get(picture)
    if found is None:
        found = _found[picture] = _look_for(picture)
    return found


def _look_for(picture: Grid) -> list[tuple[float, float, float]]:
    """As `faces`."""
    import cv2

    height, width = picture.cover.shape
    cells = max(height, width) / picture.per_cell
    scale = min(_PIXELS_A_BEAD * cells, _MOST_PIXELS) / max(height, width)
    size = round(width * scale), round(height * scale)
    if scale > 1 or min(size) < 2 * _SMALLEST:
        return []
    from skimage.data import lbp_frontal_face_cascade_filename
    from skimage.feature import Cascade

    small = linear2bytes(cv2.resize(picture.rgb, size, interpolation=cv2.INTER_AREA))
    boxes = Cascade(lbp_frontal_face_cascade_filename()).detect_multi_scale(
        img=small,
        scale_factor=_SCALES,
        step_ratio=_STEP,
        min_size=(_SMALLEST, _SMALLEST),
        max_size=(min(size), min(size)),
        min_neighbor_number=_NEIGHBOURS,
    )
    cell = scale * picture.per_cell
    return [
        (
            (box["c"] + box["width"] / 2) / cell,
            (box["r"] + box["height"] / 2) / cell,
            box["width"] / cell,
        )
        for box in boxes
    ]
