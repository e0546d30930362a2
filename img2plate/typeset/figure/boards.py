"""Which plates of a figure lie on one board, to be laid and pressed together, or on several."""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil
from typing import NamedTuple

from img2plate.plate.plate import Plate
from img2plate.solid.piece import Piece
from img2plate.split.layout import Size, lay_out
from img2plate.split.tiles import Split, split

APART_MM = 14.0
"""Least from plate to plate: tape for each, and room for the letters of both."""


class Lying(NamedTuple):
    """Where a plate lies on its board, or that it has boards of its own."""

    number: int
    """Place among the figure's plates."""
    column: int
    row: int
    """Peg of its upper left cell, from 0."""


def share_boards(
    pieces: Sequence[Piece], numbers: Sequence[int], room: Size, pitch_mm: float
) -> list[tuple[Lying, ...]]:
    """Plates by board, boards in the order of their first plates; none is turned.

    Plates of one board are pressed to one thickness. A plate larger than the room is by itself.
    """
    by_thickness: dict[float, list[int]] = {}
    boards: list[tuple[Lying, ...]] = []
    for number in numbers:
        piece = pieces[number]
        if all(side <= most for side, most in zip(piece.plate.size, room, strict=True)):
            by_thickness.setdefault(round(piece.thickness_mm, 3), []).append(number)
        else:
            boards.append((Lying(number, 0, 0),))
    for alike in by_thickness.values():
        boards += _packed(pieces, alike, room, ceil(APART_MM / pitch_mm))
    return sorted(boards)


def _packed(
    pieces: Sequence[Piece], numbers: Sequence[int], room: Size, gap: int
) -> list[tuple[Lying, ...]]:
    """Plates of one thickness on as few boards as are found."""
    sizes = [pieces[number].plate.size for number in numbers]
    layout = lay_out(sizes, room, gap, may_turn=False)
    boards: list[list[Lying]] = [[] for _ in range(layout.sets)]
    for at in layout.placed:
        boards[at.place].append(Lying(numbers[at.number], at.column, at.row))
    return [tuple(sorted(board)) for board in boards]


def cut_plate(plate: Plate, board: tuple[int, int], seams: str, smallest: int) -> Split:
    """Cut a plate over boards; where full boards would leave a sliver, seams lie elsewhere.

    smallest: pegs that a tile of a larger plate keeps. Raises OptionError.
    """
    cut = split(plate, board, seams=seams, smallest=smallest)
    wide, high = (min(smallest, side) for side in plate.size)
    slivers = any(tile.width < wide or tile.height < high for tile in cut.tiles)
    if seams == "full" and slivers:
        return split(plate, board, seams="even", smallest=smallest)
    return cut
