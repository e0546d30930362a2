"""Tell the kind of a picture, and find the pixels of a sprite on the way: the front door.

What a person says goes before what is seen. Then a grid that is beyond doubt makes an enlarged
sprite; else a small picture is taken pixel for bead; the rest are drawings and photos.
"""

from __future__ import annotations

from dataclasses import dataclass

from img2plate.base.arrays import Pixels
from img2plate.image.counts import MOST_SIDE, colour_count
from img2plate.image.jpeg.source import JpegSource
from img2plate.image.kind.kind import Kind, KindTold
from img2plate.image.native.native_grid import NO_GRID, NativeGrid, already_native
from img2plate.image.native.recover import find_native_grid


@dataclass(frozen=True, eq=False)
class Taken:
    """A picture's kind, and the grid of its pixels when it is a sprite."""

    told: KindTold
    native: NativeGrid
    """Without pixels when it is a drawing or a photo."""


@dataclass(frozen=True)
class KindWish:
    """What a person says of a picture."""

    source: str = "auto"
    """auto, sprite, drawing or photo."""
    cells: tuple[int, int] | None = None
    """Columns and rows of its grid."""
    cell_px: tuple[float, float] | None = None
    """Pixels a cell, across and down."""


def tell(pixels: Pixels, wish: KindWish, source: JpegSource | None = None) -> Taken:
    """Tell what a picture (h, w, 4) is, read from a JPEG `source` if any.

    Raises OptionError for a wished grid that the picture cannot hold.
    """
    if wish.cells is not None or wish.cell_px is not None:
        native = find_native_grid(pixels, cells=wish.cells, cell_px=wish.cell_px, source=source)
        return _sprite(native, "by the grid you gave")
    if wish.source in ("drawing", "photo"):
        kind = Kind.DRAWING if wish.source == "drawing" else Kind.PHOTO
        return Taken(KindTold(kind, "as you said"), NO_GRID)
    native = find_native_grid(pixels, source=source)
    if wish.source == "sprite":
        if native.cells is None:
            native = already_native(pixels)
        return _sprite(native, "as you said")
    if native.cells is None:
        return Taken(KindTold(Kind.PHOTO, "no grid was found"), NO_GRID)
    if native.is_smooth and max(native.cells) > MOST_SIDE:
        reason = f"{native}: too many for a sprite"
        told = KindTold(Kind.PHOTO, reason, False, Kind.ENLARGED, "`source` sprite")
        return Taken(told, NO_GRID)
    return _sprite(native, "each pixel is one cell")


def _sprite(native: NativeGrid, why: str) -> Taken:
    """A sprite with its grid."""
    assert native.pixels is not None
    height, width = native.pixels.shape[:2]
    said = f"{width} x {height} pixels, {colour_count(native.pixels)} colours"
    if native.cell_px == (1, 1):
        return Taken(KindTold(Kind.OWN_SIZE, f"{said}, {why}"), native)
    return Taken(KindTold(Kind.ENLARGED, f"{said}; {native}"), native)
