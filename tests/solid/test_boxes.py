"""Boxes of any size go together: judged by the checker and, for the main rules, by numpy alone."""

from __future__ import annotations

from itertools import groupby, product

import numpy as np
import pytest
from figures_for_tests import PALETTE, figure, figure_or_refusal, part, shell, solids
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.ndimage import label

from img2plate.base.errors import FigureError
from img2plate.solid.box.build import Figure
from img2plate.solid.box.corners import Wishes, _corner_choices, _fit_edges, _Words, plan_edges
from img2plate.solid.box.fingers import patterns
from img2plate.solid.box.judged import exceptions_of
from img2plate.solid.check.rules import check
from img2plate.solid.faces import FACES, face_size
from img2plate.solid.spec import OpeningSpec, ShelfSpec

SIDES = st.integers(3, 40)
ALL = frozenset(FACES)


def assert_sound(made: Figure) -> None:
    """Each bead once, plates in one piece, counts as the sum: without the project's checker."""
    places = np.concatenate([piece.voxels for piece in made.pieces])
    assert len(np.unique(places, axis=0)) == len(places) == made.bead_count
    for piece in made.pieces:
        assert label(piece.plate.filled)[1] == 1, piece.title
        assert np.ptp(piece.voxels[:, piece.axis]) == 0
    total = sum(piece.plate.counts() for piece in made.pieces)
    np.testing.assert_array_equal(made.counts(), total)
    assert made.counts().sum() == made.bead_count
    again = check(solids(made), [places], exceptions_of(made.pieces))
    assert not again.findings
    for group, steps in again.orders.items():
        names = [s.name for s in steps]
        wanted = [p.title for p in made.pieces if p.group == group]
        assert sorted(names) == sorted(wanted or {p.group for p in made.pieces})


@settings(deadline=None, max_examples=25)
@given(SIDES, SIDES, SIDES, st.integers(0, 8))
def test_a_box_of_any_size_goes_together(wide: int, deep: int, high: int, finger: int) -> None:
    if (wide, deep, high) == (3, 3, 3):
        return  # see the next test
    made = figure(part(wide, deep, high, finger=finger))
    assert_sound(made)
    places = np.concatenate([piece.voxels for piece in made.pieces])
    wanted = shell(wide, deep, high)
    np.testing.assert_array_equal(places[np.lexsort(places.T)], wanted[np.lexsort(wanted.T)])
    last = made.report.orders["box"][-1]
    assert last.axis == next(p.axis for p in made.pieces if p.title == last.name)


def test_all_small_boxes_go_together_but_the_one_that_cannot() -> None:
    for size in np.ndindex(3, 3, 3):
        wide, deep, high = (int(n) + 3 for n in size)
        if (wide, deep, high) != (3, 3, 3):
            assert_sound(figure(part(wide, deep, high)))
    with pytest.raises(FigureError, match="3 x 3 x 3"):
        figure(part(3, 3, 3))


def test_three_by_three_by_three_is_impossible_for_every_choice_of_corners() -> None:
    """All 3^8 ways to give the corners away, by the rule that each must hang on its plate."""
    choices = _corner_choices((3, 3, 3), ALL, Wishes())
    every = list(product(*choices.values()))
    assert len(every) == 3**8
    words = _Words((3, 3, 3), Wishes())
    for faces in every:
        owners = dict(zip(choices, faces, strict=True))
        assert _fit_edges(ALL, owners, words) is None


@settings(deadline=None, max_examples=20)
@given(
    st.tuples(*[st.integers(4, 20)] * 3), st.sets(st.sampled_from(FACES), max_size=2),
    st.booleans(),
)  # fmt: skip
def test_open_boxes_and_lids(size: tuple[int, int, int], gone: set[str], lid: bool) -> None:
    lid = lid and "top" not in gone
    made = figure(part(*size, open=frozenset(gone), lid="lift" if lid else ""))
    assert_sound(made)
    assert {p.name.replace("lid", "top") for p in made.pieces} == ALL - gone
    if lid:
        assert made.report.orders["box"][-1].name == "box lid", "comes off first"


@settings(deadline=None, max_examples=20)
@given(st.integers(7, 40), st.integers(10, 40), st.integers(11, 40), st.booleans())
def test_sliding_lid_and_shelf(wide: int, deep: int, high: int, shelf: bool) -> None:
    shelves = (ShelfSpec(4, 2),) if shelf and wide >= 10 else ()
    made = figure(part(wide, deep, high, lid="slide", shelves=shelves))
    assert_sound(made)
    last = made.report.orders["box"][-1]
    assert (last.name, last.axis, last.step) == ("box lid", 1, -1), "slides out to the front"


