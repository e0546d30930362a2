"""One file that holds several sprites, or frames of an animation: a name and a way to read each."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import NamedTuple

from img2plate.base.errors import OptionError
from img2plate.base.words import column_letters
from img2plate.image.apart import Box
from img2plate.image.read import frame_count
from img2plate.image.sheet import Sheet, frames_on_one_grid, read_sheet
from img2plate.image.sizing import SizeWish
from img2plate.image.source_options import SourceOptions
from img2plate.image.target import Target, read_target
from img2plate.pipeline.options import SeveralOptions


class Part(NamedTuple):
    """One sprite or frame of a file."""

    name: str
    """What is put behind the file's name: empty, `-a1` or `-f01`."""
    source: SourceOptions
    sheet: Sheet | None = None
    box: Box | None = None

    def read(self, path: Path, wish: SizeWish | None, options: SourceOptions) -> Target:
        """Read it, in the place of `read_target`."""
        if self.sheet is None or self.box is None:
            return read_target(path, wish, options)
        if wish is not None:
            raise OptionError(
                "gives each sprite one bead a cell", field="apart", remedy="leave its size out"
            )
        return self.sheet.target(self.box)


def parts_of(image: Path, source: SourceOptions, several: SeveralOptions) -> list[Part]:
    """What a file is taken apart into; one part with no name of its own unless more is asked for.

    Raises OptionError for options that make no sense, PictureError for what cannot be read.
    """
    several.check()
    if several.frame == "all":
        return list(_frames(image, source))
    if isinstance(several.frame, int):
        source = replace(source, frame_number=several.frame)
    if not several.apart:
        return [Part("", source)]
    sheet = read_sheet(image, source, several.gap)
    return [Part(f"-{place_name(box)}", source, sheet, box) for box in sheet.apart.boxes]


def place_name(box: Box) -> str:
    """Name a sprite as a board map reads: a letter for the column, a number for the row."""
    return f"{column_letters(box.column).lower()}{box.row + 1}"


def _frames(image: Path, source: SourceOptions) -> Iterator[Part]:
    """All frames, on the grid of the first."""
    count = frame_count(image, max_megapixels=source.max_megapixels)
    if count < 2:
        raise OptionError(f"{image} has one frame only", field="frame", value="all")
    on_grid = frames_on_one_grid(image, source)
    for number in range(1, count + 1):
        yield Part(f"-f{number:0{max(2, len(str(count)))}}", replace(on_grid, frame_number=number))
