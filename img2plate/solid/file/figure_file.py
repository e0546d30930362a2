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

from dataclasses import replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from img2plate.base.credit import Credit
from img2plate.base.errors import OptionError
from img2plate.base.near import did_you_mean
from img2plate.plate.plate import EMPTY
from img2plate.solid.box.joins import KINDS
from img2plate.solid.faces import FACES, NORMAL
from img2plate.solid.file.door_table import read_door
from img2plate.solid.file.face_cells import all_faces
from img2plate.solid.file.fin_table import read_fin
from img2plate.solid.file.placing import inside_of, place_of, plug_of
from img2plate.solid.file.reader import Beside, Reader
from img2plate.solid.file.roof_table import read_roofs
from img2plate.solid.file.said_once import joins_said, parts_said, with_variables
from img2plate.solid.file.toml_table import Table, read_toml
from img2plate.solid.fit.coins import find_coin
from img2plate.solid.fit.opening import size_opening
from img2plate.solid.mirror import mirrored
from img2plate.solid.spec import (
    COLOUR_ORDER,
    LEAST,
    LIDS,
    MOST,
    DividerSpec,
    DoorSpec,
    FigureSpec,
    FinSpec,
    JoinSpec,
    OpeningSpec,
    PartSpec,
    ShelfSpec,
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
    ways = dict(_colourways(file))
    parts: list[PartSpec] = []
    mirrors: dict[str, int] = {}
    for copy in parts_said(file):
        part = _part(reader, copy.table, parts)
        reader.copies.setdefault(copy.of, []).append(part.name)
        parts.append(part if copy.mirror is None else mirrored(part, copy.mirror))
        if copy.mirror is not None:
            mirrors[part.name] = copy.mirror
    if not parts:
        raise file.error("part", "is missing: a figure needs at least one [[part]]")
    joins: list[JoinSpec] = []
    for number, table in enumerate(file.tables("join"), 1):
        for each, usual in joins_said(table, reader.copies, f"join {number}"):
            joins.append(_join(reader, each, usual, parts, joins))
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
    recoloured = {way: _recolouring(reader, table) for way, table in ways.items()}
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


def _colourways(file: Table) -> list[tuple[str, Table]]:
    """The tables `[colourway.NAME]`."""
    tables = file.table("colourway")
    return [(name, tables.table(name)) for name in tables.keys()]  # noqa: SIM118


def _recolouring(reader: Reader, table: Table) -> NDArray[np.int16]:
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


def _part(reader: Reader, table: Table, before: list[PartSpec]) -> PartSpec:
    """One [[part]]."""
    name = reader.name(table)
    if "." in name:
        raise table.error("name", f"{name!r} has a dot, which stands between part and face")
    if name in {part.name for part in before}:
        raise table.error("name", f"{name!r} is taken by another part")
    size = table.wholes("size", 3, LEAST, MOST)
    if size is None:
        raise table.error("size", "is missing: beads wide, deep and high, as [14, 14, 20]")
    whole = (size[0], size[1], size[2])
    faces = table.table("faces")
    cells = all_faces(reader, faces, whole)
    plugged = plug_of(table, whole, before)
    inside = inside_of(table, whole, before)
    plug, place = plugged or (None, inside[1] if inside else place_of(table, whole, before))
    part = PartSpec(
        name, whole, place, cells,
        frozenset(table.texts("open", FACES)), table.choice("lid", LIDS, ""),
        table.choice("lid_on", FACES, "top"),
        reader.colour(table, "colour"), reader.finger_of(table),
        _order(table), table.flag("loose"), inside[0] if inside else "", plug,
        tuple(_opening(reader, t) for t in table.tables("opening")),
        tuple(_shelf(reader, t) for t in table.tables("shelf")),
        tuple(_divider(reader, t) for t in table.tables("divider")), table.line(),
        lid_to=table.choice("lid_to", FACES, ""),
    )  # fmt: skip
    table.done()
    if len(part.faces) < 2:
        raise table.error("open", "leaves fewer than two plates")
    if part.lid and part.lid_on in part.open:
        reason = f"the {part.lid_on} is open; take it out of `open`, or leave the lid out"
        raise table.error("lid", reason)
    if part.lid_on != "top" and not part.lid:
        raise table.error("lid_on", 'is for a lid: say `lid = "lift"` or `lid = "slide"` too')
    if part.lid_to and (part.lid != "slide" or NORMAL[part.lid_to] == NORMAL[part.lid_on]):
        reason = "is the face that a lid which slides comes out to, beside the one that it is on"
        raise table.error("lid_to", reason)
    return part


def _order(table: Table) -> tuple[str, ...]:
    """Which face's colour an edge bead takes; faces that are not named come last."""
    first = table.texts("colour_order", FACES)
    return (*first, *(face for face in COLOUR_ORDER if face not in first))


def _opening(reader: Reader, table: Table) -> OpeningSpec:
    """One [[part.opening]]: by beads, by mm, or by object."""
    name, face = reader.name(table, "opening"), table.choice("face", FACES, None)
    beads, mm = table.wholes("beads", 2, 1, MOST), table.numbers("mm", 2)
    thing, upright = table.text("object", ""), table.flag("upright")
    if sum((beads is not None, mm is not None, bool(thing))) != 1:
        raise table.error("beads", 'give one of beads = [6, 1], mm = [28, 1.8], object = "2 euro"')
    at = table.wholes("at", 2, 1, MOST)
    table.done()
    if beads is None:
        try:
            if thing:
                coin = find_coin(thing)
                mm = (coin.diameter_mm, coin.thickness_mm)
            assert mm is not None
            beads = size_opening(
                reader.model, mm[0], mm[1], reader.thickness, clearance_mm=reader.clearance
            ).cells
        except OptionError as error:
            raise table.error("object" if thing else "mm", error.words) from None
        beads = beads[::-1] if upright else beads
    place = (at[0] - 1, at[1] - 1) if at else None
    return OpeningSpec(face, (beads[0], beads[1]), place, name, table.line())


def _shelf(reader: Reader, table: Table) -> ShelfSpec:
    """One [[part.shelf]]."""
    colour = reader.colour(table, "colour")
    if colour is None:
        raise table.error("colour", "is missing: the code of the shelf's beads")
    shelf = ShelfSpec(table.whole("level", None, 1, MOST), colour, table.line())
    table.done()
    return shelf


def _divider(reader: Reader, table: Table) -> DividerSpec:
    """One [[part.divider]]: so many beads from the left, or from the front."""
    keys = ("from_left", "from_front")
    given = [key for key in keys if table.has(key)]
    if len(given) != 1:
        raise table.error("from_left", "give one of from_left = 5 (it runs from front to back) and"
                          " from_front = 5 (it runs from left to right)")  # fmt: skip
    levels = [table.whole(key, 1, 1, MOST) for key in keys]
    axis = keys.index(given[0])
    colour = reader.colour(table, "colour")
    if colour is None:
        raise table.error("colour", "is missing: the code of the divider's beads")
    high = table.whole("high", 0, 0, MOST)
    divider = DividerSpec(axis, levels[axis] - 1, colour, high, table.line())
    table.done()
    return divider


def _join(
    reader: Reader, table: Table, usual: str, parts: list[PartSpec], before: list[JoinSpec]
) -> JoinSpec:
    """One [[join]]."""
    faces = [tuple(text.split(".")) for text in table.texts("between")]
    names = {part.name for part in parts}
    if len(faces) != 2 or any(len(f) != 2 or f[0] not in names or f[1] not in FACES for f in faces):
        raise table.error("between", 'is not two faces of parts, as ["body.top", "roof.bottom"]')
    kind = table.choice("kind", KINDS, "strip")
    beads = _join_beads(reader, table, kind)
    at = table.wholes("at", 2, 1, MOST)
    first, second = ((f[0], f[1]) for f in faces)
    place = (at[0] - 1, at[1] - 1) if at else None
    depth, colour = table.whole("depth", 3, 2, MOST), reader.colour(table, "colour", 0) or 0
    name, upright = reader.name(table, usual), table.flag("upright")
    if name in names | {join.name for join in before}:
        hint = "" if table.has_had("name") else "; give this one a name of its own"
        raise table.error("name", f"{name!r} is taken by another part or join{hint}")
    ears = table.flag("ears")
    if ears and kind == "rod":
        raise table.error("ears", "are for strips; a rod has none")
    line = table.line()
    join = JoinSpec(name, first, second, kind, beads, place, upright, depth, colour, ears, line)
    table.done()
    return join


def _join_beads(reader: Reader, table: Table, kind: str) -> int:
    """Width of strips in beads, or the cells of a rod's hole by its diameter in mm."""
    if kind != "rod":
        beads = table.whole("beads", 5 if kind == "plus" else 4, 2, MOST)
        if kind == "plus" and (beads % 2 == 0 or beads < 3):
            raise table.error("beads", f"{beads}: a plus needs a middle, so 3, 5, 7, ...")
        return beads
    mm = table.number("diameter", None, 0.1, 500)
    return size_opening(
        reader.model, mm, mm, reader.thickness, clearance_mm=reader.clearance
    ).cells[0]
