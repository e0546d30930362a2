"""Small pictures of plates on sheets."""

from __future__ import annotations

from typing import Any

from img2plate.base.arrays import Cells
from img2plate.plate.plate import Plate


def fit_into(size: tuple[float, float], width: float, height: float) -> tuple[float, float]:
    """Largest size of the aspect in a box of mm."""
    scale = min(width / size[0], height / size[1])
    return size[0] * scale, size[1] * scale


def thumbnail(cells: Cells, plate: Plate, *, faint: bool = False, mirrored: bool = False) -> Any:
    """Picture of cells (h, w) of a plate on white, or half-way to white, behind writing."""
    import numpy as np
    from PIL import Image

    colours = np.vstack([plate.palette.srgb, np.full((1, 3), 255, np.uint8)])
    if faint:
        colours = (255 - (255 - colours.astype(np.uint16)) * 2 // 5).astype(np.uint8)
    image = Image.fromarray(colours[cells[:, ::-1] if mirrored else cells])
    # Viewers smooth small pictures; repeated pixels stay squares.
    times = max(1, 600 // max(cells.shape))
    return image.resize((image.width * times, image.height * times), Image.Resampling.NEAREST)
