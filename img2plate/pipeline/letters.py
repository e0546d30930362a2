"""Lettering as a plate of its own, or laid on a plate that is there."""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np

from img2plate.base.errors import OptionError
from img2plate.colour.palette import Palette
from img2plate.pipeline.options import DEFAULT_PALETTE, PackOptions, Progress, palette_for, quiet
from img2plate.pipeline.pack import Pack, write_plate_pack
from img2plate.pipeline.sheets import read_document
from img2plate.plate.finish.finish import FinishOptions, finish
from img2plate.plate.lettering.letter import set_letters
from img2plate.plate.plate import EMPTY, Plate

__all__ = ["LettersOptions", "Pack", "run"]


@dataclass(frozen=True)
class LettersOptions:
    """How letters are set, and where they go."""

    height: int = 7
    """Of capitals, in beads."""
    colour: str = ""
    """Code of the letters' beads; empty for the darkest of the palette."""
    ground: str = ""
    """Code of beads round and between the letters; empty for none."""
    margin: int = 2
    """Beads of ground at each side."""
    palette: str = ""
    """Empty for the plate's own, or the usual one."""
    on: Path | None = None
    """A plate document that they are laid on; None for a plate of their own."""
    at: tuple[int, int] | None = None
    """Column and row of their upper left corner, from 1; None for the middle of the plate."""
    finish: FinishOptions = field(default_factory=FinishOptions)

    def check(self) -> None:
        """Raise OptionError for what does not go together."""
        if self.at is not None and self.on is None:
            raise OptionError("is for `on`", field="at", remedy="give both")
        if not 0 <= self.margin <= 200:
            raise OptionError("is not 0 to 200 beads", field="margin", value=self.margin)


def parse_place(text: str) -> tuple[int, int]:
    """Read `COLUMN,ROW`, from 1. Raises OptionError."""
    match = re.fullmatch(r"\s*(\d{1,6})\s*,\s*(\d{1,6})\s*", text)
    if not match or 0 in (column_row := (int(match[1]), int(match[2]))):
        raise OptionError("is not a column and a row from 1, as in 3,12", value=text)
    return column_row


def run(
    text: str,
    wishes: LettersOptions,
    options: PackOptions,
    *,
    name: str = "",
    progress: Progress | None = None,
) -> Pack:
    """Set a text and write its pack: `name`, else the text's letters, or PLATE-letters.

    Raises OptionError for a letter that no face has, and a text that does not fit on its plate.
    """
    (progress or quiet)("setting letters", 0.0)
    wishes.check()
    plate = lettered(text, wishes, options)
    done = finish(replace(plate, name=name or plate.name), wishes.finish)
    return write_plate_pack(done.plate, options, notes=done.notes, progress=progress)


def lettered(text: str, wishes: LettersOptions, options: PackOptions) -> Plate:
    """The plate with the text, and nothing written."""
    beads = set_letters(text, wishes.height)
    if wishes.on is not None:
        plate = read_document(wishes.on, options, wishes.palette)
        return _laid(plate, beads, wishes)
    palette = palette_for(wishes.palette or DEFAULT_PALETTE, options.pitch_mm)
    letters, ground = _colours(palette, wishes)
    cells = np.where(beads, letters, ground).astype(np.int16)
    if wishes.ground:
        cells = np.pad(cells, wishes.margin, constant_values=ground)
    made: dict[str, str | int | float] = {"text": text, "height": wishes.height}
    return Plate(cells, palette, _name(text), made)


def _colours(palette: Palette, wishes: LettersOptions) -> tuple[int, int]:
    """Palette index of letters and ground, -1 for none."""
    darkest = int(np.asarray(palette.lab)[:, 0].argmin())
    letters = palette.index(wishes.colour, "colour") if wishes.colour else darkest
    return letters, palette.index(wishes.ground, "ground") if wishes.ground else EMPTY


def _laid(plate: Plate, beads: np.ndarray[tuple[int, ...], np.dtype[np.bool_]],
          wishes: LettersOptions) -> Plate:  # fmt: skip
    """Letters on a plate, with their ground round them when they have one."""
    letters, ground = _colours(plate.palette, wishes)
    if wishes.ground:
        beads = np.pad(beads, wishes.margin)
    column, row = place_on(plate, beads, wishes.at)
    high, wide = beads.shape
    cells = plate.cells.copy()
    part = cells[row : row + high, column : column + wide]
    part[...] = np.where(beads, letters, ground if wishes.ground else part)
    return replace(plate, cells=cells, name=f"{plate.name}-letters")


def place_on(
    plate: Plate, beads: np.ndarray[tuple[int, ...], np.dtype[np.bool_]], at: tuple[int, int] | None
) -> tuple[int, int]:
    """Column and row, from 0, of letters on a plate: `at` from 1, or the middle.

    Raises OptionError where they do not fit.
    """
    (width, height), (high, wide) = plate.size, beads.shape
    middle = (width - wide) // 2, (height - high) // 2
    column, row = middle if at is None else (at[0] - 1, at[1] - 1)
    if min(column, row) < 0 or column + wide > width or row + high > height:
        raise OptionError(
            f"leaves no room: the letters take {wide} x {high} beads, the plate has"
            f" {width} x {height}",
            field="on" if at is None else "at",
            remedy="choose another place, or a smaller `height`",
        )
    return column, row


def _name(text: str) -> str:
    """A folder's name: the letters and figures of a text."""
    return "-".join(re.findall(r"\w+", text.lower()))[:40] or "letters"
