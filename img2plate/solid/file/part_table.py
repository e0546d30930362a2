"""Tables `[[part]]` of a figure's description, and those of what is in a part."""

from __future__ import annotations

from img2plate.base.errors import OptionError
from img2plate.solid.faces import FACES, NORMAL
from img2plate.solid.file.face_cells import all_faces
from img2plate.solid.file.placing import inside_of, place_of, plug_of
from img2plate.solid.file.reader import Reader
from img2plate.solid.file.toml_table import Table
from img2plate.solid.fit.coins import find_coin
from img2plate.solid.fit.opening import size_opening
from img2plate.solid.spec import (
    COLOUR_ORDER,
    LEAST,
    LIDS,
    MOST,
    DividerSpec,
    OpeningSpec,
    PartSpec,
    ShelfSpec,
)


def read_part(reader: Reader, table: Table, before: list[PartSpec]) -> PartSpec:
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
