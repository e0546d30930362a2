"""Joins between parts: matching openings in two faces that touch, and strips that go through both.

strip     one plate, n beads wide, through a slot of n cells in either face
plus      two such strips, each cut half-way in its middle and pushed into the other
rod       a square hole in either face, for a rod that is not made of beads; it holds the parts
          sideways, and its places must stay free

A strip with ears cannot slide into either part, as each ear lies in one wall and is stopped by
beads of the other:

    | | |
    | | | E       E   the ears, in the second part's wall and, below it, in the first one's
  E | | |
    | | |
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from img2plate.base.arrays import Cells, Mask
from img2plate.base.errors import FigureError
from img2plate.colour.palette import Palette
from img2plate.plate.plate import EMPTY, Plate
from img2plate.solid.box.part import Part
from img2plate.solid.faces import FAR, NORMAL, OPPOSITE, Places, face_places
from img2plate.solid.piece import Piece
from img2plate.solid.spec import JoinSpec

_MARGIN = 3
"""Beads from the edge of a face to a slot that never meet a finger's gap."""
KINDS = ("strip", "plus", "rod")
_SEEN = {0: "right", 1: "back", 2: "top"}


@dataclass(frozen=True, eq=False)
class Connector:
    """What goes through two parts: strips of beads, or a rod that is none."""

    strips: tuple[Piece, ...] = ()
    rod: NDArray[np.int64] | None = None
    """(n, 3) places that a rod fills."""


def make_join(
    spec: JoinSpec, parts: Mapping[str, Part], palette: Palette, thickness_mm: float
) -> Connector:
    """Cut both faces and make what goes through them.

    Raises FigureError when the faces do not touch, or an opening does not hold.
    """
    first, second = (parts[part].find(face) for part, face in (spec.first, spec.second))
    one, two = parts[spec.first[0]], parts[spec.second[0]]
    here = _world(one, first)
    there = _world(two, second)
    _check_faces(spec, one, two, here, there)
    cells = _cells(spec, here, there)
    for part, panel, places, side in ((one, first, here, -1), (two, second, there, 1)):
        slot = np.concatenate([_with_ear(line, side, spec) for line in _lines(spec, cells)])
        try:
            part.cut(panel, _mask(places, here, slot, spec), spec.name)
        except FigureError as error:
            raise FigureError(f"{error.reason}; {_room(spec)}") from None
    if spec.kind == "rod":
        return Connector(rod=_rod(spec, here, cells, one, two))
    return Connector(tuple(_strips(spec, here, cells, palette, thickness_mm)))


def _lines(spec: JoinSpec, cells: NDArray[np.int64]) -> list[NDArray[np.int64]]:
    """(n, 2) row and column of the cells of each strip."""
    return [cells] if spec.kind == "strip" else [cells[: spec.beads], cells[spec.beads :]]


def _with_ear(line: NDArray[np.int64], side: int, spec: JoinSpec) -> NDArray[np.int64]:
    """Cells of a strip in a wall: with an ear, one more before (side -1) or after it."""
    if not spec.ears or spec.kind == "rod":
        return line
    step = line[1] - line[0]
    if side < 0:
        return np.concatenate([line[:1] - step, line])
    return np.concatenate([line, line[-1:] + step])


def _room(spec: JoinSpec) -> str:
    """The smallest face that has room for a join in its middle."""
    wide, high = spec.beads + 2 * _MARGIN + 2 * spec.ears, 1 + 2 * _MARGIN
    high = high if spec.kind == "strip" else wide
    return f"a {spec.kind} so wide has room in the middle of a face of {wide} x {high} beads"


def _rod(
    spec: JoinSpec, here: Places, cells: NDArray[np.int64], one: Part, two: Part
) -> NDArray[np.int64]:
    """(n, 3) places of a rod, as far into either part as it can go short of its other side."""
    axis, step = NORMAL[spec.first[1]], 1 if spec.first[1] in FAR else -1
    reach = [min(spec.depth, part.spec.size[axis] - 1) for part in (one, two)]
    base = np.stack([here[a][cells[:, 0], cells[:, 1]] for a in range(3)], axis=1)
    layers = [base + np.eye(3, dtype=np.int64)[axis] * step * n
              for n in range(1 - reach[0], reach[1] + 1)]  # fmt: skip
    return np.concatenate(layers)


def _world(part: Part, panel: int) -> Places:
    """Figure coordinates of a panel's cells."""
    x, y, z = part.panels[panel].places
    dx, dy, dz = part.spec.at
    return x + dx, y + dy, z + dz


def _check_faces(spec: JoinSpec, one: Part, two: Part, here: Places, there: Places) -> None:
    """Refuse faces that do not lie against each other, and connectors too long for their parts."""
    face, axis = spec.first[1], NORMAL[spec.first[1]]
    step = 1 if face in FAR else -1
    touch = here[axis].flat[0] + step == there[axis].flat[0]
    if spec.second[1] != OPPOSITE[face] or not touch:
        raise FigureError(
            f"{spec.name}: {' '.join(spec.first)} and {' '.join(spec.second)} do not lie against"
            " each other; move a part with `at`, or stand it `on` the other"
        )
    for part in (one, two):
        if spec.kind != "rod" and spec.depth >= part.spec.size[axis]:
            raise FigureError(
                f"{spec.name}: depth {spec.depth} goes through {part.spec.name}, which is"
                f" {part.spec.size[axis]} beads there; make it smaller"
            )


