"""Cut a plate over boards: tiles, and the seams between them.

Tiles are named as a board map reads: a letter for the column, a number for the row, from the top
left (A1, B1, ... Z1, AA1). Peg coordinates run on over the whole plate and count from 0 in code,
from 1 for people.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np

from img2plate.base.arrays import Cells
from img2plate.base.errors import OptionError
from img2plate.base.lengths import Board, Boards, owned_boards
from img2plate.base.words import column_letters
from img2plate.plate.plate import Plate
from img2plate.split.by_hand import read_seams
from img2plate.split.cover import cover
from img2plate.split.covered import detail_met, quieten
from img2plate.split.cuts import SMALLEST_TILE, cuts, detail
from img2plate.split.owned import boards_under


@dataclass(frozen=True)
class Tile:
    """The part of a plate that lies on one board."""

    column: int
    row: int
    """Place on the board map, from 0; where boards do not lie in columns, the place in its row."""
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
        return self.first.x + self.first.width == self.second.x

    @property
    def at(self) -> int:
        """Peg column (or row) of `second`'s first peg: the seam runs before it."""
        return self.second.x if self.is_vertical else self.second.y

    @property
    def span(self) -> tuple[int, int]:
        """First and last peg along the seam, whole-plate coordinates, from 0."""
        one, two = self.first, self.second
        if self.is_vertical:
            return max(one.y, two.y), min(one.y + one.height, two.y + two.height) - 1
        return max(one.x, two.x), min(one.x + one.width, two.x + two.width) - 1


@dataclass(frozen=True)
class Split:
    """A plate's tiles in reading order, and its inner seams."""

    board: tuple[int, int]
    """Pegs of one board, width and height; of several sizes the largest."""
    tiles: tuple[Tile, ...]
    seams: tuple[Seam, ...]
    detail_cut: int = 0
    """Colour changes that meet the seams, see `cuts`."""
    boards: tuple[Board, ...] = ()
    """The board under each tile, when they are of several sizes."""
    cover_words: str = ""
    """How good the cover is, when boards of several sizes were laid."""

    @property
    def map_size(self) -> tuple[int, int]:
        """Boards across and down; where they do not lie in columns, the most in a row."""
        return max(tile.column for tile in self.tiles) + 1, max(t.row for t in self.tiles) + 1

    @cached_property
    def is_grid(self) -> bool:
        """Whether all seams run over the whole plate."""
        columns, rows = ({getattr(tile, side) for tile in self.tiles} for side in ("x", "y"))
        return len(columns) * len(rows) == len(self.tiles)

    @property
    def has_sizes(self) -> bool:
        """Whether boards of several sizes lie below it."""
        return len(set(self.boards)) > 1

    def board_of(self, tile: Tile) -> tuple[int, int]:
        """Pegs of the board under a tile."""
        return self._board_under.get((tile.column, tile.row), self.board)

    @cached_property
    def _board_under(self) -> dict[tuple[int, int], Board]:
        """Boards by the place of their tiles."""
        if not self.boards:
            return {}
        places = [(tile.column, tile.row) for tile in self.tiles]
        return dict(zip(places, self.boards, strict=True))

    def seams_of(self, tile: Tile) -> tuple[Seam, ...]:
        """Return the seams that touch a tile."""
        return self._seams_at.get((tile.column, tile.row), ())

    def is_edge_to_edge(self, seam: Seam) -> bool:
        """Whether the boards of a seam lie edge to edge: no free pegs of the first one between."""
        across, down = self.board_of(seam.first)
        if seam.is_vertical:
            return seam.first.width == across
        return seam.first.height == down

    @cached_property
    def _seams_at(self) -> dict[tuple[int, int], tuple[Seam, ...]]:
        """Seams by the place of their tiles: a look-up, as a large plate has thousands."""
        found: dict[tuple[int, int], tuple[Seam, ...]] = {}
        for seam in self.seams:
            for tile in (seam.first, seam.second):
                place = tile.column, tile.row
                found[place] = (*found.get(place, ()), seam)
        return found


