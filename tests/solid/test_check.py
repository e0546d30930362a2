"""The checker notices what is wrong: each mutant of a sound figure must be caught."""

from __future__ import annotations

import re
from collections.abc import Callable
from itertools import combinations
from pathlib import Path

import numpy as np
import pytest
from figures_for_tests import figure, figure_or_refusal, part, solids
from hypothesis import given, settings
from hypothesis import strategies as st

from img2plate.solid.box.build import Figure, exceptions_of
from img2plate.solid.check import lattice
from img2plate.solid.check.lattice import Exceptions, Solid
from img2plate.solid.check.rules import check
from img2plate.solid.spec import JoinSpec, ShelfSpec


def test_the_checker_knows_nothing_of_the_generator() -> None:
    own = Path(lattice.__file__).parent
    modules = sorted(own.glob("*.py"))
    assert len(modules) > 3
    for module in modules:
        rooms = set(re.findall(r"img2plate\.solid\.(\w+)", module.read_text("utf-8")))
        assert rooms <= {"check", "connected"}, module


FIGURES = {
    "cube": lambda: figure(part(8, 8, 8)),
    "long": lambda: figure(part(9, 14, 30)),
    "flat": lambda: figure(part(20, 12, 5)),
    "tiny": lambda: figure(part(3, 4, 5)),
    "open": lambda: figure(part(12, 10, 9, open=frozenset({"top"}))),
    "lid": lambda: figure(part(12, 10, 9, lid="lift")),
    "slide": lambda: figure(part(12, 12, 14, lid="slide", shelves=(ShelfSpec(4, 2),))),
}


def run(made: Figure, changed: list[Solid]) -> tuple[str, ...]:
    """Findings for changed plates against what the figure should be."""
    wanted = np.concatenate([piece.voxels for piece in made.pieces])
    return check(changed, [wanted], exceptions_of(made.pieces)).findings


def replaced(all_: list[Solid], number: int, voxels: np.ndarray) -> list[Solid]:
    """The same plates, one with other beads."""
    old = all_[number]
    return [*all_[:number], Solid(old.name, old.group, voxels), *all_[number + 1 :]]


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
            assert any("pieces" in finding for finding in findings), piece.title


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
    caught = Solid("caught", "box", inner)
    wanted = [np.concatenate([s.voxels for s in (*plates, caught)])]
    loose = check([*plates, caught], wanted, Exceptions(frozenset({"caught"}))).findings
    assert any("falls out" in f or "slid out" in f for f in loose)


def test_two_hooks_that_hold_each_other_cannot_be_put_together() -> None:
    """Two rings through each other, as links of a chain: no order exists."""

    def link(axis: int, centre: tuple[int, int, int]) -> np.ndarray:
        ring = [(a, b) for a in range(5) for b in range(5) if {a, b} & {0, 4}]
        flat = np.insert(np.array(ring) - 2, axis, 0, axis=1)
        return flat + np.array(centre)

    one, two = link(2, (0, 0, 0)), link(1, (2, 0, 0))
    pair = [Solid("one", "chain", one), Solid("two", "chain", two)]
    findings = check(pair, [np.concatenate([one, two])], Exceptions()).findings
    assert any("cannot be put together" in f for f in findings)


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
            Solid(s.name, s.group, s.voxels + np.array([0, 0, 40 * (s.group == "join 1")]))
            for s in solids(made)
        ]
        wanted = [np.concatenate([s.voxels for s in pulled])]
        findings = check(pulled, wanted, exceptions_of(made.pieces)).findings
        assert any("gripped by 0" in f for f in findings)


def test_parts_without_a_join_are_named() -> None:
    low, high = part(12, 12, 6, name="low"), part(12, 12, 8, name="high", at=(0, 0, 6))
    assert figure(low, high).loose_parts == ("high",)
    assert figure(low, high, joins=(JOIN("rod", 2),)).loose_parts == ("high",)
    assert figure(low, high, joins=(JOIN("strip", 4),)).loose_parts == ()


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