@settings(deadline=None, max_examples=20)
@given(st.data())
def test_faces_with_empty_cells(data: st.DataObject) -> None:
    """Single holes well inside are always possible; anything else is built whole, or refused."""
    size = tuple(data.draw(st.integers(6, 16)) for _ in range(3))
    rng = np.random.default_rng(data.draw(st.integers(0, 99)))
    wild = data.draw(st.booleans())
    cells = {}
    for face in data.draw(st.sets(st.sampled_from(FACES), min_size=1)):
        wide, high = face_size(face, size)
        cells[face] = rng.integers(0, 6, (high, wide)).astype(np.int16)
        if wild:
            cells[face][rng.random((high, wide)) < 0.15] = -1
        else:
            cells[face][3:-3:2, 3:-3:2][rng.random((high, wide))[3:-3:2, 3:-3:2] < 0.4] = -1
    made = figure_or_refusal(part(*size, cells=cells))
    if isinstance(made, str):
        assert wild
        assert "box" in made
        return
    assert_sound(made)


@settings(deadline=None, max_examples=25)
@given(st.data())
def test_openings_are_cut_or_refused_with_the_cell(data: st.DataObject) -> None:
    size = tuple(data.draw(st.integers(5, 20)) for _ in range(3))
    face = data.draw(st.sampled_from(FACES))
    wide, high = face_size(face, size)
    cells = data.draw(st.integers(1, wide)), data.draw(st.integers(1, high))
    at = data.draw(st.integers(0, wide - 1)), data.draw(st.integers(0, high - 1))
    whole = figure(part(*size))
    safe = all(
        a >= 3 and a + n <= side - 3 for a, n, side in zip(at, cells, (wide, high), strict=True)
    )
    made = figure_or_refusal(part(*size, openings=(OpeningSpec(face, cells, at),)))
    if isinstance(made, str):
        assert not safe
        assert "column" in made
        assert "row" in made
        return
    assert_sound(made)
    assert made.bead_count == whole.bead_count - cells[0] * cells[1]
    plate = next(p.plate for p in made.pieces if p.name == face)
    assert (plate.cells[at[1] : at[1] + cells[1], at[0] : at[0] + cells[0]] < 0).all()


@given(st.integers(6, 200), st.sampled_from("PQFN"), st.sampled_from("PQFN"), st.integers(1, 20))
def test_long_fingers_are_even_and_symmetric(n: int, start: str, end: str, finger: int) -> None:
    (word,) = patterns(n, start, end, finger)
    assert len(word) == n
    assert start in ("N", word[0])
    assert end in ("N", word[-1])
    runs = [len(list(run)) for letter, run in groupby(word) if letter != "F"]
    assert max(runs) - min(runs) <= 1
    assert "PQ" in word
    assert "QP" in word
    body = word.strip("F")
    assert min(runs) >= 2 or len(body) < 8
    if len(runs) % 2 and (len(body) - sum(runs)) == 0 and word.strip("F")[0] == word.strip("F")[-1]:
        assert body == body[::-1], "the same read from either end"


def test_finger_length_is_taken() -> None:
    words = plan_edges((40, 40, 40), ALL, Wishes(finger=4))
    for word in words.values():
        runs = [len(list(run)) for letter, run in groupby(word) if letter != "F"]
        assert all(3 <= run <= 5 for run in runs)


def test_edge_beads_take_the_colour_of_the_first_face_in_the_order() -> None:
    red, blue = np.full((8, 9), 2, np.int16), np.full((8, 7), 3, np.int16)
    for order, wanted in ((("front", "left"), 2), (("left", "front"), 3)):
        made = figure(
            part(9, 7, 8, cells={"front": red, "left": blue}, colour_order=(*order, *FACES))
        )
        for piece in made.pieces:
            edge = (piece.places[0] == 0) & (piece.places[1] == 0) & piece.plate.filled
            assert (piece.plate.cells[edge] == wanted).all()


def test_missing_faces_are_filled_from_the_nearest() -> None:
    front, back = np.full((10, 8), 2, np.int16), np.full((10, 8), 4, np.int16)
    made = figure(part(8, 12, 10, colour=None, cells={"front": front, "back": back}))
    right = next(piece for piece in made.pieces if piece.name == "right")
    assert (right.plate.cells[2:-2, 1:6] == 2).all()
    assert (right.plate.cells[2:-2, 7:-1] == 4).all()
    with pytest.raises(FigureError, match="what colour"):
        figure(part(8, 12, 10, colour=None))


def test_a_picture_is_seen_from_outside_the_right_way_up() -> None:
    """A mark in the upper left of each face, by the drawing in solid/faces.py."""
    corner = {
        "front": (2, 0, 7), "back": (6, 8, 7), "left": (0, 6, 7), "right": (8, 2, 7),
        "top": (2, 6, 9), "bottom": (2, 2, 0),
    }  # fmt: skip
    for face, place in corner.items():
        wide, high = face_size(face, (9, 9, 10))
        cells = np.zeros((high, wide), np.int16)
        cells[2, 2] = 5
        made = figure(part(9, 9, 10, cells={face: cells}))
        marked = [
            tuple(v)
            for p in made.pieces
            for v, c in zip(p.voxels.tolist(), p.plate.cells[p.plate.filled].tolist(), strict=True)
            if c == 5
        ]
        assert marked == [place], face


def test_the_palette_is_the_figure_s() -> None:
    assert all(piece.plate.palette is PALETTE for piece in figure(part(5, 5, 5)).pieces)
