"""Parts plugged into others by their own fingers: patterns, sizes, mutants of what holds."""

from __future__ import annotations

from dataclasses import replace
from itertools import product
from pathlib import Path

import numpy as np
import pytest
from figures_for_tests import (
    beads,
    figure,
    figure_or_refusal,
    findings,
    part,
    refused_at,
    solids,
    without,
)
from hypothesis import given, settings
from hypothesis import strategies as st
from small_rings import sound_rings

from img2plate.solid.box.build import Figure, build
from img2plate.solid.box.judged import exceptions_of
from img2plate.solid.box.ring import rings
from img2plate.solid.check.lattice import Finding, Solid
from img2plate.solid.check.rules import check
from img2plate.solid.faces import FACES, FAR, NORMAL
from img2plate.solid.file.figure_file import read_figure
from img2plate.solid.piece import Piece
from img2plate.solid.spec import OpeningSpec

BODY = (16, 14, 15)
ALL_WALLS = frozenset(product((0, 1), (0, 1)))


def with_nose(face: str, size: tuple[int, int, int], off: tuple[int, int] = (4, 5)) -> Figure | str:
    """A body with a part plugged into a face of it, its lowest bead so far along the other axes."""
    at = [0, 0, 0]
    for axis, start in zip((a for a in range(3) if a != NORMAL[face]), off, strict=True):
        at[axis] = start
    at[NORMAL[face]] = BODY[NORMAL[face]] if face in FAR else -size[NORMAL[face]]
    nose = part(*size, name="nose", at=tuple(at), plug=("body", face))
    return figure_or_refusal(part(*BODY, name="body"), nose)


@pytest.mark.parametrize(("size", "count"), [((3, 3), 2), ((4, 4), 2), ((3, 5), 2)])
def test_the_smallest_patterns_are_those_of_brute_force(size: tuple[int, int], count: int) -> None:
    """3 x 3 with single beads, 4 x 4 and 3 x 5 with two: two pinwheels each, that are mirrored."""
    least = 1 if size == (3, 3) else 2
    ours = set()
    for ring in rings(size, ALL_WALLS):
        if len(ring.through) < 4 * least:
            continue
        cells = np.zeros(size, np.int8)
        for cell, (axis, far) in ring.through.items():
            cells[cell] = 1 + 2 * axis + far
        counts = np.bincount(cells.ravel(), minlength=5)[1:]
        if counts.min() >= least:
            ours.add(cells.tobytes())
    every = sound_rings(*size, least)
    assert ours
    assert ours <= every
    if size != (3, 5):
        assert ours == every
        assert len(every) == count


@settings(deadline=None, max_examples=12)
@given(
    st.sampled_from(FACES), st.integers(3, 7), st.integers(3, 7), st.integers(3, 6),
    st.integers(3, 4), st.integers(3, 4),
)  # fmt: skip
def test_a_part_from_3_beads_on_is_plugged_into_any_face(
    face: str, wide: int, high: int, out: int, across: int, up: int
) -> None:
    size = [wide, high]
    size.insert(NORMAL[face], out)
    made = with_nose(face, (size[0], size[1], size[2]), (across, up))
    assert not isinstance(made, str), made
    step = next(s for s in made.report.orders[""] if s.name == "nose")
    assert step.axis == NORMAL[face]
    walls = [p for p in made.pieces if p.group == "nose" and p.axis != NORMAL[face]]
    level = {"front": 0, "back": 13, "left": 0, "right": 15, "bottom": 0, "top": 14}[face]
    fingers = [int((p.voxels[:, NORMAL[face]] == level).sum()) for p in walls]
    assert min(fingers) >= (2 if min(wide, high) >= 4 else 1)
    body = np.concatenate([p.voxels for p in made.pieces if p.group == "body"])
    assert len(body) == 16 * 14 * 15 - 14 * 12 * 13 - sum(fingers), "no bead is there twice"


