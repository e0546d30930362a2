"""Doors on a rod. Seen from above, hinged at the left, a wall w with a door d in it:

    w w w . d L d L d d d . w w w      .  a column that stays empty, on either side
              L o L                    o  the rod, through floor and ceiling
              L L L                    L  a lug: a small level plate that the rod goes through

A bead's hole runs across its plate, so a rod cannot go through the door itself. Lugs stand in the
door by two tabs; the door's own bead closes their mouth. The door opens to the inside.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from img2plate.base.errors import FigureError
from img2plate.colour.palette import Palette
from img2plate.plate.plate import EMPTY, Plate
from img2plate.solid.box.cut import rectangle
from img2plate.solid.box.joins import as_seen
from img2plate.solid.box.part import Part
from img2plate.solid.check.lattice import Rod
from img2plate.solid.check.swing import Hinge
from img2plate.solid.faces import FAR, NORMAL, Places
from img2plate.solid.fit.model import FitModel
from img2plate.solid.piece import Piece
from img2plate.solid.spec import DoorSpec

LEAST = 6
"""Beads of a door, across and down."""
ROD_COLUMN = 2
"""Column of the door that the rod is behind, from its hinge, from 0."""


@dataclass(frozen=True, eq=False)
class Door:
    """The plates of a door, what it turns round, and where it has to swing freely."""

    pieces: tuple[Piece, ...]
    rod: Rod
    hinge: Hinge


def make_door(
    spec: DoorSpec,
    parts: Mapping[str, Part],
    palette: Palette,
    thickness_mm: float,
    model: FitModel,
) -> Door:
    """Cut the doorway and the rod's holes, and make door and lugs.

    Raises FigureError when there is no room for them.
    """
    part, face = parts[spec.host[0]], spec.host[1]
    down, across = spec.cells.shape
    if min(down, across) < LEAST:
        raise FigureError(f"{spec.name}: a door is {LEAST} x {LEAST} beads at least, not"
                          f" {across} x {down}")  # fmt: skip
    panel = part.find(face)
    column, row = spec.at
    shape = part.panels[panel].places[0].shape
    plate = f"{part.spec.name} {face}"
    doorway = rectangle(
        (shape[0], shape[1]), (across + 2, down + 2), (column - 1, row - 1),
        f"the doorway of {spec.name}, with a bead of room all round,", plate,
    )  # fmt: skip
    grid = np.stack(part.panels[panel].places, axis=-1)[row : row + down, column : column + across]
    grid = grid + part.spec.at
    cells = spec.cells
    if spec.hinge == "right":  # told from the hinge
        grid, cells = grid[:, ::-1], cells[:, ::-1]
    part.cut(panel, doorway, f"{spec.name}, its doorway")
    axis, step = NORMAL[face], -1 if face in FAR else 1
    inward = np.eye(3, dtype=np.int64)[axis] * step
    rod = _rod(spec, part, grid[0, ROD_COLUMN] + inward)
    way = grid[0, -1] - grid[0, 0]
    along = int(np.flatnonzero(way)[0])
    hinge = Hinge(
        spec.name, (int(rod[0, 0]), int(rod[0, 1]), int(rod[0, 2])),
        (along, int(np.sign(way[along]))), (axis, step), model.pitch_mm, thickness_mm,
        model.width_mm(thickness_mm), (model.opening_mm(1, thickness_mm) - spec.rod_mm) / 2,
    )  # fmt: skip
    pieces = _pieces(spec, grid, cells, inward, palette, thickness_mm)
    return Door(tuple(pieces), Rod(f"{spec.name} rod", rod, 2), hinge)


def _rod(spec: DoorSpec, part: Part, place: NDArray[np.int64]) -> NDArray[np.int64]:
    """(n, 3) places of the rod, from the lowest to the highest level plate; their holes are cut."""
    x, y, _ = place - part.spec.at
    levels = sorted(int(p.places[2].flat[0]) for p in part.panels if np.ptp(p.places[2]) == 0)
    held = [z for z in levels if part.owner[x, y, z] >= 0]
    below = [z for z in held if z + part.spec.at[2] < place[2] - spec.cells.shape[0] + 1]
    above = [z for z in held if z + part.spec.at[2] > place[2]]
    if not below or not above:
        raise FigureError(
            f"{spec.name}: its rod needs a plate above it and one below: a bottom, a top or a shelf"
        )
    for z in held:
        if below[-1] <= z <= above[0]:
            part.owner[x, y, z] = -1
            part.beads[x, y, z] = EMPTY
    run = np.arange(below[-1], above[0] + 1) + part.spec.at[2]
    return np.stack([np.full_like(run, place[0]), np.full_like(run, place[1]), run], axis=1)


def _pieces(
    spec: DoorSpec, grid: NDArray[np.int64], cells: NDArray[np.int16], inward: NDArray[np.int64],
    palette: Palette, thickness_mm: float,
) -> list[Piece]:  # fmt: skip
    """The door and its two lugs."""
    face, last = spec.host[1], len(grid) - 1
    cells = cells.copy()
    lugs = []
    for number, row in enumerate((1, last - 1), 1):
        middle = grid[row, ROD_COLUMN - 1 : ROD_COLUMN + 2]
        places = np.stack([middle, middle + inward, middle + 2 * inward])
        beads = np.full((3, 3), cells[row, ROD_COLUMN], np.int16)
        beads[:2, 1] = EMPTY
        cells[row, [ROD_COLUMN - 1, ROD_COLUMN + 1]] = EMPTY
        lugs.append(
            _piece(f"lug {number}", "lug", spec, places, beads, "top", palette, thickness_mm)
        )
    door = _piece("plate", "door", spec, grid, cells, face, palette, thickness_mm)
    return [door, *lugs]


def _piece(
    name: str, role: str, spec: DoorSpec, grid: NDArray[np.int64], cells: NDArray[np.int16],
    seen: str, palette: Palette, thickness_mm: float,
) -> Piece:  # fmt: skip
    places: Places = (grid[..., 0], grid[..., 1], grid[..., 2])
    places, cells = as_seen(places, cells, seen)
    plate = Plate(cells, palette, f"{spec.name} {name}")
    return Piece(name, spec.name, role, plate, places, seen, thickness_mm)
