"""In which order to build, when fewer boards are owned than a plate needs.

Tiles are grouped into rounds of as many boards as are owned. A round's tiles are neighbours, and
each round touches an earlier one, so that its first tile is laid against a seam whose tape was left
hanging over. Before a round's boards are freed, its inner seams are taped across, the seams to
earlier rounds are closed with their flap, and the seams to later rounds get a flap.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from img2plate.base.errors import OptionError
from img2plate.plate.plate import Plate
from img2plate.split.tiles import Seam, Split, Tile

_Place = tuple[int, int]


@dataclass(frozen=True)
class Round:
    """Tiles that lie on boards at the same time."""

    number: int
    """From 1."""
    tiles: tuple[Tile, ...]
    """In the order to build in; each touches one that was built before, where it can."""
    inner: tuple[Seam, ...]
    """Between its own tiles: to be taped across."""
    joining: tuple[Seam, ...]
    """To earlier rounds: closed with the tape that hangs over there."""
    open: tuple[Seam, ...]
    """To later rounds: leave tape hanging over."""


def plan_rounds(plate: Plate, split: Split, owned: int) -> tuple[Round, ...]:
    """Group the tiles that hold beads into rounds of at most `owned` boards.

    Of all snakes over the board map, in bands of each height up to `owned` and both ways, the one
    that leaves tiles without a built neighbour least often, then tears fewest rounds apart, then
    leaves fewest seams open. Raises OptionError when no board is owned.
    """
    if owned < 1:
        raise OptionError(
            "is not a number of boards", field="boards_owned", value=owned, remedy="give at least 1"
        )
    filled = {
        (tile.column, tile.row): tile for tile in split.tiles if np.any(tile.of(plate.cells) >= 0)
    }
    columns, rows = split.map_size
    snakes = [list(_snake(columns, rows, band)) for band in range(1, min(owned, rows) + 1)]
    snakes += [
        [(x, y) for y, x in _snake(rows, columns, band)]
        for band in range(1, min(owned, columns) + 1)
    ]
    orders = [[place for place in snake if place in filled] for snake in snakes]
    best = min(orders, key=lambda order: _cost(order, owned))
    groups = [[filled[place] for place in best[i : i + owned]] for i in range(0, len(best), owned)]
    return with_seams(groups, split)


def _snake(columns: int, rows: int, band: int) -> Iterator[_Place]:
    """Walk the map in bands of rows; in a band column by column, there and back."""
    rightwards = True
    for top in range(0, rows, band):
        lines = range(top, min(top + band, rows))
        downwards = True
        for column in range(columns) if rightwards else reversed(range(columns)):
            yield from ((column, row) for row in (lines if downwards else reversed(lines)))
            downwards = not downwards
        rightwards = not rightwards


def _cost(order: list[_Place], owned: int) -> tuple[int, int, int]:
    """Tiles laid without a built neighbour, rounds torn apart, seams between rounds."""
    at = {place: number for number, place in enumerate(order)}
    lonely = torn = between = 0
    for number, place in enumerate(order):
        built = [at[n] for n in _neighbours(place) if n in at and at[n] < number]
        in_round = [n for n in built if n // owned == number // owned]
        lonely += number > 0 and not built
        # A round that is one piece, walked so that each tile touches an earlier one of it.
        torn += number % owned > 0 and not in_round
        between += len(built) - len(in_round)
    return lonely, torn, between


def _neighbours(place: _Place) -> tuple[_Place, ...]:
    """The four places beside one."""
    x, y = place
    return (x - 1, y), (x + 1, y), (x, y - 1), (x, y + 1)


def with_seams(groups: list[list[Tile]], split: Split) -> tuple[Round, ...]:
    """Say of each seam of each group whether it lies inside it, or where it leads."""
    round_of = {
        (tile.column, tile.row): number for number, group in enumerate(groups) for tile in group
    }
    kinds: list[tuple[list[Seam], list[Seam], list[Seam]]] = [([], [], []) for _ in groups]
    for seam in split.seams:
        ends = [round_of.get((tile.column, tile.row)) for tile in (seam.first, seam.second)]
        if ends[0] is None or ends[1] is None:
            continue
        early, late = sorted((ends[0], ends[1]))
        if early == late:
            kinds[early][0].append(seam)
        else:
            kinds[late][1].append(seam)
            kinds[early][2].append(seam)
    return tuple(
        Round(number, tuple(group), *(tuple(seams) for seams in three))
        for number, (group, three) in enumerate(zip(groups, kinds, strict=True), 1)
    )
