"""Open a picture file: read it, cut out the part that is wanted, and tell what kind it is."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import NamedTuple

from img2plate.base.arrays import Pixels
from img2plate.base.errors import OptionError
from img2plate.image.jpeg.source import JpegSource
from img2plate.image.kind.tell import KindWish, Taken, taken_as_sprite, tell
from img2plate.image.prepare import check_options
from img2plate.image.read import Picture, read_picture
from img2plate.image.screen.draw import draw_parts
from img2plate.image.screen.propose import Piece, hint, propose
from img2plate.image.sizing import CropBox
from img2plate.image.source_options import SOURCES, SourceOptions


class Opened(NamedTuple):
    """A picture that was looked at, before anything is done to it."""

    picture: Picture
    pixels: Pixels
    """(h, w, 4) uint8: cropped, and nothing else."""
    taken: Taken
    crop: CropBox | None = None
    """What `pixels` are of the picture; None for all of it."""
    notes: tuple[str, ...] = ()
    """On the part that was taken, or might be."""
    part_check: Pixels | None = None
    """(h, w, 4) uint8: a picture to check a part by that was found."""


def open_source(path: Path, options: SourceOptions) -> Opened:
    """Read a picture, crop it, and look at it. Raises PictureError or OptionError."""
    if options.source not in SOURCES:
        raise OptionError(f"is none of {', '.join(SOURCES)}", field="source", value=options.source)
    check_options(options.background, options.subject)
    picture = read_picture(path, max_megapixels=options.max_megapixels, frame=options.frame_number)
    return open_picture(picture, options)


def open_picture(picture: Picture, options: SourceOptions) -> Opened:
    """Crop a picture that was read, and look at it. Raises OptionError."""
    if options.crop == "auto":
        return _open_part(picture, options)
    if options.crop:
        return _open_cropped(picture, options, options.crop)
    opened = Opened(picture, picture.pixels, look_at(picture.pixels, options, picture.source))
    if options.source == "auto" and opened.taken.native.cells is None:
        return opened._replace(notes=hint(picture.pixels, lossy=picture.is_lossy))
    return opened


def _open_cropped(picture: Picture, options: SourceOptions, crop: CropBox) -> Opened:
    """Look at a part."""
    crop.check(picture.size)
    x, y, width, height = crop
    pixels = picture.pixels[y : y + height, x : x + width]
    source = picture.source and picture.source.cropped(x, y, width, height)
    return Opened(picture, pixels, look_at(pixels, options, source), crop)


def _open_part(picture: Picture, options: SourceOptions) -> Opened:
    """Look at the part with a grid. Raises OptionError when there is none."""
    found = propose(picture.pixels, picture.source, lossy=picture.is_lossy)
    if not found.pieces:
        taken = look_at(picture.pixels, options, picture.source)
        return Opened(picture, picture.pixels, taken, notes=found.notes)
    piece = found.pieces[0]
    opened = _open_piece(picture, options, piece)
    return opened._replace(notes=found.notes, part_check=draw_parts(picture.pixels, found.pieces))


def _open_piece(picture: Picture, options: SourceOptions, piece: Piece) -> Opened:
    """Take a part on its own grid, unless a person knows better."""
    if options.cells or options.cell_px or options.source in ("drawing", "photo"):
        return _open_cropped(picture, options, piece.crop)
    if piece.native is None:
        return _open_cropped(picture, replace(options, cells=piece.cells), piece.crop)
    x, y, width, height = piece.crop
    taken = taken_as_sprite(piece.native, "on a part of the picture")
    return Opened(picture, picture.pixels[y : y + height, x : x + width], taken, piece.crop)


def look_at(pixels: Pixels, options: SourceOptions, source: JpegSource | None = None) -> Taken:
    """Tell a picture's kind and find its native grid, as far as the options leave it open.

    `source`: the JPEG file that the picture is.

    Raises OptionError when they contradict each other.
    """
    known = (options.cells is not None) + (options.cell_px is not None)
    if known > 1:
        raise OptionError("give only one of `cells` and `cell_px`")
    if known and options.source in ("drawing", "photo"):
        raise OptionError(
            "`cells` and `cell_px` are for sprites",
            field="source",
            remedy=f"leave {options.source} out",
        )
    both = None if options.cell_px is None else (options.cell_px, options.cell_px)
    return tell(pixels, KindWish(options.source, options.cells, both), source)
