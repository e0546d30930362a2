"""What may be said of a picture file, apart from what reads it: that takes long to load."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from img2plate.image.read import MAX_MEGAPIXELS
from img2plate.image.sizing import CropBox

SOURCES = ("auto", "sprite", "drawing", "photo")


@dataclass(frozen=True)
class SourceOptions:
    """How to look at a picture file."""

    source: str = "auto"
    crop: CropBox | Literal["auto"] | None = None
    """None for the whole picture; `auto` for its part with a grid, as on a screenshot."""
    background: str = "keep"
    cells: tuple[int, int] | None = None
    """Width and height of the native grid, when they are known; None to find them."""
    cell_px: float | None = None
    """Pixels a cell, when they are known."""
    max_megapixels: float = MAX_MEGAPIXELS
    subject: CropBox | None = None
    """A box round the subject of a photo, in pixels of the cropped picture."""
    trim: bool = False
    """Whether empty columns and rows at the sides are cut off."""
    frame_number: int | None = None
    """Of an animation, from 1; None for the first."""
