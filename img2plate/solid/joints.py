"""Where plates meet, so that sheets and drawings can put the same letter on both sides."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations, count

import numpy as np
from numpy.typing import NDArray

from img2plate.base.words import column_letters
from img2plate.solid import crossing
from img2plate.solid.piece import Piece


@dataclass(frozen=True)
class Side:
    """One plate's end of a joint."""

    piece: int
    """Place of the plate among the figure's."""
    edge: str
    """`top`, `bottom`, `left` or `right` of the plate as it is seen, or `inside` for a slot."""
    row: float
    column: float
    """Middle of the joint, or one end of a slot, in cells of the plate, from 0."""


@dataclass(frozen=True)
class Joint:
    """Two plates that meet along a line."""

    number: int
    """From 0, in the order of the plates."""
    sides: tuple[Side, Side]

    @property
    def letter(self) -> str:
        """The same on both plates."""
        return column_letters(self.number)

    @property
    def plates(self) -> tuple[int, int]:
        """Places of both plates among the figure's."""
        return self.sides[0].piece, self.sides[1].piece


def find_joints(pieces: Sequence[Piece]) -> tuple[Joint, ...]:
    """All pairs of plates whose beads touch where their layers cross."""
    found: list[Joint] = []
    for (i, one), (j, two) in combinations(enumerate(pieces), 2):
        if one.axis == two.axis and not (one.turn or two.turn):
            continue
        sides = _side(i, one, two), _side(j, two, one)
        if sides[0] is not None and sides[1] is not None and _touch(one, two):
            found.append(Joint(len(found), (sides[0], sides[1])))
    return tuple(found)


def renumbered(found: Sequence[Joint], before: Sequence[Joint]) -> tuple[Joint, ...]:
    """Joints with the numbers that pairs of plates had before; new pairs come after all those."""
    numbers = {joint.plates: joint.number for joint in before}
    free = count(max(numbers.values(), default=-1) + 1)
    kept = [
        replace(j, number=numbers[j.plates] if j.plates in numbers else next(free)) for j in found
    ]
    return tuple(sorted(kept, key=lambda joint: joint.number))


def _touch(one: Piece, two: Piece) -> bool:
    """Whether two plates have beads next to each other on the line where their layers cross."""
    if one.turn or two.turn:
        return crossing.touch(one, two)
    a, b = one.axis, two.axis
    level_a, level_b = int(one.voxels[0, a]), int(two.voxels[0, b])
    along = 3 - a - b
    mine = set(one.voxels[one.voxels[:, b] == level_b][:, along].tolist())
    theirs = set(two.voxels[two.voxels[:, a] == level_a][:, along].tolist())
    return any(at + 1 in theirs or at - 1 in theirs for at in mine)


def _side(number: int, piece: Piece, other: Piece) -> Side | None:
    """Where the other plate's layer crosses this plate."""
    met = crossing.on_line if piece.turn or other.turn else _on_line
    rows, columns = met(piece, other)
    if not len(rows):
        return None
    height, width = piece.plate.cells.shape
    near = int(piece.turn != other.turn)  # a tab has two rows or more in what slopes
    edges = {
        "top": (rows <= near).all() and height > 1, "bottom": (rows >= height - 1 - near).all(),
        "left": (columns <= near).all() and width > 1,
        "right": (columns >= width - 1 - near).all(),
    }  # fmt: skip
    edge = next((name for name, lies in edges.items() if lies), "")
    if not edge:  # at an end: in the middle of a plus two slots cross
        row, column = _end(piece, other, rows, columns)
        return Side(number, "inside", row, column)
    return Side(number, edge, float(rows.mean()), float(columns.mean()))


def _on_line(piece: Piece, other: Piece) -> crossing.OnPlate:
    """Cells of a plate, empty ones too, in another's layer; only as far as that one reaches."""
    along = 3 - piece.axis - other.axis
    span = piece.places[along]
    near = (span >= other.voxels[:, along].min()) & (span <= other.voxels[:, along].max())
    level = int(other.voxels[0, other.axis])
    rows, columns = np.nonzero((piece.places[other.axis] == level) & near)
    return rows, columns


def _end(
    piece: Piece, other: Piece, rows: NDArray[np.int64], columns: NDArray[np.int64]
) -> tuple[float, float]:
    """Last cell of a line inside a plate: of what the other plate has of it, if it has any."""
    if piece.turn or other.turn:
        rows, columns = crossing.met_by(piece, other, rows, columns)
        return float(rows.max()), float(columns.max())
    along = 3 - piece.axis - other.axis
    level = int(piece.voxels[0, piece.axis])
    there = other.voxels[other.voxels[:, piece.axis] == level][:, along]
    filled = np.isin(piece.places[along][rows, columns], there)
    if filled.any():
        rows, columns = rows[filled], columns[filled]
    return float(rows.max()), float(columns.max())
