"""The colour of each bead of a part's shell, before it is known which plate the bead is of."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from img2plate.base.arrays import Cells
from img2plate.base.errors import FigureError
from img2plate.plate.plate import EMPTY
from img2plate.solid.faces import FACES, OPPOSITE, Places, face_places, face_size
from img2plate.solid.spec import PartSpec

Beads = NDArray[np.int16]
"""(W, D, H) int16 palette index, -1 where no bead is."""


def paint(part: PartSpec, faces: frozenset[str]) -> Beads:
    """(W, D, H) beads of the shell of the given faces.

    An edge bead takes the colour of the first face in the part's order that wants one there, so it
    is empty only when all its faces leave it empty. Raises FigureError when a face has no colour.
    """
    beads = np.full(part.size, EMPTY, dtype=np.int16)
    described = [face for face in part.colour_order if face in part.cells and face in faces]
    for face in reversed(described):
        _lay(beads, face_places(face, part.size), part.cells[face])
    missing = [face for face in FACES if face in faces and face not in described]
    filled = {face: _from_nearest(part, beads, described, face) for face in missing}
    for face, cells in filled.items():
        _fill(beads, face_places(face, part.size), cells, part, described)
    return beads


def _lay(beads: Beads, places: Places, cells: Cells) -> None:
    """Write a face's cells where it wants a bead."""
    wanted = cells >= 0
    x, y, z = (axis[wanted] for axis in places)
    beads[x, y, z] = cells[wanted]


def _fill(beads: Beads, places: Places, cells: Cells, part: PartSpec, described: list[str]) -> None:
    """Write a filled face, except beads that a described face has a say in."""
    free = np.ones(cells.shape, dtype=bool)
    for face in described:
        across, down = _edge_of(face, places, part)
        free[down, across] = False
    x, y, z = (axis[free] for axis in places)
    beads[x, y, z] = cells[free]


def _edge_of(face: str, places: Places, part: PartSpec) -> tuple[slice, slice]:
    """Columns and rows of a plate that lie in another face."""
    inside = np.zeros(part.size, dtype=bool)
    inside[face_places(face, part.size)] = True
    rows, columns = np.nonzero(inside[places])
    if not len(rows):
        return slice(0, 0), slice(0, 0)
    return slice(columns.min(), columns.max() + 1), slice(rows.min(), rows.max() + 1)


def _from_nearest(part: PartSpec, beads: Beads, described: list[str], face: str) -> Cells:
    """(h, w) colours for a face without any: each bead as the nearest one on its edges.

    Where no described face touches it: the part's colour, else the opposite face mirrored.
    """
    across, down = face_size(face, part.size)
    if part.colour is not None:
        return np.full((down, across), part.colour, dtype=np.int16)
    edge = beads[face_places(face, part.size)]
    rows, columns = np.mgrid[0:down, 0:across]
    nearest = [
        (columns, edge[:, :1]), (across - 1 - columns, edge[:, -1:]),
        (rows, edge[:1]), (down - 1 - rows, edge[-1:]),
    ]  # fmt: skip
    colours = np.stack([np.broadcast_to(line, edge.shape) for _, line in nearest])
    far = across + down
    distances = np.stack([np.broadcast_to(d, edge.shape) for d, _ in nearest])
    chosen = np.where(colours >= 0, distances, far).argmin(axis=0)
    cells = np.take_along_axis(colours, chosen[None], axis=0)[0]
    if (cells < 0).any():
        cells = _from_opposite(part, cells, face, described)
    return np.asarray(cells, dtype=np.int16)


def _from_opposite(part: PartSpec, cells: Cells, face: str, described: list[str]) -> Cells:
    """Fill what is left from the opposite face, seen through the part."""
    other = OPPOSITE[face]
    if other not in described:
        raise FigureError(
            f"part {part.name}: nothing says what colour its {face} has; give it one, or give the"
            " part a colour"
        )
    through = part.cells[other]
    mirrored = through[:, ::-1] if face not in ("top", "bottom") else through[::-1]
    if (mirrored < 0).any() and (mirrored >= 0).any():
        values, counts = np.unique(mirrored[mirrored >= 0], return_counts=True)
        mirrored = np.where(mirrored < 0, values[counts.argmax()], mirrored)
    return np.where(cells < 0, mirrored, cells)