@pytest.mark.parametrize("face", FACES)
@pytest.mark.parametrize("across", [(3, 4), (4, 3)])
def test_the_smallest_part_with_two_layers_is_three_by_four(
    face: str, across: tuple[int, int]
) -> None:
    """The one way that brute force finds, on any face, either way round."""
    size = [*across]
    size.insert(NORMAL[face], 2)
    made = with_nose(face, (size[0], size[1], size[2]))
    assert not isinstance(made, str), made
    nose = [len(piece.voxels) for piece in made.pieces if piece.group == "nose"]
    assert sorted(nose) == [5, 5, 6, 6, 6]


def test_what_is_too_small_is_refused_with_the_size_that_would_do() -> None:
    assert not isinstance(with_nose("front", (4, 2, 4)), str)
    for size, would in (((4, 1, 4), "4 x 2 x 4"), ((3, 2, 3), "3 x 3 x 3"),
                        ((3, 2, 5), "3 x 3 x 5")):  # fmt: skip
        said = with_nose("front", size)
        assert isinstance(said, str)
        assert f"{would} would do" in said
        assert "nose" in said
        assert "body front" in said
    said = with_nose("front", (4, 3, 4), (0, 5))
    assert isinstance(said, str)
    assert "body front, nose: column 1" in said


def test_mutants_of_a_plugged_part_are_caught() -> None:
    """What goes to the host, or away, is also gone from what should be there."""
    made = with_nose("top", (6, 6, 5))
    assert not isinstance(made, str)
    host = beads(made, "body top")
    nose = {p.title: p.voxels for p in made.pieces if p.group == "nose"}

    def found(changed: dict[str, np.ndarray], top: np.ndarray = host) -> tuple[Finding, ...]:
        return findings(made, {**changed, "body top": top})

    assert found({}) == ()
    for name in ("nose front", "nose back", "nose left", "nose right"):
        wall, across = nose[name], NORMAL[name.removeprefix("nose ")]
        finger = wall[wall[:, 2] == 14]
        less, end = without(wall, finger), finger[np.argsort(finger[:, 1 - across])][:1]
        assert found({name: less}), "no finger"
        assert found({name: less}, np.concatenate([host, finger])), "no finger and no slot"
        shorter = {name: without(wall, end)}
        assert found(shorter), "a slot longer than it"
        assert found(shorter, np.concatenate([host, end])), "a single bead"
        for step in (1, -1):
            side = finger[:1].copy()
            side[:, across] += step
            assert found({}, without(host, side)), "open along its side"
        shoulder = without(wall[wall[:, 2] == 15], finger + np.array([0, 0, 1]))
        assert found({name: without(wall, shoulder)}), "no shoulder"
    up = {n: v + np.array([0, 0, 1]) for n, v in nose.items()}
    tips = np.concatenate([v[v[:, 2] == 14] for v in nose.values()])
    assert found(up, np.concatenate([host, tips])), "stands on it"
    for axis in (0, 1):
        aside = np.eye(3, dtype=int)[axis]
        assert found({n: v + aside for n, v in nose.items()}), "a bead aside"
    down = {n: v - [0, 0, 1] for n, v in nose.items()}
    every = np.concatenate(list(down.values()))
    assert found(down, without(host, every)), "through the host"


def test_a_group_that_is_plugged_into_nothing_is_caught() -> None:
    made = figure(part(8, 8, 8))
    allowed = replace(exceptions_of(made.pieces), plugs=frozenset({"box"}))
    found = check(solids(made), [p.voxels for p in made.pieces], allowed).findings
    assert "plugged into nothing" in str(found[0])


FILE = """[figure]
palette = "quay-24"
[[part]]
name = "body"
size = [16, 18, 15]
colour = "oak"
[[part]]
name = "leg"
size = [4, 4, 6]
colour = "oak"
plug = "body.bottom"
at = [[4, 4], [10, 4], [4, 12], [10, 12]]
[[part]]
name = "nose"
size = [4, 3, 4]
colour = "oak"
plug = "body.front"
"""


