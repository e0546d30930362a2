"""From a figure's description to its plates, checked: the room's front door."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from img2plate.base.errors import FigureError
from img2plate.plate.plate import Plate
from img2plate.solid.box.doors import Door, make_door
from img2plate.solid.box.fins import make_fins
from img2plate.solid.box.insides import build_part
from img2plate.solid.box.joins import Connector, make_join
from img2plate.solid.box.judged import look_at, told
from img2plate.solid.box.part import Part
from img2plate.solid.box.plugs import build_plug
from img2plate.solid.check.lattice import (
    Held,
    Rod,
    Voxels,
)
from img2plate.solid.check.rules import Report
from img2plate.solid.check.swing import Hinge
from img2plate.solid.faces import NORMAL
from img2plate.solid.joints import Joint, find_joints, renumbered
from img2plate.solid.lines import on_line
from img2plate.solid.piece import Piece
from img2plate.solid.slope.lie import Lie
from img2plate.solid.slope.roof import lie_of, make_roof, remark_of
from img2plate.solid.slope.walls import build_under, moved_down
from img2plate.solid.spec import FigureSpec

LOOSE_ROLES = ("lid", "slide")


@dataclass(frozen=True, eq=False)
class Figure:
    """All plates of a figure, checked, and how they go together."""

    spec: FigureSpec
    pieces: tuple[Piece, ...]
    report: Report
    rods: tuple[Rod, ...] = ()
    hinges: tuple[Hinge, ...] = ()
    joints_before: tuple[Joint, ...] = ()
    """Those of the figure as described: their letters stay when plates are touched up."""
    held: tuple[Held, ...] = ()
    """What holds its fins upright."""
    roofs: tuple[Lie, ...] = ()
    """How each of its roofs lies."""

    @cached_property
    def joints(self) -> tuple[Joint, ...]:
        """Where its plates meet, with the number that each joint has on sheets and drawings."""
        return renumbered(find_joints(self.pieces), self.joints_before)

    def counts(self) -> NDArray[np.int64]:
        """(n,) int64: beads of each palette colour, over all plates."""
        return np.asarray(np.sum([piece.plate.counts() for piece in self.pieces], axis=0))

    @property
    def bead_count(self) -> int:
        """Beads over all plates."""
        return sum(piece.plate.bead_count for piece in self.pieces)

    @property
    def loose_parts(self) -> tuple[str, ...]:
        """Parts that are said to stand there loose."""
        return tuple(part.name for part in self.spec.parts if part.loose)

    @property
    def size(self) -> tuple[int, int, int]:
        """Beads wide, deep and high, over all."""
        low, high = self.span
        width, depth, height = (high - low + 1).tolist()
        return width, depth, height

    @property
    def span(self) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
        """First and last place that a bead reaches into, each (3,)."""
        lows, highs = zip(*(piece.bounds for piece in self.pieces), strict=True)
        return np.min(lows, axis=0), np.max(highs, axis=0)


def build(spec: FigureSpec) -> Figure:
    """Make all plates and check that they go together.

    Raises FigureError with part, plate and cell, or with what the checker found.
    """
    roofs = _roofs(spec)
    said, spec = spec, moved_down(spec, roofs)
    parts: dict[str, Part] = {}
    for part in spec.parts:
        with on_line(part.line):
            if part.name in roofs:
                parts[part.name] = build_under(part, roofs[part.name])
            elif part.plug is not None:
                parts[part.name] = build_plug(part, parts[part.plug[0]])
            else:
                parts[part.name] = build_part(part)
    joined: list[Connector] = []
    for join in spec.joins:
        with on_line(join.line):
            joined.append(make_join(join, parts, spec.palette, spec.thickness_mm))
    strips: list[Piece] = []
    remarks: list[str] = []
    fins = make_fins(spec.fins, parts, spec.palette, spec.thickness_mm, spec.model)
    for fin in fins:
        strips += fin.pieces
        remarks.append(fin.said)
    doors: list[Door] = []
    for door in spec.doors:
        with on_line(door.line):
            doors.append(make_door(door, parts, spec.palette, spec.thickness_mm, spec.model))
    strips += [piece for door in doors for piece in door.pieces]
    remarks += [remark_of(lie) for lie in roofs.values()]
    strips += [piece for connector in joined for piece in connector.strips]
    pieces = tuple(piece for part in parts.values() for piece in _pieces(part, spec))
    pieces += tuple(strips)
    for lie in roofs.values():
        pieces += tuple(make_roof(lie, parts[lie.spec.host].spec.at, spec.palette))
    rods = tuple(
        Rod(join.name, connector.rod, NORMAL[join.first[1]])
        for join, connector in zip(spec.joins, joined, strict=True)
        if connector.rod is not None
    )
    rods += tuple(door.rod for door in doors)
    hinges = tuple(door.hinge for door in doors)
    held = tuple(held for fin in fins for held in fin.held)
    report = look_at(spec, pieces, rods, hinges, _wanted(parts, strips), held)
    if report.findings:
        found = report.findings[0]
        line = _line_of(found.words, spec)
        raise FigureError(f"{spec.name}: {told(found, pieces)}", line=line)
    said = replace(said, remarks=(*said.remarks, *remarks))
    lies = tuple(roofs.values())
    return Figure(said, pieces, report, rods, hinges, held=held, roofs=lies)


def _roofs(spec: FigureSpec) -> dict[str, Lie]:
    """How each roof lies, by the part that it lies on."""
    parts = {part.name: part for part in spec.parts}
    found: dict[str, Lie] = {}
    for roof in spec.roofs:
        with on_line(roof.line):
            if roof.host in found:
                raise FigureError(f"{roof.name}: {roof.host} has a roof already")
            found[roof.host] = lie_of(roof, parts[roof.host], spec.thickness_mm, spec.model)
    return found


def _line_of(finding: str, spec: FigureSpec) -> int:
    """Where the part or join begins that a finding names first; 0 when it begins with none."""
    lines = {part.name: part.line for part in spec.parts}
    lines |= {join.name: join.line for join in spec.joins}
    lines |= {fin.name: fin.line for fin in spec.fins}
    lines |= {door.name: door.line for door in spec.doors}
    lines |= {roof.name: roof.line for roof in spec.roofs}
    named = [name for name in lines if finding.startswith((f"{name} ", f"{name}:"))]
    return lines[max(named, key=len)] if named else 0


def _pieces(part: Part, spec: FigureSpec) -> list[Piece]:
    """Cut a part's panels out."""
    made = []
    shift = part.spec.at
    for number, panel in enumerate(part.panels):
        cells = part.cells(number)
        if not (cells >= 0).any():
            raise FigureError(
                f"part {part.spec.name}: its {panel.name} has no bead", line=part.spec.line
            )
        x, y, z = panel.places
        places = x + shift[0], y + shift[1], z + shift[2]
        name = "lid" if panel.role in LOOSE_ROLES else panel.name
        plate = Plate(cells, spec.palette, f"{part.spec.name} {name}", {"figure": spec.name})
        thickness = spec.lid_mm if panel.role in LOOSE_ROLES else spec.thickness_mm
        made.append(Piece(name, part.spec.name, panel.role, plate, places, panel.seen, thickness))
    return made


def _wanted(parts: dict[str, Part], strips: list[Piece]) -> list[Voxels]:
    """Beads that there should be: what was painted and not cut out, and the strips."""
    painted = [np.argwhere(part.beads >= 0) + part.spec.at for part in parts.values()]
    return [*painted, *(strip.voxels for strip in strips)]
