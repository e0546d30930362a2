"""One [[fin]] of a figure's file: a flat plate that stands out of a face."""

from __future__ import annotations

from collections.abc import Collection, Sequence

import numpy as np

from img2plate.base.arrays import Cells
from img2plate.base.errors import Img2PlateError, without_marks
from img2plate.image.read import read_picture
from img2plate.solid.faces import FACES
from img2plate.solid.file.face_picture import PictureWish, face_picture
from img2plate.solid.file.reader import Reader
from img2plate.solid.file.toml_table import Table
from img2plate.solid.spec import MOST, FinSpec, PartSpec


def read_fin(
    reader: Reader, table: Table, parts: Sequence[PartSpec], fins: Sequence[FinSpec],
    taken: Collection[str],
) -> FinSpec:  # fmt: skip
    """Read a fin; its picture has a pixel for each bead.

    fins: those before it, across one of which it may stand. Raises FigureError with the key.
    """
    name = reader.name(table)
    if name in taken:
        raise table.error("name", f"{name!r} is taken by another part, join or fin")
    other = _across(table, fins)
    cells = other.cells if other and not table.has("picture") else _outline(reader, table)
    if other is not None:
        for key in ("on", "at", "upright"):
            if table.has(key):
                reason = "says where a fin stands that is not `across` another, in its middle"
                raise table.error(key, reason)
        host, at, upright = other.host, _middle_of(other, cells), not other.upright
    else:
        host, at, upright = _host(table, parts), _at(table), table.flag("upright")
    is_collared = isinstance(table.values().get("collar"), str)
    colour = reader.colour(table, "collar") if is_collared else None
    fin = FinSpec(
        name, host, cells, at, upright, table.whole("depth", 1, 1, MOST), table.flag("leans"),
        table.whole("tabs", 1, 1, 10), is_collared or table.flag("collar"), colour, table.line(),
    )  # fmt: skip
    table.done()
    return fin


def _across(table: Table, fins: Sequence[FinSpec]) -> FinSpec | None:
    """The fin before it that one stands across; None for one that says where it stands."""
    name = table.text("across", "")
    found = next((fin for fin in fins if fin.name == name), None)
    if name and found is None:
        raise table.error("across", f"no fin {name!r} stands above this one")
    return found


def _host(table: Table, parts: Sequence[PartSpec]) -> tuple[str, str]:
    """Part and face that it stands on."""
    on = table.text("on")
    host, _, face = on.rpartition(".")
    if host not in {part.name for part in parts} or face not in FACES:
        raise table.error("on", f'{on!r} is not a face of a part, as "body.top"')
    return host, face


def _at(table: Table) -> tuple[int, int]:
    """Column and row on the face of its first bead, from 0."""
    at = table.wholes("at", 2, 1, MOST)
    if at is None:
        raise table.error("at", "is missing: column and row on the face, from 1, of its first bead")
    return at[0] - 1, at[1] - 1


def _middle_of(other: FinSpec, cells: Cells) -> tuple[int, int]:
    """Where a fin begins that stands across the middle of another."""
    middles = []
    for lowest in (other.cells[-1], cells[-1]):
        run = np.flatnonzero(lowest >= 0)
        middles.append(int(run[len(run) // 2]) if len(run) else 0)
    column, row = other.at
    if other.upright:
        return column - middles[1], row + middles[0]
    return column + middles[0], row - middles[1]


def _outline(reader: Reader, table: Table) -> Cells:
    """(h, w) beads of its picture, without empty columns and rows round them."""
    picture = table.text("picture")
    try:
        path = reader.beside(picture)
        size = read_picture(path).size
    except Img2PlateError as error:
        raise table.error("picture", without_marks(str(error))) from error
    if max(size) > MOST:
        raise table.error("picture", f"{picture} is {size[0]} x {size[1]}: a pixel is a bead here,"
                          f" and {MOST} are the most")  # fmt: skip
    cells = face_picture(reader, table, "picture", path, size, PictureWish())
    rows, columns = (cells >= 0).nonzero()
    return cells[rows.min() : rows.max() + 1, columns.min() : columns.max() + 1]
