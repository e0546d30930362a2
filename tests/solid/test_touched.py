"""Plates touched up by hand: taken as they are, or refused by the cell that breaks something."""

from __future__ import annotations

import re
from collections.abc import Sequence

import numpy as np
import pytest
from figures_for_tests import PALETTE, figure, part
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from random_figures import assert_sound, figures
from roofs import roofed

from img2plate.base.errors import FigureError
from img2plate.solid.box.build import Figure, build
from img2plate.solid.spec import FigureSpec, FinSpec
from img2plate.solid.touched import touch_up

Changes = Sequence[tuple[int, int, int]]
"""Column and row from 1, new index."""
_CALM = {"deadline": None, "suppress_health_check": list(HealthCheck), "database": None}


@pytest.fixture(scope="module")
def chest() -> Figure:
    return figure(part(10, 8, 8, name="chest", lid="lift"))


def touched(made: Figure, title: str, changes: Changes) -> Figure:
    number = next(n for n, piece in enumerate(made.pieces) if piece.title == title)
    cells = made.pieces[number].plate.cells.copy()
    for column, row, index in changes:
        cells[row - 1, column - 1] = index
    return touch_up(made, {number: cells})


def test_colours_are_free_and_joints_keep_their_letters(chest: Figure) -> None:
    front = chest.pieces[0].plate.cells
    done = touch_up(chest, {0: np.where(front >= 0, 3, front).astype(np.int16)})
    assert (done.pieces[0].plate.cells[front >= 0] == 3).all()
    assert done.report is chest.report
    assert done.joints == chest.joints


def test_a_window_is_taken_and_its_beads_are_gone(chest: Figure) -> None:
    window = [(column, row, -1) for column in (4, 5, 6) for row in (4, 5)]
    done = touched(chest, "chest front", window)
    assert done.bead_count == chest.bead_count - 6
    assert [joint.letter for joint in done.joints] == [joint.letter for joint in chest.joints]


def test_a_joint_that_is_gone_leaves_its_letter_out() -> None:
    """A lid without its tab on one side: the other joints keep their letters."""
    made = figure(part(10, 8, 8, name="chest", lid="lift"))
    lid = next(n for n, p in enumerate(made.pieces) if p.name == "lid")
    gone = next(j for j in made.joints if j.plates == (0, lid))
    cells = made.pieces[lid].plate.cells.copy()
    cells[-2:] = -1
    done = touch_up(made, {lid: cells})
    kept = {joint.plates: joint.letter for joint in done.joints}
    assert kept == {j.plates: j.letter for j in made.joints if j is not gone}


@pytest.mark.parametrize(
    ("title", "changes", "words"),
    [
        ("chest front", [(3, 1, -1)],
         r"plate 1, chest front, column 3, row 1: without this bead, chest front and chest lid hold"
         r" each other only one way, at joint D; put it back, in any colour"),
        ("chest front", [(10, 1, 2)],
         r"plate 1, chest front, column 10, row 1: with this bead, chest right has a bead there,"
         r" too, at joint B; take it out again"),
        ("chest left", [(8, 7, -1), (3, 4, 1)],
         r"plate 3, chest left, column 8, row 7: without this bead, chest front and chest left have"
         r" fingers of uneven length, at joint A"),
        ("chest front", [(5, row, -1) for row in range(2, 9)],
         r"plate 1, chest front, column 5, row 2: without these 6 cells, it is in 2 pieces"),
    ],
)  # fmt: skip
def test_what_breaks_is_told_by_its_cell(
    chest: Figure, title: str, changes: Changes, words: str
) -> None:
    with pytest.raises(FigureError, match=words):
        touched(chest, title, changes)


def test_what_holds_a_fin_upright_is_looked_at_again() -> None:
    """The upper bead that another fin across it leans on."""
    sign = FinSpec("sign", ("box", "top"), np.full((9, 8), 2, np.int16), (4, 8))
    vane = FinSpec("vane", ("box", "top"), np.full((9, 9), 3, np.int16), (8, 4), upright=True)
    made = build(FigureSpec("trial", PALETTE, (part(18, 17, 15),), fins=(sign, vane)))
    assert touched(made, "sign fin", [(1, 1, -1)])
    with pytest.raises(FigureError, match=r"column 4, row 1: without this bead, vane fin: nothing"):
        touched(made, "sign fin", [(4, 1, -1)])


def test_a_plate_that_slopes_is_judged_again() -> None:
    """A skylight is taken; a bead of the ridge is missed, one over a wall's tab is too many."""
    made = roofed(part(12, 14, 9))
    assert touched(made, "roof left", [(c, r, -1) for c in (8, 9) for r in (4, 5)]).roofs
    with pytest.raises(FigureError, match=r"column 12, row 1: without .* hold each other only"):
        touched(made, "roof left", [(12, 1, -1)])
    with pytest.raises(FigureError, match=r"column 4, row 8: with .* it has no room beside"):
        touched(made, "roof right", [(4, 8, 2)])


def test_of_many_touches_the_one_that_breaks_is_named(chest: Figure) -> None:
    """Recoloured beads, two windows that are well, and one missing finger."""
    well = [(4, 3, -1), (6, 6, -1), (5, 5, 4), (2, 2, 4)]
    assert touched(chest, "chest back", well)
    with pytest.raises(FigureError, match=r"plate 2, chest back, column 3, row 8: without this"):
        touched(chest, "chest back", [*well, (3, 8, -1)])


@st.composite
def _touches(draw: st.DrawFn) -> tuple[FigureSpec, list[tuple[float, float, float, int]]]:
    """A figure, and touches: plate, row and column as shares of how many there are, a colour."""
    share = st.floats(0, 0.999)
    touch = st.tuples(share, share, share, st.sampled_from((-1, -1, 0, 3)))
    return draw(figures(9)), draw(st.lists(touch, min_size=1, max_size=6))


def _assert_sound_or_refused(
    spec: FigureSpec, touches: list[tuple[float, float, float, int]]
) -> bool:
    """Whether the touches were taken."""
    try:
        made = build(spec)
    except FigureError:
        assume(False)
    cells = {}
    for plate, row, column, colour in touches:
        number = int(plate * len(made.pieces))
        own = cells.setdefault(number, made.pieces[number].plate.cells.copy())
        own[int(row * own.shape[0]), int(column * own.shape[1])] = colour
    try:
        done = touch_up(made, cells)
    except FigureError as error:
        _named(str(error))
        return False
    assert_sound(done)
    for number, own in cells.items():
        assert np.array_equal(done.pieces[number].plate.cells, own)
    letters = {joint.plates: joint.letter for joint in made.joints}
    assert all(letters.get(j.plates, j.letter) == j.letter for j in done.joints)
    assert len({joint.letter for joint in done.joints}) == len(done.joints)
    return True


def _named(words: str) -> None:
    assert re.match(r"trial: plate \d+, .+, column \d+, row \d+: (with|as)", words), words
    assert "\n" not in words


@settings(max_examples=15, **_CALM)
@given(_touches())
def test_random_touches(case: tuple[FigureSpec, list[tuple[float, float, float, int]]]) -> None:
    _assert_sound_or_refused(*case)


@pytest.mark.soak
@settings(max_examples=300, **_CALM)
@given(_touches())
def test_more_random_touches(
    case: tuple[FigureSpec, list[tuple[float, float, float, int]]],
) -> None:
    _assert_sound_or_refused(*case)
