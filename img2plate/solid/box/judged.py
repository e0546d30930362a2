"""What the checker is told of a figure's plates, and what it says of them, in a maker's words."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

import numpy as np

from img2plate.solid.box.cut import cell_name
from img2plate.solid.check.lattice import (
    Exceptions,
    Finding,
    Held,
    Pressed,
    Rod,
    Solid,
    Voxels,
)
from img2plate.solid.check.rules import Report, check
from img2plate.solid.check.swing import Hinge
from img2plate.solid.fit.model import FitModel
from img2plate.solid.piece import Piece
from img2plate.solid.spec import FigureSpec, JoinSpec, PartSpec


def look_at(
    spec: FigureSpec,
    pieces: Sequence[Piece],
    rods: Sequence[Rod],
    hinges: Sequence[Hinge],
    wanted: Iterable[Voxels] | None = None,
    held: Sequence[Held] = (),
) -> Report:
    """What the checker says of a figure's plates; `wanted` are the beads that there should be.

    None: those that the plates have, so that only a bead which is in two of them is wrong.
    held: what holds its fins upright, as it was said.
    """
    allowed = replace(exceptions_of(pieces, spec.parts, spec.joins), held=tuple(held))
    if wanted is None:
        wanted = [piece.voxels for piece in pieces if piece.turn is None]
    return check(solids_of(pieces, spec.model), wanted, allowed, rods, hinges)


def told(finding: Finding, pieces: Sequence[Piece]) -> str:
    """What the checker found, with the column and row on the plate, and what may be done."""
    said = finding.words
    piece = next((p for p in pieces if p.title == finding.plate), None)
    if piece is not None and finding.place is not None:
        here = np.ones(piece.plate.cells.shape, dtype=bool)
        for axis, at in zip(piece.places, finding.place, strict=True):
            here &= axis == at
        for row, column in np.argwhere(here).tolist():
            said += f", at {cell_name(row, column)} of {piece.title}"
    hints = (
        (" pieces", "fill empty cells between them, or leave that one out on all its faces"),
        ("no joint ties", "give the part another wall that meets both"),
        ("nothing ties", "tie it with a [[join]], or say `loose = true` if it only stands there"),
        ("only one way", "give their edge more beads in common"),
        ("nothing holds", "give their edge more beads in common"),
        ("uneven", "fill or clear a few cells beside that edge"),
        ("it needs", "move what is in its way, or make the door narrower"),
        ("has no room", "move what is in its way, or give the roof less `overhang` or `eaves`"),
        ("gripped by", "let it go through a face of either part"),
    )
    return said + next((f"; {hint}" for word, hint in hints if word in said), "")


def solids_of(pieces: Sequence[Piece], model: FitModel | None = None) -> list[Solid]:
    """What the checker may know of the plates; a model is needed where any slopes."""
    return [
        Solid(piece.title, piece.group, piece.voxels, piece.axis, piece.turn,
              None if model is None else _pressed(model, piece.thickness_mm))
        for piece in pieces
    ]  # fmt: skip


def _pressed(model: FitModel, thickness_mm: float) -> Pressed:
    """What the beads of a plate measure."""
    wide = model.width_mm(thickness_mm)
    return Pressed(model.cell_mm(thickness_mm), thickness_mm, wide)


def exceptions_of(
    pieces: Sequence[Piece], parts: Sequence[PartSpec] = (), joins: Sequence[JoinSpec] = ()
) -> Exceptions:
    """Plates that are meant to come off, or to go through others."""
    by_role = {
        role: frozenset(piece.title for piece in pieces if piece.role == role)
        for role in ("lid", "slide", "shelf", "divider", "strip", "fin", "lug", "collar")
    }
    eared = {join.name for join in joins if join.ears}
    return Exceptions(
        sliding=by_role["slide"],
        tabbed=by_role["lid"]
        | by_role["shelf"]
        | by_role["divider"]
        | by_role["strip"]
        | by_role["lug"]
        | by_role["collar"],
        halved=by_role["divider"] | by_role["strip"],
        lids=by_role["lid"] | by_role["slide"],
        trays=frozenset(part.name for part in parts if part.inside),
        strips=by_role["strip"],
        eared=frozenset(p.title for p in pieces if p.role == "strip" and p.group in eared),
        fins=by_role["fin"],
        lugs=by_role["lug"],
        plugs=frozenset(part.name for part in parts if part.plug),
        loose=frozenset(part.name for part in parts if part.loose or part.inside),
    )
