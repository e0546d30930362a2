"""Pictures of variants, all at one scale: near as pressed beads, and as seen from the distance."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from img2plate.colour.look_error import RGB2OPPONENT, View, seen_opponent
from img2plate.colour.spaces import linear2bytes
from img2plate.image.grid import Grid
from img2plate.plate.plate import Plate
from img2plate.typeset.beads import pressed, stamp_pressed
from img2plate.typeset.ground import ground_for

if TYPE_CHECKING:
    from PIL import Image

    from img2plate.typeset.proof.proof import Proof, Variant

_THICKNESS_MM = 2.9
"""Holes closed: at this scale holes would only grey the colours that are to be compared."""
_MOST_SAMPLES = 4_000_000
_FAR_SAMPLES = 3
"""Along a cell's side: enough for what is blurred."""


def far_picture(plate: Plate, view: View) -> NDArray[np.uint8]:
    """(h m, w m, 3) sRGB: what the eye resolves of the plate from the viewing distance."""
    per_cell = min(view.per_cell, _FAR_SAMPLES)
    if plate.cells.size * per_cell**2 > _MOST_SAMPLES:
        per_cell = 1
    linear = plate.linear().repeat(per_cell, axis=0).repeat(per_cell, axis=1)
    return _seen(linear, view, per_cell)


def source_pictures(picture: Grid, view: View) -> tuple[NDArray[np.uint8], NDArray[np.uint8]]:
    """(h m, w m, 3) sRGB twice: the picture itself, and what the eye resolves of it."""
    linear = np.where(picture.cover[..., None] >= 0.5, picture.rgb, np.float32(1))
    return linear2bytes(linear), _seen(linear, view, picture.per_cell)


def _seen(linear: NDArray[np.float32], view: View, per_cell: int) -> NDArray[np.uint8]:
    """What the eye resolves, back as a picture."""
    seen = seen_opponent(linear, view, per_cell) @ np.linalg.inv(RGB2OPPONENT).T
    return linear2bytes(np.clip(seen, 0, 1))


def near_picture(plate: Plate, pixels: int) -> NDArray[np.uint8]:
    """(h p, w p, 3) sRGB: the pressed plate at so many pixels a bead."""
    stamps = pressed(plate.palette, pixels, _THICKNESS_MM, ground_for(plate))
    return stamp_pressed(plate.cells, stamps)


def scale(proof: Proof, long_side: int) -> float:
    """Pixels a mm at which the largest plate's long side has so many pixels."""
    return long_side / max(max(variant.plate.size_mm) for variant in proof.variants)


def pixel_size(variant: Variant, per_mm: float) -> tuple[int, int]:
    """Width and height in pixels of a variant at a scale."""
    wide, high = variant.plate.size_mm
    return max(1, round(wide * per_mm)), max(1, round(high * per_mm))


def fitted(picture: NDArray[np.uint8], size: tuple[int, int]) -> Image.Image:
    """A picture brought to a size in pixels: whole pixels stay sharp when it is enlarged."""
    from PIL import Image

    image = Image.fromarray(picture)
    shrinks = size[0] < image.width
    return image.resize(size, Image.Resampling.BOX if shrinks else Image.Resampling.NEAREST)
