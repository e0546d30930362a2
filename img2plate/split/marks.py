"""Registration marks: what makes two neighbouring sheets line up.

Each seam is marked at pegs that both sheets name in whole-plate coordinates: a tick on the peg's
middle line, from the seam outwards, with the seam's number. Laid edge to edge the ticks of both
sheets run on as one line.
"""

from __future__ import annotations

from dataclasses import dataclass

from img2plate.split.tiles import Seam, Split, Tile

PLACES = (1 / 6, 0.6, 5 / 6)
"""Where along a seam its marks are; the middle of an edge is left to the board's own mark."""
LONG = 12
"""Pegs from which a seam has room for three marks."""


@dataclass(frozen=True)
class Mark:
    """One tick on the edge of a tile."""

    seam: int
    """Number of the seam."""
    neighbour: str
    """Name of the tile on the other side."""
    edge: str
    """`left`, `right`, `top` or `bottom` of this tile."""
    peg: int
    """Peg along the edge, whole-plate coordinate, from 0."""


def seam_pegs(seam: Seam) -> tuple[int, ...]:
    """Pegs along a seam that carry marks: near both ends and beside the middle, one when short."""
    first, last = seam.span
    length = last - first + 1
    pegs = (first + int(place * length) for place in (PLACES if length >= LONG else (0.5,)))
    # Every fifth peg has its number printed there; the mark steps aside.
    return tuple(peg - 1 if (peg + 1) % 5 == 0 and peg > first else peg for peg in pegs)


def marks_of(split: Split, tile: Tile) -> tuple[Mark, ...]:
    """Marks on all edges of a tile that touch another one."""
    return tuple(mark for seam in split.seams_of(tile) for mark in _marks_on(seam, tile))


def _marks_on(seam: Seam, tile: Tile) -> tuple[Mark, ...]:
    """One seam's marks, as seen from a tile."""
    pegs = seam_pegs(seam)
    side = (seam.number, _other(seam, tile).name, _edge(seam, tile))
    return tuple(Mark(*side, peg) for peg in pegs)


def _other(seam: Seam, tile: Tile) -> Tile:
    """The tile across the seam."""
    return seam.second if seam.first == tile else seam.first


def _edge(seam: Seam, tile: Tile) -> str:
    """On which edge of the tile the seam lies."""
    if seam.is_vertical:
        return "right" if seam.first == tile else "left"
    return "bottom" if seam.first == tile else "top"
