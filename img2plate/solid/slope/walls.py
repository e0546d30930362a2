"""A part under a roof: walls with tabs, and walls that end in steps under it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from img2plate.base.arrays import Cells
from img2plate.base.errors import FigureError
from img2plate.solid.box.insides import build_part
from img2plate.solid.box.paint import paint
from img2plate.solid.box.part import Part, Tips
from img2plate.solid.faces import FAR, NORMAL, OPPOSITE, face_places
from img2plate.solid.lines import on_line
from img2plate.solid.slope.lie import LEAST_ALONG, Lie
from img2plate.solid.spec import FigureSpec, OpeningSpec, PartSpec

SIDES = ("front", "back", "left", "right")


def build_under(part: PartSpec, lie: Lie) -> Part:
    """Build a part whose walls end as a roof wants them; plates have no empty rows above.

    Raises FigureError with what cannot be built, and where.
    """
    with on_line(lie.spec.line):
        _check(part, lie)
        raised, tips = _raised(replace(part, open=part.open | {"top"}), lie)
    with on_line(part.line):
        built = build_part(raised, tips)
    for number, panel in enumerate(built.panels):
        filled = built.kept(number).any(axis=1)
        if panel.name in SIDES and filled.any():
            x, y, z = (axis[filled.argmax() :] for axis in panel.places)
            built.panels[number] = replace(panel, places=(x, y, z))
    return built


def rows_above(lie: Lie, face: str) -> int:
    """Rows that a wall's plate has above the part's own height."""
    return int(lie.heights(face).max()) - lie.size[2]


def _check(part: PartSpec, lie: Lie) -> None:
    """Refuse parts that cannot carry the roof."""
    name = lie.spec.name
    gone = [face for face in lie.walls if face not in part.faces]
    if gone:
        raise FigureError(
            f"{name}: {part.name} is open on its {gone[0]}, where the roof needs a wall; only the"
            f" {' and the '.join(f for f in SIDES if NORMAL[f] != lie.across)} may be open"
        )
    if part.plug or part.inside:
        how = "plugged in" if part.plug else f"inside {part.inside}"
        raise FigureError(f"{name}: {part.name} is {how}, so it can have no roof")
    if part.lid and (part.lid == "slide" or part.lid_on != "bottom"):
        raise FigureError(f"{name}: {part.name} has a lid; its roof comes off, so leave that out")
    if min(part.size) < 4 or part.size[lie.along] < LEAST_ALONG:
        raise FigureError(
            f"{name}: {part.name} is too small for a roof: from 4 beads a side, and"
            f" {LEAST_ALONG} along the walls that it lies on"
        )
    high = [shelf for shelf in part.shelves if shelf.level > part.size[2] - 3]
    if high:
        raise FigureError(f"{name}: a shelf of {part.name} lies at the top of its walls; it needs 2"
                          " layers above it")  # fmt: skip


def _raised(part: PartSpec, lie: Lie) -> tuple[PartSpec, Tips]:
    """The part as a taller box, whose walls are empty where they end lower."""
    painted = paint(part, part.faces)
    wide, deep, high = part.size
    size = (wide, deep, max(int(lie.heights(face).max()) for face in SIDES))
    cells = {
        face: _extended(part, lie, face, painted[face_places(face, part.size)], size[2])
        for face in SIDES if face in part.faces
    }  # fmt: skip
    if "bottom" in part.cells:
        cells["bottom"] = part.cells["bottom"]
    elif "bottom" in part.faces:
        cells["bottom"] = painted[face_places("bottom", part.size)]
    openings = tuple(_lowered(part, opening, size[2]) for opening in part.openings)
    walls_high = high + lie.rise
    dividers = tuple(replace(d, high=min(d.high or high - 2, high - 2)) for d in part.dividers)
    raised = replace(part, size=size, cells=cells, openings=openings, dividers=dividers)
    # At the walls' upper corners the steps would be in the roof's way: their beads are the walls'.
    ends = {lie.spec.low: high, OPPOSITE[lie.spec.low]: walls_high}
    ends_of: dict[tuple[int, int, int], str] = {}
    for face, top in ends.items():
        for end in (0, part.size[lie.along] - 1):
            place = [0, 0, top - 1]
            place[lie.across] = part.size[lie.across] - 1 if face in FAR else 0
            place[lie.along] = end
            ends_of[(place[0], place[1], place[2])] = face
    return raised, Tips(ends=ends_of)


def _extended(part: PartSpec, lie: Lie, face: str, cells: Cells, high: int) -> Cells:
    """(high, w) a wall's cells with what the roof adds and takes."""
    if (cells[0] < 0).any():
        column = int((cells[0] < 0).argmax()) + 1
        raise FigureError(f"{lie.spec.name}: {part.name} {face} has no bead in column {column}, row"
                          " 1; under a roof the top row is whole")  # fmt: skip
    along = 1 - NORMAL[face]
    columns = face_places(face, part.size)[along][0]
    heights = lie.heights(face)[columns]
    more = np.repeat(cells[:1], high - len(cells), axis=0)
    if NORMAL[face] == lie.across:
        more = np.where(heights > heights.min(), lie.tab_colours(face), more)
        high_wall = high - int(heights.min())  # below its tabs a high wall is as it was
        more[high_wall:] = cells[:1]
    gable = lie.spec.gable
    if gable is not None and NORMAL[face] != lie.across:
        more[len(more) - len(gable) :] = gable
    whole = np.concatenate([more, cells])
    rows = high - np.arange(high)[:, None]
    return np.where(rows <= heights, whole, np.int16(-1))


def _lowered(part: PartSpec, opening: OpeningSpec, high: int) -> OpeningSpec:
    """An opening of a wall, its rows counted from where the plate begins now."""
    if opening.face not in SIDES:
        return opening
    across, down = opening.cells
    wide = part.size[1 - NORMAL[opening.face]]
    column, row = opening.at or ((wide - across) // 2, (part.size[2] - down) // 2)
    return replace(opening, at=(column, row + high - part.size[2]))


def moved_down(spec: FigureSpec, roofs: Mapping[str, Lie]) -> FigureSpec:
    """The figure with what stands on walls under a roof told from where their plates begin.

    A description counts rows from the top of the part as it is said, without its gables and tabs.
    """
    if not roofs:
        return spec
    joins = tuple(
        replace(join, at=_below(join.at, join.first, roofs)) if join.at is not None else join
        for join in spec.joins
    )
    fins = tuple(replace(fin, at=_below(fin.at, fin.host, roofs)) for fin in spec.fins)
    doors = tuple(replace(door, at=_below(door.at, door.host, roofs)) for door in spec.doors)
    return replace(spec, joins=joins, fins=fins, doors=doors)


def _below(at: tuple[int, int], host: tuple[str, str], roofs: Mapping[str, Lie]) -> tuple[int, int]:
    """A column and row of a face, with the rows that a roof puts above it."""
    name, face = host
    more = rows_above(roofs[name], face) if name in roofs and face in SIDES else 0
    return at[0], at[1] + more
