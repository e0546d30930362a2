"""Tables `[[join]]` of a figure's description."""

from __future__ import annotations

from img2plate.solid.box.joins import KINDS
from img2plate.solid.faces import FACES
from img2plate.solid.file.reader import Reader
from img2plate.solid.file.toml_table import Table
from img2plate.solid.fit.opening import size_opening
from img2plate.solid.spec import MOST, JoinSpec, PartSpec


def read_join(
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
