"""Empty cells at edges: where the first joints do not hold, a few beads settled beforehand do."""

from __future__ import annotations

from random import Random

import numpy as np
import pytest
from figures_for_tests import figure
from random_figures import assert_sound

from img2plate.base.errors import FigureError
from img2plate.solid.faces import FACES, Size, face_size
from img2plate.solid.spec import PartSpec

Holes = dict[str, tuple[int, int, int, int]]
"""For each face the first and last column and row, from 0, that are empty."""


def with_holes(size: Size, holes: Holes) -> PartSpec:
    cells = {}
    for face, (left, right, top, foot) in holes.items():
        wide, high = face_size(face, size)
        cells[face] = np.full((high, wide), len(cells), np.int16)
        cells[face][top : foot + 1, left : right + 1] = -1
    return PartSpec("body", size, cells=cells, colour=1)


@pytest.mark.parametrize(
    ("size", "holes"),
    [
        ((7, 6, 4), {"front": (2, 2, 1, 3)}),
        ((13, 6, 5), {"back": (12, 12, 1, 4), "top": (12, 12, 3, 4)}),
        ((3, 5, 8), {"left": (1, 3, 6, 7), "bottom": (1, 2, 2, 2)}),
        ((5, 5, 13), {"right": (1, 3, 10, 11), "front": (1, 2, 9, 12)}),
    ],
    ids=["a strip of the edge bridges", "a corner to the third face", "a bead to its other face",
         "fingers of uneven length"],
)  # fmt: skip
def test_a_few_beads_settled_are_enough(size: Size, holes: Holes) -> None:
    assert_sound(figure(with_holes(size, holes)))


def test_few_boxes_with_holes_at_their_edges_are_refused() -> None:
    """Holes of up to 4 x 4 anywhere in up to three faces: of 60 one may be, it was four."""
    rng, refused = Random(5), 0
    for _ in range(60):
        least = rng.choice((3, 4, 5, 7, 9))
        size = (rng.randint(least, 13), rng.randint(least, 13), rng.randint(least, 13))
        holes = {}
        for face in rng.sample(FACES, rng.randint(1, 3)):
            wide, high = face_size(face, size)
            left, top = rng.randrange(wide), rng.randrange(high)
            holes[face] = left, left + rng.randint(0, 3), top, top + rng.randint(0, 3)
        try:
            made = figure(with_holes(size, holes))
        except FigureError:
            refused += 1
            continue
        assert_sound(made)
    assert refused <= 1


def test_what_no_settling_mends_is_told_as_it_is() -> None:
    """The bottom is in two halves, with three empty rows from edge to edge between them."""
    with pytest.raises(FigureError, match="bottom: in 2 pieces, one of them"):
        figure(with_holes((9, 4, 6), {"bottom": (2, 2, 0, 3), "top": (8, 8, 1, 3)}))