def split(
    plate: Plate, board: tuple[int, int], *, seams: str = "full", smallest: int = SMALLEST_TILE
) -> Split:
    """Cut a plate into tiles of at most the board's size, from the top left.

    `seams` is `full` (full boards first), `even` (balanced tiles) or `quiet` (where they cut the
    least detail, no tile under `smallest` pegs); none takes more boards than another. Else it says
    where they lie, see `by_hand`. Boards of several sizes are laid with the fewest joins, see
    `covered`; `seams` by hand say where they lie then too.
    Raises OptionError for a board without pegs, and for what `cuts` or `by_hand` refuses.
    """
    if min(board) < 1:
        raise OptionError(
            f"a board of {board[0]} x {board[1]} has no pegs", field="board", remedy="try 29x29"
        )
    if isinstance(board, Boards) and read_seams(seams) is None:
        return _covered(plate, board, seams, smallest)
    return _in_columns(plate, board, seams, smallest)


def _covered(plate: Plate, board: Boards, seams: str, smallest: int) -> Split:
    """Boards of several sizes, with the fewest joins. Raises OptionError."""
    best = cover(plate.size, owned_boards(board))
    parts = best.parts
    if seams == "quiet":
        parts = quieten(parts, plate.cells, smallest)
    parts = tuple(sorted(parts, key=lambda part: (part.y, part.x)))
    tiles, rows = [], sorted({part.y for part in parts})
    for part in parts:
        column = sum(other.y == part.y and other.x < part.x for other in parts)
        tiles.append(
            Tile(column, rows.index(part.y), part.x, part.y, part.width, part.height)
        )  # fmt: skip
    found = detail_met(parts, plate.cells)
    under = tuple(part.board for part in parts)
    return Split(Board(*board), tuple(tiles), _seams(tuple(tiles)), found, under, best.words)


def _in_columns(plate: Plate, board: tuple[int, int], seams: str, smallest: int) -> Split:
    """Seams that run over the whole plate. Raises OptionError."""
    across, down = detail(plate.cells, 1), detail(plate.cells, 0)
    if (placed := read_seams(seams)) is not None:
        placed.check(plate.size, board)
        columns, rows = (0, *placed.columns), (0, *placed.rows)
    else:
        columns = cuts(seams, across, board[0], smallest)
        rows = cuts(seams, down, board[1], smallest)
    tiles = tuple(
        Tile(column, row, x, y, right - x, bottom - y)
        for row, (y, bottom) in enumerate(pairwise((*rows, plate.size[1])))
        for column, (x, right) in enumerate(pairwise((*columns, plate.size[0])))
    )
    cut = int(across[list(columns)].sum() + down[list(rows)].sum())
    under: tuple[Board, ...] = ()
    if isinstance(board, Boards):
        sizes = [(tile.width, tile.height) for tile in tiles]
        under = tuple(boards_under(sizes, owned_boards(board)))
    return Split(board, tiles, _seams(tiles), cut, under)


def _seams(tiles: tuple[Tile, ...]) -> tuple[Seam, ...]:
    """Number the seams: tile by tile in reading order, right edges before lower edges."""
    pairs = []
    by_left: dict[int, list[Tile]] = {}
    by_top: dict[int, list[Tile]] = {}
    for tile in tiles:
        by_left.setdefault(tile.x, []).append(tile)
        by_top.setdefault(tile.y, []).append(tile)
    for tile in tiles:
        right, bottom = tile.x + tile.width, tile.y + tile.height
        pairs += [
            (tile, other)
            for other in by_left.get(right, ())
            if other.y < bottom and tile.y < other.y + other.height
        ]
        pairs += [
            (tile, other)
            for other in by_top.get(bottom, ())
            if other.x < right and tile.x < other.x + other.width
        ]
    return tuple(Seam(number, *pair) for number, pair in enumerate(pairs, 1))


def join(tiles: Split, cells: list[Cells], size: tuple[int, int]) -> Cells:
    """Put tiles' cells together again; inverse of cutting. `size` is width, height in beads."""
    whole = np.full((size[1], size[0]), -1, dtype=np.int16)
    for tile, part in zip(tiles.tiles, cells, strict=True):
        tile.of(whole)[:] = part
    return whole
