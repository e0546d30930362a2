"""A part turned into its mirror image: left for right, or front for back."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from img2plate.base.arrays import Cells
from img2plate.solid.faces import NORMAL, OPPOSITE, face_size
from img2plate.solid.spec import OpeningSpec, PartSpec

AXES = {"x": 0, "y": 1}
"""Axes that a part can be mirrored along: across and away."""


def mirrored(part: PartSpec, axis: int) -> PartSpec:
    """The mirror image of a part along an axis of AXES, at the same place."""

    def other(face: str) -> str:
        return OPPOSITE[face] if NORMAL[face] == axis else face

    return replace(
        part,
        cells={other(face): _turned(cells, face, axis) for face, cells in part.cells.items()},
        open=frozenset(other(face) for face in part.open),
        colour_order=tuple(other(face) for face in part.colour_order),
        lid_on=other(part.lid_on),
        lid_to=other(part.way_out) if part.lid == "slide" else "",
        dividers=tuple(
            replace(d, level=part.size[axis] - 1 - d.level) if d.axis == axis else d
            for d in part.dividers
        ),
        openings=tuple(_opening(part, opening, other(opening.face), axis)
                       for opening in part.openings),
    )  # fmt: skip


def _is_upside_down(face: str, axis: int) -> bool:
    """Whether a face's rows turn round, not its columns: top and bottom along y."""
    return NORMAL[face] == 2 and axis == AXES["y"]


def _turned(cells: Cells, face: str, axis: int) -> Cells:
    """(h, w) cells of the face, as they are seen on its mirror image."""
    rows, columns = (-1, 1) if _is_upside_down(face, axis) else (1, -1)
    return np.ascontiguousarray(cells[::rows, ::columns])


def _opening(part: PartSpec, opening: OpeningSpec, face: str, axis: int) -> OpeningSpec:
    """An opening on the mirror image of its face."""
    if opening.at is None:
        return replace(opening, face=face)
    (column, row), (across, down) = opening.at, opening.cells
    wide, high = face_size(opening.face, part.size)
    if _is_upside_down(opening.face, axis):
        return replace(opening, face=face, at=(column, high - row - down))
    return replace(opening, face=face, at=(wide - column - across, row))
