"""One [[roof]] or [[wedge]] of a figure's file: sloping plates on top of a part."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from math import isfinite

import numpy as np

from img2plate.base.arrays import Cells
from img2plate.base.errors import FigureError
from img2plate.solid.faces import NORMAL, OPPOSITE
from img2plate.solid.file.face_cells import face_cells
from img2plate.solid.file.reader import Reader
from img2plate.solid.file.toml_table import Table
from img2plate.solid.slope.angles import Slope
from img2plate.solid.slope.lie import Lie
from img2plate.solid.slope.roof import slope_of
from img2plate.solid.slope.stepped import offer, stepped_roof
from img2plate.solid.slope.walls import rows_above
from img2plate.solid.spec import MOST, JoinSpec, PartSpec, RoofSpec

RIDGES = {"front to back": "left", "left to right": "front"}
"""How a ridge runs, and the wall that the first plate slopes down to."""
WALLS = ("front", "back", "left", "right")


@dataclass(eq=False)
class Roofs:
    """What the tables of roofs make."""

    sloping: list[RoofSpec] = field(default_factory=list)
    parts: list[PartSpec] = field(default_factory=list)
    """Level steps."""
    joins: list[JoinSpec] = field(default_factory=list)


def read_roofs(
    reader: Reader, file: Table, parts: Sequence[PartSpec], mirrors: Mapping[str, int],
    taken: set[str],
) -> Roofs:  # fmt: skip
    """Read all [[roof]] and [[wedge]]. Raises FigureError with the key.

    mirrors: parts that are mirror images, and along which axis.
    """
    made = Roofs()
    for kind in ("roof", "wedge"):
        for table in file.tables(kind):
            _read(reader, table, parts, mirrors, made, kind == "roof")
    names = [roof.name for roof in made.sloping] + [part.name for part in made.parts]
    for name in names:
        if name in taken or names.count(name) > 1:
            raise FigureError(f"{file.path}: the roof {name!r} has the name of something else;"
                              " give it a `name` of its own")  # fmt: skip
    return made


def _read(
    reader: Reader, table: Table, parts: Sequence[PartSpec], mirrors: Mapping[str, int],
    made: Roofs, pitched: bool,
) -> None:  # fmt: skip
    """Read one table, for each part that it names."""
    hosts = _hosts(reader, table, parts)
    first = hosts[0]
    if any(host.size != first.size for host in hosts):
        raise table.error("on", "names parts of several sizes; give each a roof of its own")
    name = reader.name(table, "") if table.has("name") else ""
    names = {host.name: _name(name, host.name, n, len(hosts)) for n, host in enumerate(hosts, 1)}
    low = _low(table, first, pitched)
    if table.flag("stepped"):
        if not pitched:
            raise table.error("stepped", "is for a [[roof]]")
        colour = _colour(reader, table, first)
        table.done()
        for host in hosts:
            parts_, joins = stepped_roof(names[host.name], host, NORMAL[low], colour, table.line())
            if not parts_:
                raise table.error("stepped", f"{host.name} is too small for a step: 7 beads across"
                                  " the ridge and 10 along it")  # fmt: skip
            made.parts += parts_
            made.joins += joins
        return
    spec = _sloping(reader, table, first, names[first.name], low, pitched)
    table.done()
    for host in hosts:
        own = replace(spec, name=names[host.name], host=host.name)
        made.sloping.append(_mirrored(own, mirrors.get(host.name)))


def _hosts(reader: Reader, table: Table, parts: Sequence[PartSpec]) -> list[PartSpec]:
    """The parts that it lies on."""
    said = table.texts("on")
    by_name = {part.name: part for part in parts}
    names = [each for name in said for each in reader.copies.get(name, [name])]
    missing = [name for name in names if name not in by_name]
    if missing or not names:
        known = ", ".join(by_name)
        what = f"{missing[0]!r} is no part" if missing else "is missing: the part that it lies on"
        raise table.error("on", f"{what} (there are: {known})")
    return [by_name[name] for name in names]


def _name(given: str, host: str, number: int, count: int) -> str:
    """The roof's own name."""
    if not given:
        return f"{host} roof"
    return given if count == 1 else f"{given} {number}"


def _low(table: Table, host: PartSpec, pitched: bool) -> str:
    """The wall that the first plate slopes down to."""
    if not pitched:
        return table.choice("low", WALLS, "front")
    usual = "front to back" if host.size[1] >= host.size[0] else "left to right"
    return RIDGES[table.choice("ridge", RIDGES, usual)]


def _colour(reader: Reader, table: Table, host: PartSpec) -> int:
    """Palette index of the plates: their own, else the part's."""
    colour = reader.colour(table, "colour", host.colour)
    if colour is None:
        raise table.error("colour", "is missing: a colour's code (or `look`, a picture for the"
                          " plates)")  # fmt: skip
    return colour


def _sloping(
    reader: Reader, table: Table, host: PartSpec, name: str, low: str, pitched: bool
) -> RoofSpec:
    """A roof over one part."""
    length = table.number("length", 0.0, 0.0, MOST)
    if not isfinite(length) or length * 2 % 1:
        raise table.error("length", f"{length:g} is neither whole nor half beads, as 7.5")
    wide, model = host.size[NORMAL[low]], reader.model
    slope = slope_of(length, wide, reader.thickness, model, pitched=pitched)
    if not isinstance(slope, Slope):
        steps = offer(host.size, NORMAL[low]) if pitched and "too " in slope else ""
        raise table.error("length", f"{slope}; {steps}" if steps else slope)
    blank = np.zeros((1, 1), np.int16)
    spec = RoofSpec(
        name, host.name, slope.length, blank, low, pitched, table.whole("eaves", 2, 2, MOST),
        table.whole("overhang", 1, 0, MOST), None, table.line(),
    )  # fmt: skip
    lie = Lie(spec, host.size, slope, reader.thickness, model)
    cells = _look(reader, table, host, lie)
    return replace(spec, cells=cells, gable=_gable(reader, table, lie))


def _look(reader: Reader, table: Table, host: PartSpec, lie: Lie) -> Cells:
    """(h, w) cells of each plate."""
    if not table.has("look"):
        return np.full((lie.rows, lie.columns), _colour(reader, table, host), np.int16)
    cells = face_cells(reader, table, "look", (lie.columns, lie.rows))
    if (cells < 0).any():
        raise table.error("look", "has empty cells; give a `ground` for them")
    return cells


def _gable(reader: Reader, table: Table, lie: Lie) -> Cells | None:
    """(h, w) colours of what the walls under the roof's ends have above the others."""
    if not table.has("gable"):
        return None
    wide = lie.size[lie.across]
    high = rows_above(lie, "front" if lie.across == 0 else "left")
    cells = face_cells(reader, table, "gable", (wide, high))
    if (cells < 0).any():
        raise table.error("gable", "has empty cells; give a `ground` for them")
    return cells


def _mirrored(spec: RoofSpec, axis: int | None) -> RoofSpec:
    """The roof of a part that is a mirror image: it follows."""
    if axis is None:
        return spec
    return replace(
        spec,
        low=OPPOSITE[spec.low] if NORMAL[spec.low] == axis and not spec.pitched else spec.low,
        cells=np.ascontiguousarray(spec.cells[:, ::-1]),
        gable=None if spec.gable is None else np.ascontiguousarray(spec.gable[:, ::-1]),
    )
