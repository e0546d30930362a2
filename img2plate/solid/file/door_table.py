"""One [[door]] of a figure's file: a door in a wall, on a rod."""

from __future__ import annotations

from collections.abc import Collection, Sequence

from img2plate.solid.file.face_cells import face_cells
from img2plate.solid.file.reader import Reader
from img2plate.solid.file.toml_table import Table
from img2plate.solid.spec import MOST, DoorSpec, PartSpec

WALLS = ("front", "back", "left", "right")


def read_door(
    reader: Reader, table: Table, parts: Sequence[PartSpec], taken: Collection[str]
) -> DoorSpec:
    """Read a door; its picture is of its size. Raises FigureError with the key."""
    name = reader.name(table, "door")
    if name in taken:
        raise table.error("name", f"{name!r} is taken by another part, join, fin or door")
    on = table.text("on")
    host, _, face = on.rpartition(".")
    if host not in {part.name for part in parts} or face not in WALLS:
        raise table.error("on", f'{on!r} is not a wall of a part, as "body.front"')
    size = table.wholes("size", 2, 1, MOST)
    if size is None:
        raise table.error("size", "is missing: beads across and down, as [8, 12]")
    if not table.has("look"):
        raise table.error("look", "is missing: a colour's code, a picture, or a table as for faces")
    cells = face_cells(reader, table, "look", (size[0], size[1]))
    if (cells < 0).any():
        raise table.error("look", "has empty cells; give a `ground` for them")
    at = table.wholes("at", 2, 1, MOST)
    if at is None:
        raise table.error("at", "is missing: column and row on the wall, from 1, of its first bead")
    hinge, rod = table.choice("hinge", ("left", "right"), "left"), table.number("rod", 3.0, 0.5, 50)
    hole = reader.model.opening_mm(1, reader.thickness)
    if rod > hole:
        reason = f"{rod:g} mm does not go through a hole of one bead, which is {hole:.1f} mm wide"
        raise table.error("rod", reason)
    door = DoorSpec(name, (host, face), cells, (at[0] - 1, at[1] - 1), hinge, rod, table.line())
    table.done()
    return door
