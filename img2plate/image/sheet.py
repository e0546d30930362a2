"""A picture of several sprites, or an animation: one target for each of them, all on one grid."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

from img2plate.base.arrays import Pixels
from img2plate.base.errors import PictureError
from img2plate.image.apart import Apart, Box, find_apart
from img2plate.image.background import CLEARING
from img2plate.image.given import Given
from img2plate.image.kind.kind import Kind, KindTold
from img2plate.image.native.native_grid import NativeGrid, already_native, is_worn
from img2plate.image.opened import open_source
from img2plate.image.prepare import prepare_cells
from img2plate.image.source_options import SourceOptions
from img2plate.image.target import Target, sprite_target


@dataclass(frozen=True, eq=False)
class Sheet:
    """A picture of several sprites."""

    name: str
    """File name, for people."""
    pixels: Pixels
    """(h, w, 4) uint8: the picture, cropped."""
    native: NativeGrid
    told: KindTold
    apart: Apart
    notes: tuple[str, ...]

    def target(self, box: Box) -> Target:
        """The target of one sprite: a bead for each of its cells."""
        given = Given(self.pixels, self.native.offset_px, self.native.cell_px)
        found = sprite_target(self.apart.sprite(box), None, self.name, self.told)
        moved = given.moved(box.x, box.y)
        return replace(found, given=moved, notes=(*self.notes, *found.notes))


def read_sheet(path: Path, options: SourceOptions, gap: int | None = None) -> Sheet:
    """Read a picture and find the sprites on it; `gap` as in `find_apart`.

    An even background is cleared also when that was not asked for: it holds the sprites together.
    Raises PictureError when there is none, OptionError for options that contradict each other.
    """
    opened = open_source(path, options)
    picture, pixels, taken = opened.picture, opened.pixels, opened.taken
    native, told = taken.native, taken.told
    if native.pixels is None:
        native = already_native(pixels)
        told = KindTold(Kind.OWN_SIZE, "no grid was found, so each pixel is one cell")
    assert native.pixels is not None
    clear = options.background if options.background in CLEARING else "clear"
    worn = picture.is_lossy or is_worn(pixels, native)
    ready = prepare_cells(native.pixels, clear, worn=worn, trim=False)
    apart = find_apart(ready.pixels, gap)
    if not apart.boxes:
        raise PictureError(f"{path}: no sprites found on it")
    notes = [
        str(told),
        *picture.notes,
        *opened.notes,
        *ready.notes,
        *([ready.cleared] if ready.cleared else []),
    ]
    if apart.letters:
        notes.append(f"{apart.letters} parts left out as lettering; see `gap`")
    return Sheet(picture.name, pixels, native, told, apart, tuple(notes))


def frames_on_one_grid(path: Path, options: SourceOptions) -> SourceOptions:
    """Options that give all frames of an animation the grid of its first, and its part."""
    if options.crop == "auto":
        opened = open_source(path, replace(options, frame_number=1))
        options = replace(options, crop=opened.crop)
    if options.cells or options.cell_px or options.source in ("drawing", "photo"):
        return options
    opened = open_source(path, replace(options, frame_number=1))
    pixels, native, told = opened.pixels, opened.taken.native, opened.taken.told
    if native.cells is None:
        return replace(options, source=told.kind.source)
    width, height = pixels.shape[1], pixels.shape[0]
    whole = all(
        abs(count * pitch - length) < 0.5 and abs(offset) < 0.5
        for count, pitch, offset, length in zip(
            native.cells, native.cell_px, native.offset_px, (width, height), strict=True
        )
    )
    if whole:
        return replace(options, cells=native.cells)
    return replace(options, cell_px=native.cell_px[0])
