"""Registration marks: what makes two neighbouring sheets line up.

Each seam is marked at pegs that both sheets name in whole-plate coordinates: a tick on the peg's
middle line, from the seam outwards, with the seam's number. Laid edge to edge the ticks of both
sheets run on as one line.
"""

from __future__ import annotations

from dataclasses import dataclass

from img2plate.split.tiles import Seam, Split, Tile

PLACES = {20: (1 / 6, 0.6, 5 / 6), 8: (0.25, 0.75), 1: (0.5,)}
"""Where along a seam of at least so many pegs its marks are, as shares of its length. The middle of
a long edge is left to the board's own mark."""


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
    """Pegs along a seam that carry marks: near both ends and beside the middle; fewer if short."""
    first, last = seam.span
    length = last - first + 1
    shares = next(shares for least, shares in PLACES.items() if length >= least)
    pegs = (first + int(share * length) for share in shares)
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
