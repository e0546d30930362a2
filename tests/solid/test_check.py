"""The checker notices what is wrong: each mutant of a sound figure must be caught."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from dataclasses import replace
from itertools import combinations
from pathlib import Path

import numpy as np
import pytest
from figures_for_tests import figure, figure_or_refusal, part, solids
from hypothesis import given, settings
from hypothesis import strategies as st

from img2plate.base.errors import FigureError
from img2plate.solid.box.build import Figure
from img2plate.solid.box.judged import exceptions_of
from img2plate.solid.check import lattice
from img2plate.solid.check.lattice import Exceptions, Solid
from img2plate.solid.check.rules import check
from img2plate.solid.faces import face_size
from img2plate.solid.spec import JoinSpec, ShelfSpec


def test_fingers_are_laid_out_on_the_cells_that_exist() -> None:
    """A doorway to the floor, battlements and trimmed corners stay as they were drawn."""
    made = FIGURES["doorway"]()
    front = next(p.plate for p in made.pieces if p.name == "front")
    assert (front.cells[5:12, 6:12] < 0).all(), "the floor has its edge in the doorway"
    for side in (front.filled[-1, :6], front.filled[-1, 12:]):
        assert 2 <= side.sum() <= 4, "and fingers on either side of it"
    made = FIGURES["battlements"]()
    for piece in made.pieces:
        if piece.name != "bottom":
            assert (piece.plate.cells[:2, 2:4] < 0).all()
            assert (piece.plate.cells[:2, 4:6] >= 0).all()
    made = FIGURES["trimmed"]()
    front = next(p.plate for p in made.pieces if p.name == "front")
    assert (front.cells[:3, :2] < 0).all()
    assert front.filled[:, 2:14].all()


def test_a_shelf_s_tab_makes_room_for_a_window() -> None:
    """It moves aside, or is refused with row and plate; no stub of it stays in a window."""
    window = with_holes(16, 14, ((slice(6, 12), slice(6, 10)),))
    made = figure(part(16, 12, 14, cells={"front": window}, shelves=(ShelfSpec(4, 2),)))
    front = next(p.plate for p in made.pieces if p.name == "front")
    shelf = next(p for p in made.pieces if p.role == "shelf")
    tab = shelf.voxels[shelf.voxels[:, 1] == 0][:, 0]
    assert len(tab) >= 2
    assert np.ptp(tab) == len(tab) - 1
    assert not set(tab.tolist()) & set(range(4, 12))
    assert (front.cells[6:12, 6:10] < 0).all()
    wide = with_holes(16, 14, ((slice(6, 12), slice(3, 13)),))
    said = figure_or_refusal(part(16, 12, 14, cells={"front": wide}, shelves=(ShelfSpec(4, 2),)))
    assert isinstance(said, str)
    for word in ("box front", "shelf at 4", "row 10", "another level"):
        assert word in said


def test_few_beads_at_both_ends_of_an_edge_are_a_joint() -> None:
    """An edge with a long gap, three beads left: the other plates hold the two the other way."""
    for size, gone, face, hole in (
        ((7, 8, 7), frozenset(), "bottom", (slice(6, 8), slice(2, 6))),
        ((10, 12, 11), frozenset({"top"}), "left", (slice(0, 4), slice(1, 3))),
    ):
        wide, high = face_size(face, size)
        made = figure_or_refusal(
            part(*size, open=gone, cells={face: with_holes(wide, high, (hole,))})
        )
        assert not isinstance(made, str), made
        assert run(made, solids(made)) == ()


@settings(deadline=None, max_examples=25)
@given(st.data())
def test_holes_down_to_the_edges_are_built_as_drawn_or_refused(data: st.DataObject) -> None:
    """Any rectangle may be missing at the edge of a wall; what is built is what was drawn."""
    size = tuple(data.draw(st.integers(8, 18)) for _ in range(3))
    cells = {}
    for face in ("front", "left", "right"):
        wide, high = face_size(face, size)
        left, top = data.draw(st.integers(0, wide - 1)), data.draw(st.integers(0, high - 1))
        across, down = data.draw(st.integers(1, wide)), data.draw(st.integers(1, high))
        holes = ((slice(top, top + down), slice(left, left + across)),)
        cells[face] = with_holes(wide, high, holes)
    gone = data.draw(st.sampled_from([set(), {"top"}, {"bottom"}, {"back"}]))
    made = figure_or_refusal(part(*size, cells=cells, open=frozenset(gone)))
    if isinstance(made, str):
        assert "box" in made
        assert not re.search(r"[PQF]{3}", made), "no finger strings"
        return
    assert run(made, solids(made)) == ()
    for face, drawn in cells.items():
        plate = next(p.plate for p in made.pieces if p.name == face)
        assert not plate.filled[1:-1, 1:-1][drawn[1:-1, 1:-1] < 0].any()


def test_the_checker_knows_nothing_of_the_generator() -> None:
    own = Path(lattice.__file__).parent
    modules = sorted(own.glob("*.py"))
    assert len(modules) > 3
    for module in modules:
        rooms = set(re.findall(r"img2plate\.solid\.(\w+)", module.read_text("utf-8")))
        assert rooms <= {"check", "connected", "turn"}, module


DOOR = ((slice(5, 12), slice(6, 12)),)
MERLONS = tuple((slice(0, 2), slice(at, at + 2)) for at in (2, 6, 10))
SIDES = ((slice(0, 3), slice(None)), (slice(11, 14), slice(None)))
CORNERS = tuple((rows, columns) for rows in (slice(0, 3), slice(11, 14))
                for columns in (slice(0, 2), slice(14, 16)))  # fmt: skip


def with_holes(wide: int, high: int, holes: Iterable[tuple[slice, slice]]) -> np.ndarray:
    """(high, wide) cells of one colour, empty at rows and columns."""
    cells = np.ones((high, wide), np.int16)
    for hole in holes:
        cells[hole] = -1
    return cells


FIGURES = {
    "cube": lambda: figure(part(8, 8, 8)),
    "long": lambda: figure(part(9, 14, 30)),
    "flat": lambda: figure(part(20, 12, 5)),
    "tiny": lambda: figure(part(3, 4, 5)),
    "open": lambda: figure(part(12, 10, 9, open=frozenset({"top"}))),
    "lid": lambda: figure(part(12, 10, 9, lid="lift")),
    "doorway": lambda: figure(part(18, 10, 12, cells={"front": with_holes(18, 12, DOOR)})),
    "doorway without a floor": lambda: figure(
        part(18, 10, 12, open=frozenset({"bottom"}), cells={"front": with_holes(18, 12, DOOR)})
    ),
    "battlements": lambda: figure(
        part(
            14,
            14,
            16,
            open=frozenset({"top"}),
            cells=dict.fromkeys(("front", "back", "left", "right"), with_holes(14, 16, MERLONS)),
        )
    ),
    "trimmed": lambda: figure(
        part(
            16,
            9,
            14,
            open=frozenset({"top", "bottom"}),
            cells=dict.fromkeys(("front", "back"), with_holes(16, 14, CORNERS))
            | dict.fromkeys(("left", "right"), with_holes(9, 14, SIDES)),
        )
    ),
    "slide": lambda: figure(part(12, 12, 14, lid="slide", shelves=(ShelfSpec(4, 2),))),
}


def run(made: Figure, changed: list[Solid]) -> tuple[str, ...]:
    """Findings for changed plates against what the figure should be."""
    wanted = np.concatenate([piece.voxels for piece in made.pieces])
    allowed = exceptions_of(made.pieces, made.spec.parts)
    return check(changed, [wanted], allowed, made.rods).findings


def replaced(all_: list[Solid], number: int, voxels: np.ndarray) -> list[Solid]:
    """The same plates, one with other beads."""
    old = all_[number]
    return [*all_[:number], Solid(old.name, old.group, voxels, old.axis), *all_[number + 1 :]]


def fingers_of(made: Figure, i: int, j: int) -> list[np.ndarray]:
    """Runs of beads of plate i on the line where it crosses plate j."""
    one, two = made.pieces[i], made.pieces[j]
    if one.axis == two.axis:
        return []
    on_line = one.voxels[one.voxels[:, two.axis] == two.voxels[0, two.axis]]
    along = 3 - one.axis - two.axis
    on_line = on_line[np.argsort(on_line[:, along])]
    cuts = np.flatnonzero(np.diff(on_line[:, along]) > 1) + 1
    return [run for run in np.split(on_line, cuts) if len(run)]


@pytest.fixture(params=FIGURES, scope="module")
def made(request: pytest.FixtureRequest) -> Figure:
    return FIGURES[request.param]()


def test_sound_figures_pass(made: Figure) -> None:
    assert run(made, solids(made)) == ()


def test_a_finger_that_one_plate_lost_or_gained_is_caught(made: Figure) -> None:
    for i, j in combinations(range(len(made.pieces)), 2):
        for finger in fingers_of(made, i, j):
            plates = solids(made)
            gone = {tuple(v) for v in finger.tolist()}
            kept = np.array([v for v in plates[i].voxels.tolist() if tuple(v) not in gone])
            assert run(made, replaced(plates, i, kept)), "lost"
            gained = np.concatenate([plates[j].voxels, finger])
            assert run(made, replaced(plates, j, gained)), "gained by the other too"


def test_a_finger_flipped_on_both_sides_is_caught(made: Figure) -> None:
    """The finger goes to the neighbour, so that every bead still is in one plate.

    On edges of 3 or 4 beads that can be another sound figure, so only longer ones count.
    """
    flipped = 0
    for i, j in combinations(range(len(made.pieces)), 2):
        along = {0, 1, 2} - {made.pieces[i].axis, made.pieces[j].axis}
        short = any(np.ptp(made.pieces[i].voxels[:, a]) < 4 for a in along)
        slides = "slide" in {made.pieces[i].role, made.pieces[j].role}
        for a, b in ((i, j), (j, i)):
            for finger in fingers_of(made, a, b):
                plates = solids(made)
                gone = {tuple(v) for v in finger.tolist()}
                kept = np.array([v for v in plates[a].voxels.tolist() if tuple(v) not in gone])
                if not len(kept):
                    continue
                changed = replaced(plates, a, kept)
                changed = replaced(changed, b, np.concatenate([plates[b].voxels, finger]))
                if not slides and not short:
                    flipped += 1
                    assert run(made, changed), (made.pieces[a].title, made.pieces[b].title)
    assert flipped > 5


def test_a_doubled_or_lost_corner_is_caught(made: Figure) -> None:
    corners = [np.flatnonzero(p.voxels.sum(axis=1) == p.voxels.sum(axis=1).max())[0]
               for p in made.pieces]  # fmt: skip
    for number, corner in enumerate(corners):
        plates = solids(made)
        bead = plates[number].voxels[corner]
        other = (number + 1) % len(plates)
        doubled = np.concatenate([plates[other].voxels, bead[None]])
        assert run(made, replaced(plates, other, doubled))
        twice = np.concatenate([plates[number].voxels, bead[None]])
        assert run(made, replaced(plates, number, twice))
        lost = np.delete(plates[number].voxels, corner, axis=0)
        assert run(made, replaced(plates, number, lost))


def test_a_cut_plate_is_caught_even_when_nothing_was_wanted_there(made: Figure) -> None:
    """A row through the middle is missing from plate and wish alike."""
    for number, piece in enumerate(made.pieces):
        plates = solids(made)
        axis = next(a for a in range(3) if a != piece.axis)
        middle = int(np.median(piece.voxels[:, axis]))
        kept = piece.voxels[piece.voxels[:, axis] != middle]
        if len(kept) and kept[:, axis].min() < middle < kept[:, axis].max():
            changed = replaced(plates, number, kept)
            wanted = [np.concatenate([s.voxels for s in changed])]
            findings = check(changed, wanted, exceptions_of(made.pieces)).findings
            assert any("pieces" in str(finding) for finding in findings), piece.title


def test_a_bead_too_many_and_a_bent_plate_are_caught(made: Figure) -> None:
    plates = solids(made)
    inside = np.array([[4, 4, 4]]) + 100
    assert run(made, replaced(plates, 0, np.concatenate([plates[0].voxels, inside])))


def test_a_plate_that_cannot_get_in_is_caught() -> None:
    """A plate inside a closed box: every bead is owned once, but nothing can put it there."""
    made = figure(part(9, 9, 9))
    z, y = np.mgrid[3:6, 3:6]
    inner = np.stack([np.full(9, 4), y.ravel(), z.ravel()], axis=1)
    plates = solids(made)
    caught = Solid("caught", "box", inner, 0)
    wanted = [np.concatenate([s.voxels for s in (*plates, caught)])]
    loose = check([*plates, caught], wanted, Exceptions(frozenset({"caught"}))).findings
    assert any("falls out" in str(f) or "slid out" in str(f) for f in loose)


def test_two_hooks_that_hold_each_other_cannot_be_put_together() -> None:
    """Two rings through each other, as links of a chain: no order exists."""

    def link(axis: int, centre: tuple[int, int, int]) -> np.ndarray:
        ring = [(a, b) for a in range(5) for b in range(5) if {a, b} & {0, 4}]
        flat = np.insert(np.array(ring) - 2, axis, 0, axis=1)
        return flat + np.array(centre)

    one, two = link(2, (0, 0, 0)), link(1, (2, 0, 0))
    pair = [Solid("one", "chain", one, 2), Solid("two", "chain", two, 1)]
    findings = check(pair, [np.concatenate([one, two])], Exceptions()).findings
    assert any("cannot be put together" in str(f) for f in findings)


JOIN: Callable[[str, int], JoinSpec] = lambda kind, n: JoinSpec(  # noqa: E731
    "join 1", ("low", "top"), ("high", "bottom"), kind, n
)


@pytest.mark.parametrize(("kind", "n"), [("strip", 4), ("plus", 5), ("rod", 2)])
def test_joins_hold_two_parts(kind: str, n: int) -> None:
    low, high = part(12, 12, 6, name="low"), part(12, 14, 8, name="high", at=(0, -1, 6))
    made = figure(low, high, joins=(JOIN(kind, n),))
    assert run(made, solids(made)) == ()
    strips = [p for p in made.pieces if p.role == "strip"]
    assert len(strips) == {"strip": 1, "plus": 2, "rod": 0}[kind]
    assert made.report.orders[""][0].name == "low"
    if strips:
        pulled = [
            Solid(s.name, s.group, s.voxels + np.array([0, 0, 40 * (s.group == "join 1")]), s.axis)
            for s in solids(made)
        ]
        wanted = [np.concatenate([s.voxels for s in pulled])]
        findings = check(pulled, wanted, exceptions_of(made.pieces)).findings
        assert any("gripped by 0" in str(f) for f in findings)


def test_a_part_that_hangs_on_nothing_is_refused_unless_it_is_said_to_be_loose() -> None:
    low, high = part(12, 12, 6, name="low"), part(12, 12, 8, name="high", at=(0, 0, 6))
    with pytest.raises(FigureError, match=r"high: nothing ties it to low.*loose = true"):
        figure(low, high)
    assert figure(low, replace(high, loose=True)).loose_parts == ("high",)
    assert figure(low, high, joins=(JOIN("rod", 2),)).loose_parts == ()
    assert figure(low, high, joins=(JOIN("strip", 4),)).loose_parts == ()


def test_what_hangs_on_a_loose_part_may_be_loose_with_it() -> None:
    low, high = part(12, 12, 6, name="low"), part(12, 12, 8, name="high", at=(0, 0, 6), loose=True)
    knob = part(8, 8, 5, name="knob", at=(2, 2, 14))
    tied = replace(JOIN("strip", 4), first=("high", "top"), second=("knob", "bottom"))
    assert figure(low, high, knob, joins=(tied,))
    with pytest.raises(FigureError, match="knob: nothing ties it"):
        figure(low, high, knob)


@pytest.mark.parametrize("gone", [("front", "back", "left", "right"), ("front", "top", "back",
                                  "bottom"), ("top", "bottom", "left", "front")])  # fmt: skip
def test_plates_of_a_part_that_do_not_meet_are_refused(gone: tuple[str, ...]) -> None:
    made = figure_or_refusal(part(9, 9, 9, open=frozenset(gone)))
    if "right" in gone or ("bottom" in gone and "left" not in gone):
        assert isinstance(made, str)
        assert "no joint ties" in made
    else:
        assert not isinstance(made, str)


def test_four_loose_columns_are_no_part() -> None:
    """Each a plate one bead wide, that touches two others: nothing holds them."""
    columns = [
        Solid(f"column {x}{y}", "leg", np.array([(x, y, z) for z in range(5)]), axis)
        for (x, y), axis in (((0, 0), 0), ((1, 0), 1), ((0, 1), 1), ((1, 1), 0))
    ]
    findings = check(columns, [c.voxels for c in columns]).findings
    assert any("no joint ties" in str(f) for f in findings)


def test_two_plates_back_to_back_are_no_part() -> None:
    y, z = (axis.ravel() for axis in np.mgrid[0:4, 0:4])
    plates = [Solid(f"plate {x}", "both", np.stack([y * 0 + x, y, z], 1), 0) for x in (0, 1)]
    findings = check(plates, [p.voxels for p in plates]).findings
    assert [str(f) for f in findings] == ["plate 1: no joint ties it to plate 0"]


def test_a_plate_must_lie_across_the_axis_that_it_says(made: Figure) -> None:
    for number, plate in enumerate(solids(made)):
        plates = solids(made)
        plates[number] = replace(plate, axis=(plate.axis + 1) % 3)
        assert any("flat" in str(f) for f in run(made, plates))


def test_mutants_of_a_rod_are_caught() -> None:
    """A rod that is shifted, loose in its hole, held by one part, or that meets a plate inside."""
    low, high = part(12, 12, 6, name="low"), part(12, 14, 8, name="high", at=(0, -1, 6))
    made = figure(low, high, joins=(JOIN("rod", 2),))
    (rod,) = made.rods
    wanted = [np.concatenate([p.voxels for p in made.pieces])]
    allowed = exceptions_of(made.pieces)
    for axis, move in ((0, 1), (1, -1)):
        moved = rod.voxels.copy()
        moved[:, axis] += move
        assert check(solids(made), wanted, allowed, [replace(rod, voxels=moved)]).findings
    thin = rod.voxels[rod.voxels[:, 0] == rod.voxels[0, 0]]
    assert check(solids(made), wanted, allowed, [replace(rod, voxels=thin)]).findings
    below = rod.voxels[rod.voxels[:, 2] < 6]
    assert check(solids(made), wanted, allowed, [replace(rod, voxels=below)]).findings
    deep = np.concatenate([rod.voxels, rod.voxels - [0, 0, 4]])
    findings = check(solids(made), wanted, allowed, [replace(rod, voxels=deep)]).findings
    assert any("in the way" in str(f) for f in findings)
    sideways = part(12, 12, 9, name="low"), part(12, 12, 9, name="high", at=(12, 0, 0))
    across = replace(JOIN("rod", 2), first=("low", "right"), second=("high", "left"))
    step = figure(*sideways, joins=(across,)).report.orders[""][-1]
    assert step.axis == 0, "a rod lets parts go along it alone"


@settings(deadline=None, max_examples=12)
@given(
    st.integers(9, 16), st.integers(9, 16), st.integers(-2, 2), st.integers(-2, 2),
    st.sampled_from(["strip", "plus"]), st.booleans(), st.integers(2, 4),
)  # fmt: skip
def test_parts_that_stand_on_each_other_anyhow(
    low: int, high: int, dx: int, dy: int, kind: str, upright: bool, depth: int
) -> None:
    """Built whole, or refused with the cell or the reason."""
    join = JoinSpec("join 1", ("low", "top"), ("high", "bottom"), kind, 3, None, upright, depth)
    parts = part(low, low, 6, name="low"), part(high, high, 7, name="high", at=(dx, dy, 6))
    made = figure_or_refusal(*parts, joins=(join,))
    if isinstance(made, str):
        assert "join 1" in made
        assert min(low, high) < 12
        return
    assert run(made, solids(made)) == ()


@pytest.mark.parametrize(("kind", "n"), [("strip", 4), ("plus", 5)])
def test_strips_with_ears_cannot_slide_and_mutants_are_caught(kind: str, n: int) -> None:
    """An ear less, or both at one end, and a strip slides; without any it does as well."""
    low, high = part(14, 14, 6, name="low"), part(14, 15, 8, name="high", at=(0, -1, 6))
    join = replace(JOIN(kind, n), ears=True)
    made = figure(low, high, joins=(join,))
    allowed = exceptions_of(made.pieces, joins=(join,))
    assert run(made, solids(made)) == ()
    plain = figure(low, high, joins=(JOIN(kind, n),))
    wanted = [p.voxels for p in plain.pieces]
    assert any("slides" in str(f) for f in check(solids(plain), wanted, allowed).findings)
    for number, piece in enumerate(made.pieces):
        if piece.role != "strip":
            continue
        along = 3 - piece.axis - 2
        for level in (5, 6):
            row = piece.voxels[piece.voxels[:, 2] == level]
            assert len(row) >= n
            end = row[:, along].min() if level == 5 else row[:, along].max()
            plates = solids(made)
            less = piece.voxels[(piece.voxels[:, 2] != level) | (piece.voxels[:, along] != end)]
            assert len(less) == len(piece.voxels) - 1
            plates = replaced(plates, number, less)
            findings = check(plates, [s.voxels for s in plates], allowed).findings
            assert findings, "an ear less"
