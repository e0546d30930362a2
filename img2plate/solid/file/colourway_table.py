"""Tables `[colourway.NAME]` of a figure's description: read, applied, and written."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from img2plate.colour.palette import Palette
from img2plate.plate.plate import EMPTY
from img2plate.solid.file.reader import Reader
from img2plate.solid.file.toml_table import Table
from img2plate.solid.spec import FigureSpec


def colourways_in(file: Table) -> list[tuple[str, Table]]:
    """The tables `[colourway.NAME]`."""
    tables = file.table("colourway")
    return [(name, tables.table(name)) for name in tables.keys()]  # noqa: SIM118


def read_recolouring(reader: Reader, table: Table) -> NDArray[np.int16]:
    """(n + 1,) int16 new index of each palette colour; the last is -1, an empty cell."""
    change = np.append(np.arange(len(reader.palette)), EMPTY).astype(np.int16)
    for code in table.keys():  # noqa: SIM118
        change[reader.code(table, code, code)] = reader.code(table, code, table.text(code))
    return change


def in_colourway(spec: FigureSpec, way: str) -> FigureSpec:
    """The same figure in one of its colourways."""
    change = spec.colourways[way]
    parts = tuple(
        replace(
            part,
            cells={face: change[cells] for face, cells in part.cells.items()},
            colour=None if part.colour is None else int(change[part.colour]),
            shelves=tuple(replace(s, colour=int(change[s.colour])) for s in part.shelves),
            dividers=tuple(replace(d, colour=int(change[d.colour])) for d in part.dividers),
        )
        for part in spec.parts
    )
    joins = tuple(replace(join, colour=int(change[join.colour])) for join in spec.joins)
    fins = tuple(
        replace(
            fin,
            cells=change[fin.cells],
            collar_colour=None if fin.collar_colour is None else int(change[fin.collar_colour]),
        )
        for fin in spec.fins
    )
    doors = tuple(replace(door, cells=change[door.cells]) for door in spec.doors)
    roofs = tuple(
        replace(
            roof,
            cells=change[roof.cells],
            gable=None if roof.gable is None else change[roof.gable],
        )
        for roof in spec.roofs
    )
    title = spec.credit.title and f"{spec.credit.title}, {way}"
    return replace(
        spec, name=f"{spec.name} {way}", parts=parts, joins=joins, fins=fins, doors=doors,
        roofs=roofs, credit=replace(spec.credit, title=title),
    )  # fmt: skip


def colourway_table(palette: Palette, name: str, changed: Mapping[int, int]) -> str:
    """The lines of `[colourway.NAME]`, with an empty line before them.

    changed: palette index before and after; what stays as it is gets no line.
    """
    codes = [bead.code for bead in palette.beads]
    lines = [
        f"{_key(codes[old])} = {_quoted(codes[new])}" for old, new in changed.items() if old != new
    ]
    return "\n".join(["", f"[colourway.{_key(name)}]", *(lines or ["# as it is"]), ""])


def _key(text: str) -> str:
    """A name as a key: in quotes where it has to be."""
    return text if re.fullmatch(r"[A-Za-z0-9_-]+", text) else _quoted(text)


def _quoted(text: str) -> str:
    """A basic string, whose escapes are those of JSON but for one sign."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")
