"""Registration marks: where along a seam, on which edge of a tile, and towards which neighbour."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from support import make_plate

from img2plate.split.marks import Mark, marks_of, seam_pegs
from img2plate.split.tiles import Seam, Tile, split


def vertical(first: int, length: int) -> Seam:
    """A seam between two tiles side by side, from a peg on."""
    return Seam(1, Tile(0, 0, 0, first, 5, length), Tile(1, 0, 5, first, 5, length))


@pytest.mark.parametrize(
    ("first", "length", "pegs"),
    [
        (0, 1, (0,)),
        (0, 7, (3,)),
        (0, 8, (2, 6)),
        (0, 19, (3, 13)),  # peg 4 is the fifth: its number stands there, and the mark steps aside
        (0, 20, (3, 12, 16)),
        (0, 29, (3, 17, 23)),
        (29, 29, (33, 46, 53)),
        (4, 1, (4,)),  # nowhere to step to
    ],
)
def test_pegs_of_a_seam(first: int, length: int, pegs: tuple[int, ...]) -> None:
    assert seam_pegs(vertical(first, length)) == pegs


@given(st.integers(0, 99), st.integers(1, 60))
def test_marks_lie_on_the_seam_and_beside_the_numbers(first: int, length: int) -> None:
    pegs = seam_pegs(vertical(first, length))
    assert list(pegs) == sorted(set(pegs))
    assert all(first <= peg < first + length for peg in pegs)
    assert len(pegs) == (3 if length >= 20 else 2 if length >= 8 else 1)
    assert all((peg + 1) % 5 or peg == first for peg in pegs)


def test_a_tile_in_the_middle_has_marks_on_its_four_edges() -> None:
    cut = split(make_plate(21, 21), (7, 7))
    (middle,) = (tile for tile in cut.tiles if tile.name == "B2")
    marks = {mark.edge: mark for mark in marks_of(cut, middle)}
    assert {edge: mark.neighbour for edge, mark in marks.items()} == {
        "left": "A2", "right": "C2", "top": "B1", "bottom": "B3",
    }  # fmt: skip
    assert {mark.peg for mark in marks.values()} == {10}
    (left,) = (tile for tile in cut.tiles if tile.name == "A2")
    seam = marks["left"].seam
    assert Mark(seam, "B2", "right", 10) in marks_of(cut, left)


def test_boards_lie_edge_to_edge_where_the_first_is_full() -> None:
    cut = split(make_plate(20, 15), (10, 8), seams="even")
    across, down = (next(s for s in cut.seams if s.is_vertical is side) for side in (True, False))
    assert cut.is_edge_to_edge(across)  # 10 and 10
    assert not cut.is_edge_to_edge(down)  # 7 and 8: a row of pegs is free between them
    assert (across.at, across.span) == (10, (0, 6))
    assert (down.at, down.span) == (7, (0, 9))
    second = [seam for seam in cut.seams if seam.is_vertical][1]
    assert second.span == (7, 14)