def _cells(spec: JoinSpec, here: Places, there: Places) -> NDArray[np.int64]:
    """(n, 2) row and column of the opening's cells on the first face; strips' middle lines."""
    row, column = _middle(spec, here, there)
    if spec.kind == "rod":
        around = np.arange(spec.beads) - spec.beads // 2
        rows, columns = np.meshgrid(row + around, column + around, indexing="ij")
        return np.stack([rows.ravel(), columns.ravel()], axis=1)
    run = np.arange(spec.beads) - spec.beads // 2
    lines = [np.stack([np.full(spec.beads, row), column + run], axis=1)]
    lines += [np.stack([row + run, np.full(spec.beads, column)], axis=1)]
    if spec.kind == "plus":
        return np.concatenate(lines)
    return lines[1] if spec.upright else lines[0]


def _middle(spec: JoinSpec, here: Places, there: Places) -> tuple[int, int]:
    """Row and column of the middle cell."""
    if spec.at is not None:
        return spec.at[1], spec.at[0]
    shared = np.ones(here[0].shape, dtype=bool)
    for axis in {0, 1, 2} - {NORMAL[spec.first[1]]}:
        shared &= (here[axis] >= there[axis].min()) & (here[axis] <= there[axis].max())
    rows, columns = np.nonzero(shared)
    if not len(rows):
        raise FigureError(f"{spec.name}: {' '.join(spec.first)} and {' '.join(spec.second)} do not"
                          " share any place")  # fmt: skip
    return int(rows.min() + rows.max() + 1) // 2, int(columns.min() + columns.max() + 1) // 2


def _mask(places: Places, here: Places, cells: NDArray[np.int64], spec: JoinSpec) -> Mask:
    """(h, w) mask of the opening on either face, by figure coordinates in the touching plane."""
    height, width = here[0].shape
    rows, columns = cells[:, 0], cells[:, 1]
    if rows.min() < 0 or columns.min() < 0 or rows.max() >= height or columns.max() >= width:
        raise FigureError(f"{spec.name}: reaches over {' '.join(spec.first)}, which is {width} x"
                          f" {height} cells")  # fmt: skip
    axes = [axis for axis in range(3) if axis != NORMAL[spec.first[1]]]
    wanted = {tuple(int(here[a][r, c]) for a in axes) for r, c in cells}
    flat = zip(*(places[a].ravel().tolist() for a in axes), strict=True)
    mask = np.array([place in wanted for place in flat]).reshape(places[0].shape)
    if mask.sum() < len(wanted):
        raise FigureError(f"{spec.name}: reaches over {' '.join(spec.second)}")
    return mask


def _strips(
    spec: JoinSpec, here: Places, cells: NDArray[np.int64], palette: Palette, thickness_mm: float
) -> list[Piece]:
    """The plates that go through."""
    lines = _lines(spec, cells)
    pieces = []
    for number, line in enumerate(lines, 1):
        whole = _with_ear(_with_ear(line, -1, spec), 1, spec)
        places = _strip_places(spec, here, whole)
        filled = np.full(places[0].shape, spec.colour, dtype=np.int16)
        if spec.kind == "plus":  # halved: the first keeps its middle below, the second above
            half = slice(spec.depth, None) if number == 1 else slice(0, spec.depth)
            filled[half, len(whole) // 2] = EMPTY
        if spec.ears:  # an ear lies in one wall alone: that of the first, or of the second part
            filled[np.arange(2 * spec.depth) != spec.depth - 1, 0] = EMPTY
            filled[np.arange(2 * spec.depth) != spec.depth, -1] = EMPTY
        axis = next(a for a in range(3) if np.ptp(places[a]) == 0)
        places, filled = as_seen(places, filled, _SEEN[axis])
        name = "strip" if len(lines) == 1 else f"strip {number}"
        plate = Plate(filled, palette, f"{spec.name} {name}")
        pieces.append(Piece(name, spec.name, "strip", plate, places, _SEEN[axis], thickness_mm))
    return pieces


def as_seen(places: Places, cells: Cells, seen: str) -> tuple[Places, Cells]:
    """Turn a plate so that its columns and rows run as those of a face that is seen so."""
    face = np.stack(face_places(seen, (2, 2, 2)))
    across, down = face[:, 0, 1] - face[:, 0, 0], face[:, 1, 0] - face[:, 0, 0]
    plate = np.stack([*places, cells.astype(np.int64)])
    if np.ptp(plate[across.nonzero()[0][0], 0]) == 0:  # what should run across runs down
        plate = plate.swapaxes(1, 2)
    if (plate[:3, 0, -1] - plate[:3, 0, 0]) @ across < 0:
        plate = plate[:, :, ::-1]
    if (plate[:3, -1, 0] - plate[:3, 0, 0]) @ down < 0:
        plate = plate[:, ::-1]
    x, y, z, turned = plate
    return (x, y, z), turned.astype(np.int16)


def _strip_places(spec: JoinSpec, here: Places, line: NDArray[np.int64]) -> Places:
    """Rows run along the way through both faces, columns along the slot."""
    axis, step = NORMAL[spec.first[1]], 1 if spec.first[1] in FAR else -1
    along = np.arange(-spec.depth + 1, spec.depth + 1) * step
    base = [here[a][line[:, 0], line[:, 1]] for a in range(3)]
    shape = (2 * spec.depth, len(line))
    grids = [np.broadcast_to(base[a], shape).copy() for a in range(3)]
    grids[axis] += along[:, None]
    return grids[0], grids[1], grids[2]