def test_plugs_from_a_file(tmp_path: Path) -> None:
    path = tmp_path / "f.toml"
    path.write_text(FILE, "utf-8")
    made = build(read_figure(path))
    legs = {
        p.group: p.voxels for p in made.pieces if p.name == "bottom" and p.group.startswith("leg")
    }
    # The bottom is seen with the front above it: row 4 from the front is y = 3.
    assert [v.min(axis=0).tolist() for v in legs.values()] == [
        [3, 3, -6], [9, 3, -6], [3, 11, -6], [9, 11, -6]]  # fmt: skip
    nose = next(p.voxels for p in made.pieces if p.title == "nose front")
    assert nose.min(axis=0).tolist() == [6, -3, 6]
    refused_at(path, FILE, (
        ('"body.front"', '"body.nose"', "key plug", 17),
        ('"body.front"', '"torso.front"', "there are: body, leg 1", 17),
        ("[10, 12]]", "[14, 12]]", "reach over body.bottom", 12),
        ('"body.front"', '"body.front"\non = "body"', "key on", 18),
    ))  # fmt: skip


@pytest.mark.parametrize("face", FACES)
def test_an_opening_of_a_plugged_part_stays_where_it_is_said(face: str) -> None:
    size, at = [10, 10], [5, 5]
    size.insert(NORMAL[face], 9)
    at.insert(NORMAL[face], 20 if face in FAR else -9)
    wall = next(w for w in (*FACES[2:], "front") if NORMAL[w] != NORMAL[face])
    nose = part(*size, name="nose", at=tuple(at), openings=(OpeningSpec(wall, (1, 1), (3, 4)),))
    made = figure(part(20, 20, 20, name="body"), replace(nose, plug=("body", face)))
    holes = [hole_of(f.pieces, f"nose {wall}") for f in (figure(nose), made)]
    assert holes[0] == holes[1]


def hole_of(pieces: tuple[Piece, ...], title: str) -> list[int]:
    """The place inside a plate that has no bead and beads on all four sides."""
    piece = next(p for p in pieces if p.title == title)
    filled = piece.plate.filled
    inner = ~filled[1:-1, 1:-1] & filled[:-2, 1:-1] & filled[2:, 1:-1] & filled[1:-1, :-2]
    row, column = np.argwhere(inner & filled[1:-1, 2:])[0] + 1
    return [int(axis[row, column]) for axis in piece.places]


@pytest.mark.parametrize("axis", [0, 1, 2])
def test_bars_two_beads_thick_and_what_they_cannot_be(axis: int) -> None:
    """As they are, and but for 2 x 2 beads plugged in by their two wide walls."""
    ends = frozenset(face for face in FACES if NORMAL[face] == axis)
    for wide, long in ((2, 4), (2, 5), (2, 12), (3, 2), (3, 3), (4, 8), (9, 12), (4, 13)):
        size = [2, wide]
        size.insert(axis, long)
        made = figure_or_refusal(part(*size, open=ends))
        holds = (5 if wide == 2 else 3) <= long <= 12
        assert isinstance(made, str) != holds, (size, made)
        face = {0: "right", 1: "back", 2: "top"}[axis]
        at = [4, 4]
        at.insert(axis, BODY[axis])
        bar = part(*size, name="nose", at=tuple(at), open=ends, plug=("body", face))
        in_body = figure_or_refusal(part(*BODY, name="body"), bar)
        assert isinstance(in_body, str) != (holds and wide > 2), (size, in_body)
    said = figure_or_refusal(part(2, 4, 6))
    assert isinstance(said, str)
    assert "open at both ends" in said


def test_solids_say_nothing_of_the_way_they_were_made() -> None:
    assert set(Solid.__dataclass_fields__) == {
        "name", "group", "voxels", "axis", "turn", "pressed"
    }  # fmt: skip
