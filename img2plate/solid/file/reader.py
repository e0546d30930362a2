"""What all tables of a figure's file share: palette, bead, fit, thickness, codes of colours."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import TypeAlias

from img2plate.base.bead import BeadSize
from img2plate.base.errors import Img2PlateError, OptionError
from img2plate.base.near import did_you_mean
from img2plate.colour.palette import Palette
from img2plate.colour.palette_file import bundled_names, find_palette
from img2plate.solid.file.toml_table import Table
from img2plate.solid.fit.measured import calibrate, parse_measured
from img2plate.solid.fit.model import FitModel, check_bead, check_thickness
from img2plate.solid.fit.opening import CLEARANCE_MM

USUAL_PALETTE = "harbour-48"
Beside: TypeAlias = Callable[[str], Path]
"""Where a file is that the description names; may raise Img2PlateError."""


class Reader:
    """What the tables of one file share."""

    def __init__(
        self, path: Path, figure: Table, palette: str, beside: Beside | None = None
    ) -> None:
        folder = path.parent
        self.beside = beside or (lambda name: folder / name)
        self.palette = self._palette(figure, palette)
        self.model = self._model(figure)
        usual = round(0.8 * self.model.bead.height_mm, 2)
        self.thickness = figure.number("thickness", usual, 0.2, 50)
        lid = figure.number("lid_thickness", 0.0, 0.0, 50)
        self.lid_thickness = lid or None
        for key, mm in (("thickness", self.thickness), ("lid_thickness", lid or self.thickness)):
            try:
                check_thickness(self.model, mm)
            except OptionError as error:
                raise figure.error(key, error.words) from None
        self.clearance = figure.number("clearance", CLEARANCE_MM, 0, 20)
        self.finger = 0
        self.finger = self.finger_of(figure)
        self.copies: dict[str, list[str]] = {}
        """Names of the parts that were made of each that is said."""
        self.remarks: list[str] = []
        """What was seen and done while pictures were read."""

    def _palette(self, figure: Table, instead: str) -> Palette:
        """The palette by name, or by a file beside the figure's, with pitch and bead."""
        name, given = figure.text("palette", USUAL_PALETTE), bool(instead)
        if not instead:
            instead = name if name in bundled_names() else str(self.beside(name))
        try:
            palette = find_palette(instead)
        except Img2PlateError as error:
            error.line = 0 if given else figure.line("palette")
            raise
        if figure.has("pitch"):
            palette = palette.with_pitch(figure.number("pitch", None, 0.5, 50))
        bead = figure.numbers("bead", 3)
        if bead is not None:
            palette = replace(palette, bead_size=BeadSize(*bead))
        try:
            check_bead(palette.bead_size, palette.pitch_mm)
        except OptionError as error:
            raise figure.error("pitch" if bead is None else "bead", error.words) from None
        return palette

    def _model(self, figure: Table) -> FitModel:
        """The fit model, through what was measured."""
        model = FitModel(self.palette.bead_size, self.palette.pitch_mm)
        try:
            return calibrate(model, [parse_measured(text) for text in figure.texts("measured")])
        except OptionError as error:
            raise figure.error("measured", error.words) from None

    def name(self, table: Table, default: str | None = None) -> str:
        """A name that can stand in a line of a list."""
        name = table.text("name", default)
        if not name.strip() or not name.isprintable():
            raise table.error("name", f"{name!r} is empty, or has a line break or a sign like it")
        return name

    def finger_of(self, table: Table) -> int:
        """Beads of a finger; 0 for what goes with each edge."""
        finger = table.whole("finger", self.finger, 0, 20)
        if finger == 1:
            raise table.error("finger", "1: a finger needs 2 beads to hold, or 0 to leave it open")
        return finger

    def colour(self, table: Table, key: str, default: int | None = None) -> int | None:
        """Palette index of a colour's code; the default when the key is missing."""
        if not table.has(key):
            table.text(key, "")
            return default
        return self.code(table, key, table.text(key))

    def code(self, table: Table, key: str, code: str) -> int:
        """Palette index of a code."""
        if code in self.palette.by_code:
            return self.palette.by_code[code]
        near = did_you_mean(code, self.palette.by_code)
        unknown = f"palette {self.palette.name} has no colour {code!r}"
        raise table.error(key, f"{unknown}; {near}" if near else unknown)
