"""Several plates on one set of boards, as one pack."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from img2plate.base.arrays import Cells
from img2plate.base.errors import OptionError
from img2plate.base.words import column_letters
from img2plate.colour.palette import Bead, Palette
from img2plate.pipeline.options import PackOptions, Progress, quiet
from img2plate.pipeline.pack import Pack, write_plate_pack
from img2plate.pipeline.sheets import read_document
from img2plate.plate.finish.turn import turned
from img2plate.plate.plate import EMPTY, Plate
from img2plate.split.layout import Layout, lay_out

__all__ = ["LaidOut", "LayoutOptions", "Pack", "run"]


@dataclass(frozen=True)
class LayoutOptions:
    """How plates are laid beside each other."""

    boards: tuple[int, int] = (1, 1)
    """Boards across and down that lie together; a plate may lie over their seams."""
    gap: int = 1
    """Empty pegs between plates."""
    no_turn: bool = False
    """Whether plates stay as they are where turning one would save a board."""


@dataclass(frozen=True, eq=False)
class LaidOut:
    """A pack of several plates."""

    pack: Pack
    layout: Layout
    names: tuple[str, ...]

    def as_json(self) -> dict[str, Any]:
        """Plain types: the pack's, and where each plate lies (column and row from 1 on its set)."""
        places = [
            {"name": name, "set": at.place + 1, "column": at.column + 1, "row": at.row + 1,
             "turned": at.is_turned}
            for name, at in zip(self.names, self.layout.placed, strict=True)
        ]  # fmt: skip
        sets = {"sets": self.layout.sets, "least_sets": self.layout.least}
        return {**self.pack.as_json(), "layout": places, **sets}


def run(
    documents: Sequence[Path],
    wishes: LayoutOptions,
    options: PackOptions,
    *,
    palette: str = "",
    name: str = "",
    progress: Progress | None = None,
) -> LaidOut:
    """Lay plates of documents out and write the pack `name`, else `layout`.

    Raises SizeError for a plate that is larger than the boards, OptionError for plates whose beads
    do not go together.
    """
    (progress or quiet)("reading", 0.0)
    if not 0 <= wishes.gap <= 100:
        raise OptionError("is not 0 to 100 pegs", field="gap", value=wishes.gap)
    plates = [_trimmed(read_document(path, options, palette)) for path in documents]
    shared = _shared_palette([plate.palette for plate in plates])
    room = wishes.boards[0] * options.board.across, wishes.boards[1] * options.board.down
    sizes = [plate.size for plate in plates]
    names = tuple(plate.name for plate in plates)
    found = lay_out(sizes, room, wishes.gap, may_turn=not wishes.no_turn, names=names)
    across = _across(found.sets)
    cells = _laid(plates, shared, found, room, across)
    made: dict[str, str | int | float] = {
        "layout": len(plates), "set_wide": room[0], "set_high": room[1],
    }  # fmt: skip
    whole = Plate(cells, shared, name or "layout", made)
    notes = _notes(names, found, wishes, options, across)
    pack = write_plate_pack(whole, replace(options, seams="full"), notes=notes, progress=progress)
    return LaidOut(pack, found, names)


def _trimmed(plate: Plate) -> Plate:
    """Without empty rows and columns at its sides."""
    rows, columns = (np.flatnonzero(plate.filled.any(axis=axis)) for axis in (1, 0))
    inside = plate.cells[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1]
    return replace(plate, cells=inside)


def _shared_palette(palettes: Sequence[Palette]) -> Palette:
    """All beads of several palettes. Raises OptionError where they do not go together."""
    first, beads = palettes[0], dict[str, Bead]()
    for palette in palettes:
        if palette.pitch_mm != first.pitch_mm:
            raise OptionError(
                f"plates of {first.pitch_mm:g} and {palette.pitch_mm:g} mm do not go on one board",
                field="pitch_mm",
            )
        for bead in palette.beads:
            if beads.setdefault(bead.code, bead).srgb != bead.srgb:
                raise OptionError(
                    f"{bead.code} is another colour in {palette.name} than in {first.name}",
                    field="palette",
                    remedy="rebuild the plates in one palette",
                )
    if len(beads) == len(first):
        return first
    return replace(first, name="several palettes", beads=tuple(beads.values()))


def _across(sets: int) -> int:
    """How many sets lie beside each other: about as many as below each other."""
    return int(np.ceil(np.sqrt(sets)))


def _laid(
    plates: Sequence[Plate], palette: Palette, layout: Layout, room: tuple[int, int], across: int
) -> Cells:
    """All beads, on whole sets of boards."""
    down = -(-layout.sets // across)
    cells = np.full((down * room[1], across * room[0]), EMPTY, np.int16)
    for plate, at in zip(plates, layout.placed, strict=True):
        table = [palette.by_code[bead.code] for bead in plate.palette.beads]
        own = np.array([*table, EMPTY], np.int16)[plate.cells]
        own = turned(own, 90) if at.is_turned else own
        row = at.place // across * room[1] + at.row
        column = at.place % across * room[0] + at.column
        cells[row : row + own.shape[0], column : column + own.shape[1]] = own
    return cells


def _notes(
    names: Sequence[str], layout: Layout, wishes: LayoutOptions, options: PackOptions, across: int
) -> tuple[str, ...]:
    """How many boards it takes, and what lies on each set."""
    each = wishes.boards[0] * wishes.boards[1]
    what = "board" if each == 1 else f"set of {each} boards"
    many = f"{layout.sets} {what}" if layout.sets == 1 else f"{layout.sets} {_plural(what)}"
    least = "fewer cannot do" if layout.least == layout.sets else f"at least {layout.least} needed"
    lines = [f"{len(names)} plates on {many} of {options.board} pegs ({least})"]
    for place in range(layout.sets):
        left, top = place % across * wishes.boards[0], place // across * wishes.boards[1]
        on = [
            name + (" (turned)" if at.is_turned else "")
            for name, at in zip(names, layout.placed, strict=True)
            if at.place == place
        ]
        lines.append(f"from board {column_letters(left)}{top + 1}: {', '.join(on)}")
    return tuple(lines)


def _plural(what: str) -> str:
    return what.replace("set of", "sets of", 1) if what.startswith("set") else f"{what}s"
