"""Cut a plate over boards: tiles, and the seams between them.

Tiles are named as a board map reads: a letter for the column, a number for the row, from the top
left (A1, B1, ... Z1, AA1). Peg coordinates run on over the whole plate and count from 0 in code,
from 1 for people.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from img2plate.base.arrays import Cells
from img2plate.base.errors import OptionError
from img2plate.plate.plate import Plate


@dataclass(frozen=True)
class Tile:
    """The part of a plate that lies on one board."""

    column: int
    row: int
    """Place on the board map, from 0."""
    x: int
    y: int
    """First peg, whole-plate coordinates, from 0."""
    width: int
    height: int
    """In pegs; at most the board's."""

    @property
    def name(self) -> str:
        """A1 is the top left tile, B1 the one to its right."""
        return f"{column_letters(self.column)}{self.row + 1}"

    def of(self, cells: Cells) -> Cells:
        """(height, width) view of the tile's cells."""
        return cells[self.y : self.y + self.height, self.x : self.x + self.width]


@dataclass(frozen=True)
class Seam:
    """The line between two neighbouring tiles."""

    number: int
    """From 1, counted over all inner seams of the plate."""
    first: Tile
    second: Tile
    """`second` lies to the right of `first`, or below it."""

    @property
    def is_vertical(self) -> bool:
        """Whether the tiles lie side by side."""
        return self.first.row == self.second.row

    @property
    def at(self) -> int:
        """Peg column (or row) of `second`'s first peg: the seam runs before it."""
        return self.second.x if self.is_vertical else self.second.y

    @property
    def span(self) -> tuple[int, int]:
        """First and last peg along the seam, whole-plate coordinates, from 0."""
        if self.is_vertical:
            return self.first.y, self.first.y + self.first.height - 1
        return self.first.x, self.first.x + self.first.width - 1


@dataclass(frozen=True)
class Split:
    """A plate's tiles in reading order, and its inner seams."""

    board: tuple[int, int]
    """Pegs of one board, width and height."""
    tiles: tuple[Tile, ...]
    seams: tuple[Seam, ...]

    @property
    def map_size(self) -> tuple[int, int]:
        """Boards across and down."""
        last = self.tiles[-1]
        return last.column + 1, last.row + 1

    def seams_of(self, tile: Tile) -> tuple[Seam, ...]:
        """Return the seams that touch a tile."""
        return tuple(seam for seam in self.seams if tile in (seam.first, seam.second))


def column_letters(column: int) -> str:
    """Name a column: 0 is A, 25 is Z, 26 is AA."""
    letters = ""
    column += 1
    while column:
        column, rest = divmod(column - 1, 26)
        letters = chr(ord("A") + rest) + letters
    return letters


def split(plate: Plate, board: tuple[int, int]) -> Split:
    """Cut a plate into tiles of the board's size, full boards first, from the top left.

    Raises OptionError for a board without pegs.
    """
    if min(board) < 1:
        raise OptionError(f"--board: a board of {board[0]} x {board[1]} has no pegs; try 29x29")
    width, height = plate.size
    wide, high = board
    tiles = tuple(
        Tile(x // wide, y // high, x, y, min(wide, width - x), min(high, height - y))
        for y in range(0, height, high)
        for x in range(0, width, wide)
    )
    return Split(board, tiles, _seams(tiles))


def _seams(tiles: tuple[Tile, ...]) -> tuple[Seam, ...]:
    """Number the seams: tile by tile in reading order, right edge before lower edge."""
    at = {(tile.column, tile.row): tile for tile in tiles}
    pairs = [
        (tile, neighbour)
        for tile in tiles
        for place in ((tile.column + 1, tile.row), (tile.column, tile.row + 1))
        if (neighbour := at.get(place))
    ]
    return tuple(Seam(number, *pair) for number, pair in enumerate(pairs, 1))


def join(tiles: Split, cells: list[Cells], size: tuple[int, int]) -> Cells:
    """Put tiles' cells together again; inverse of cutting. `size` is width, height in beads."""
    whole = np.full((size[1], size[0]), -1, dtype=np.int16)
    for tile, part in zip(tiles.tiles, cells, strict=True):
        tile.of(whole)[:] = part
    return whole
