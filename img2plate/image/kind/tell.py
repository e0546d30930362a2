"""Tell the kind of a picture, and find the pixels of a sprite on the way: the front door.

What a person says goes before what is seen. Then a grid that is beyond doubt makes an enlarged
sprite; else a small picture is taken pixel for bead; the rest are drawings and photos.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from img2plate.base.arrays import Pixels
from img2plate.base.words import many
from img2plate.image.counts import MOST_SIDE, colour_count
from img2plate.image.jpeg.source import JpegSource
from img2plate.image.kind.kind import Kind, KindTold
from img2plate.image.kind.photo_or_drawing import SURE, SURE_AFAR, is_sure, photo_score, why
from img2plate.image.kind.traits import Traits, traits
from img2plate.image.native.native_grid import (
    MOST_NATIVE_SIDE,
    NO_GRID,
    SURE_GRID,
    NativeGrid,
    already_native,
)
from img2plate.image.native.parts import WINDOW, busiest, is_large
from img2plate.image.native.recover import find_native_grid

MOST_SURE_CELLS = 128
"""Columns or rows of an enlarged sprite; a doubled photo has more."""


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
    if wish.cells == (pixels.shape[1], pixels.shape[0]):
        return _sprite(already_native(pixels), "by the grid you gave")
    if wish.cells is not None or wish.cell_px is not None:
        native = find_native_grid(pixels, cells=wish.cells, cell_px=wish.cell_px, source=source)
        return _sprite(native, "by the grid you gave")
    if wish.source in ("drawing", "photo"):
        kind = Kind.DRAWING if wish.source == "drawing" else Kind.PHOTO
        return Taken(KindTold(kind, "as you said"), NO_GRID)
    if wish.source == "auto" and is_large(pixels) and (seen := _plain_photo(pixels)):
        return Taken(KindTold(Kind.PHOTO, why(seen, photo=True)), NO_GRID)
    native = find_native_grid(pixels, source=source)
    if wish.source == "sprite":
        kept = native if native.cells is not None else _as_a_sprite(pixels, native, source)
        return _sprite(kept, "as you said")
    if native.cells is None:
        return _photo_or_drawing(pixels, native)
    if native.is_smooth and max(native.cells) > MOST_SIDE:
        return _photo_or_drawing(pixels, replace(NO_GRID, doubtful=native.cells))
    return _sprite(native)


def _plain_photo(pixels: Pixels) -> Traits | None:
    """The traits of a large picture that is a photo from afar and from near: no need of a search.

    From afar the cells of a sprite may be as small as a photo's pixels; from near they are flat.
    """
    left, top = busiest(pixels)
    near = traits(pixels[top : top + WINDOW, left : left + WINDOW])
    if photo_score(near) < SURE:
        return None
    seen = traits(pixels)
    return seen if photo_score(seen) >= SURE_AFAR else None


def _as_a_sprite(pixels: Pixels, native: NativeGrid, source: JpegSource | None) -> NativeGrid:
    """The grid of what a person calls a sprite: one that was doubtful, or each pixel a cell."""
    if native.doubtful is not None:
        return find_native_grid(pixels, cells=native.doubtful, source=source)
    return already_native(pixels)


def _photo_or_drawing(pixels: Pixels, native: NativeGrid) -> Taken:
    """What has no pixels of its own."""
    seen = traits(pixels)
    score = photo_score(seen)
    kind, other = (Kind.PHOTO, Kind.DRAWING) if score > 0 else (Kind.DRAWING, Kind.PHOTO)
    reason = why(seen, photo=kind is Kind.PHOTO)
    if native.doubtful is not None:
        columns, rows = native.doubtful
        reason += f", and a grid of {columns} x {rows} cells is doubtful"
        return Taken(KindTold(kind, reason, False, Kind.ENLARGED, "`source` sprite"), NO_GRID)
    return Taken(KindTold(kind, reason, is_sure(seen), other, f"`source` {other.source}"), NO_GRID)


def taken_as_sprite(native: NativeGrid, why: str) -> Taken:
    """A sprite whose grid was found elsewhere, and how."""
    return _sprite(native, why)


def _sprite(native: NativeGrid, why: str = "") -> Taken:
    """A sprite with its grid; `why` when a person said so."""
    assert native.pixels is not None
    height, width = native.pixels.shape[:2]
    said = f"{width} x {height} pixels, {many(colour_count(native.pixels), 'colour')}"
    drawing = f"`source` {Kind.DRAWING.source}"
    if native.cell_px != (1, 1):
        sure = native.confidence >= SURE_GRID and max(width, height) <= MOST_SURE_CELLS
        reason = ", ".join(filter(None, (said, why))) + f"; native grid: {native}"
        return Taken(KindTold(Kind.ENLARGED, reason, sure, Kind.DRAWING, drawing), native)
    if max(width, height) > MOST_NATIVE_SIDE:
        reason = f"{said}, {why or 'hard edges, detail of single pixels'}"
        return Taken(KindTold(Kind.OWN_SIZE, reason, bool(why), Kind.DRAWING, drawing), native)
    reason = f"{said}, {why or 'small enough for a bead a pixel'}"
    if native.doubtful is None:
        return Taken(KindTold(Kind.OWN_SIZE, reason), native)
    cells = f"`cells` {native.doubtful[0]}x{native.doubtful[1]}"
    return Taken(KindTold(Kind.OWN_SIZE, reason, False, Kind.ENLARGED, cells), native)
