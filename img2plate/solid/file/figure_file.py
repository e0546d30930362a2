"""A figure's description in TOML, read into a `FigureSpec`.

    [figure]
    name = "harbour lamp"
    palette = "harbour-48"

    [[part]]
    name = "body"
    size = [14, 14, 20]                      # beads wide, deep, high
    lid = "lift"
    faces.front = "lamp-front.png"           # a picture, or a colour's code
    faces.top = "nav"

    [[part.opening]]
    face = "top"
    object = "2 euro"                        # or mm = [28, 1.8], or beads = [6, 1]

    [[join]]
    between = ["body.top", "roof.bottom"]
    kind = "plus"

Columns, rows and levels are counted as on the sheets: columns and rows from 1 at the upper left of
the face seen from outside, levels from the bottom plate, which is 0.
"""

from __future__ import annotations

from pathlib import Path

from img2plate.base.credit import Credit
from img2plate.base.errors import OptionError
from img2plate.base.near import did_you_mean
from img2plate.solid.file.colourway_table import colourways_in, in_colourway, read_recolouring
from img2plate.solid.file.door_table import read_door
from img2plate.solid.file.fin_table import read_fin
from img2plate.solid.file.join_table import read_join
from img2plate.solid.file.part_table import read_part
from img2plate.solid.file.reader import Beside, Reader
from img2plate.solid.file.roof_table import read_roofs
from img2plate.solid.file.said_once import joins_said, parts_said, with_variables
from img2plate.solid.file.toml_table import Table, read_toml
from img2plate.solid.mirror import mirrored
from img2plate.solid.spec import (
    DoorSpec,
    FigureSpec,
    FinSpec,
    JoinSpec,
    PartSpec,
)  # fmt: skip

CAUTIONS = ("lights", "magnets", "coins")


def read_figure(
    path: Path, *, palette: str = "", colourway: str = "", beside: Beside | None = None
) -> FigureSpec:
    """Read a figure. `palette` takes the place of the file's, `colourway` is one of the file's.

    beside: where files are that it names; else in its folder.
    Raises FigureError with file, key and reason; PaletteError or PictureError for other files.
    """
    file = with_variables(read_toml(path))
    figure = file.table("figure")
    reader = Reader(path, figure, palette, beside)
    name = reader.name(figure, path.stem)
    ways = dict(colourways_in(file))
    parts: list[PartSpec] = []
    mirrors: dict[str, int] = {}
    for copy in parts_said(file):
        part = read_part(reader, copy.table, parts)
        reader.copies.setdefault(copy.of, []).append(part.name)
        parts.append(part if copy.mirror is None else mirrored(part, copy.mirror))
        if copy.mirror is not None:
            mirrors[part.name] = copy.mirror
    if not parts:
        raise file.error("part", "is missing: a figure needs at least one [[part]]")
    joins: list[JoinSpec] = []
    for number, table in enumerate(file.tables("join"), 1):
        for each, usual in joins_said(table, reader.copies, f"join {number}"):
            joins.append(read_join(reader, each, usual, parts, joins))
    fins: list[FinSpec] = []
    for table in file.tables("fin"):
        taken = {p.name for p in parts} | {j.name for j in joins} | {f.name for f in fins}
        fins.append(read_fin(reader, table, parts, fins, taken))
    doors: list[DoorSpec] = []
    for table in file.tables("door"):
        taken = {p.name for p in parts} | {j.name for j in joins} | {f.name for f in fins}
        taken |= {door.name for door in doors}
        doors.append(read_door(reader, table, parts, taken))
    taken = {thing.name for things in (parts, joins, fins, doors) for thing in things}
    roofs = read_roofs(reader, file, parts, mirrors, taken)
    cautions = figure.texts("cautions", CAUTIONS)
    credit = _credit(figure)
    figure.done()
    file.done()
    recoloured = {way: read_recolouring(reader, table) for way, table in ways.items()}
    spec = FigureSpec(
        name, reader.palette, (*parts, *roofs.parts), (*joins, *roofs.joins), tuple(fins),
        reader.model,
        reader.thickness, reader.lid_thickness, cautions, tuple(reader.remarks), recoloured,
        tuple(doors), credit, tuple(roofs.sloping),
    )  # fmt: skip
    if colourway and colourway not in recoloured:
        known = ", ".join(recoloured) or "none"
        raise OptionError(
            f"{path} has no {colourway!r} (it has {known})",
            field="colourway",
            remedy=did_you_mean(colourway, recoloured),
        )
    return in_colourway(spec, colourway) if colourway else spec


def _credit(figure: Table) -> Credit:
    """Whose work it is, as for plates."""
    given = {key: figure.text(key, "") for key in ("title", "author", "licence")}
    for key, text in given.items():
        try:
            Credit(**{key: text}).checked()
        except OptionError as error:
            raise figure.error(key, error.words) from None
    return Credit(**given).checked()
