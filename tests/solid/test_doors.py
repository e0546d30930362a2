"""Doors on a rod: they swing, or what is in their way is named; mutants are caught."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from math import cos, radians, sin
from pathlib import Path

import numpy as np
import pytest
from figures_for_tests import PALETTE, beads, findings, part, refused_at, solids, without
from hypothesis import given, settings
from hypothesis import strategies as st

from img2plate.base.errors import FigureError
from img2plate.solid.box.build import Figure, build
from img2plate.solid.check.swing import Hinge, clearance, swing_findings
from img2plate.solid.file.figure_file import read_figure
from img2plate.solid.file.named import named_files
from img2plate.solid.fit.model import FitModel
from img2plate.solid.spec import DividerSpec, DoorSpec, FigureSpec, ShelfSpec

DOOR = DoorSpec("door", ("box", "front"), np.full((10, 8), 2, np.int16), (5, 4))


def with_door(door: DoorSpec = DOOR, **more: object) -> Figure:
    return build(FigureSpec("trial", PALETTE, (part(18, 18, 18, **more),), doors=(door,)))


@cache
def plain_door() -> Figure:
    return with_door()


def hinge_of(made: Figure, **changed: object) -> Hinge:
    """The hinge by hand: one layer behind the door's third column, at the left of the front."""
    model, t = FitModel(), made.spec.thickness_mm
    wobble = (model.opening_mm(1, t) - 3) / 2
    usual = Hinge("door", (7, 1, 9), (0, 1), (1, 1), 5.0, t, model.width_mm(t), wobble)
    return replace(usual, **changed)


@pytest.mark.parametrize("face", ["front", "back", "left", "right"])
@pytest.mark.parametrize("side", ["left", "right"])
def test_a_door_swings_in_any_wall(face: str, side: str) -> None:
    door = replace(DOOR, host=("box", face), hinge=side)
    made = with_door(door)
    pieces = [p for p in made.pieces if p.group == "door"]
    assert [p.role for p in pieces] == ["door", "lug", "lug"]
    assert pieces[0].plate.bead_count == 80 - 4
    assert [p.plate.bead_count for p in pieces[1:]] == [7, 7]
    wall = next(p for p in made.pieces if p.name == face)
    assert (wall.plate.cells[3:15, 4:14] < 0).all()
    assert [step.name for step in made.report.orders[""]] == ["box", "door", "door rod"]
    (rod,) = made.rods
    columns = pieces[0].places[0] if face in ("front", "back") else pieces[0].places[1]
    near = columns[0, 2 if side == "left" else -3]
    assert (rod.voxels[:, 0 if face in ("front", "back") else 1] == near).all()


def test_mutants_of_a_door_are_caught() -> None:
    made = plain_door()

    def found(changed: dict[str, np.ndarray], **hinge: object) -> list[str]:
        return [str(each) for each in findings(made, changed, [hinge_of(made, **hinge)])]

    assert found({}) == []
    door, lug, front = (beads(made, title) for title in ("door plate", "door lug 1", "box front"))
    column = np.array([[13, 0, z] for z in range(4, 14)])
    assert any("door: " in f for f in found({"door plate": np.concatenate([door, column])}))
    left = column - [9, 0, 0]
    assert any("door: " in f for f in found({"box front": np.concatenate([front, left])}))
    assert found({}, wobble_mm=2.5), "looser than there is room"
    for bead in (lug[lug[:, 1] == 0][:1], lug[lug[:, 1] == 2][1:2]):
        assert found({"door lug 1": without(lug, bead)}), "a lug that lost a bead"
    plates = solids(made)
    shelf = np.array([[x, y, 9] for x in range(1, 17) for y in range(1, 17)])
    boxed = next(s for s in plates if s.name == "box back")
    inside = [*plates, replace(boxed, name="box shelf", voxels=shelf, axis=2)]
    assert "hits" in str(swing_findings(hinge_of(made), inside)[0])


@pytest.mark.parametrize(
    ("more", "word"),
    [
        ({"shelves": (ShelfSpec(9, 3),)}, "box front, door, its doorway: column 7, row 9"),
        ({"dividers": (DividerSpec(1, 5, 3),)}, "hits box divider 6 from front when it is open"),
        ({"open": frozenset({"top"})}, "needs a plate above"),
        ({"lid": "lift"}, ""),
    ],
)
def test_what_is_in_the_way_is_named(more: dict[str, object], word: str) -> None:
    if not word:
        assert with_door(**more)
        return
    with pytest.raises(FigureError, match=word) as caught:
        with_door(**more)
    assert "door" in str(caught.value)


def test_a_door_too_deep_for_its_box_or_too_small_is_refused() -> None:
    wide = replace(DOOR, cells=np.full((10, 11), 2, np.int16))
    shallow = FigureSpec("trial", PALETTE, (part(22, 9, 18),), doors=(wide,))
    with pytest.raises(FigureError, match=r"door: hits box back when it is open \d+ degrees"):
        build(shallow)
    with pytest.raises(FigureError, match="6 x 6 beads at least, not 5 x 10"):
        with_door(replace(DOOR, cells=np.full((10, 5), 2, np.int16)))


@settings(deadline=None, max_examples=10)
@given(st.integers(-4, 4), st.integers(-4, 4))
def test_clearance_by_points(x: int, y: int) -> None:
    """Never more than the distance of points of the door from points of what stands there."""
    made = plain_door()
    bar = next(s for s in solids(made) if s.group == "box")
    place = 14 + x, 5 + y
    post = replace(bar, name="post", axis=0, voxels=np.array([[*place, z] for z in range(18)]))
    door = next(s for s in solids(made) if s.name == "door plate")
    hinge = hinge_of(made)
    far = clearance(hinge, [door, post])[0]
    ends = np.array([(-2 * 5 - hinge.wide_mm / 2), 5 * 5 + hinge.wide_mm / 2])
    along, across = np.meshgrid(np.linspace(*ends, 60), np.linspace(-7, -3, 9))
    points = np.stack([along.ravel(), across.ravel()], 1)
    around = np.array([(place[0] - 7) * 5.0, (place[1] - 1) * 5.0])
    half = np.array([2.0, hinge.wide_mm / 2])
    least = np.inf
    for angle in range(0, 111, 2):
        a = radians(angle)
        turned = points @ np.array([[cos(a), sin(a)], [-sin(a), cos(a)]])
        off = np.maximum(np.abs(turned - around) - half, 0)
        least = min(least, float(np.hypot(*off.T).min()))
    assert far <= least + 1e-9
    assert far >= least - 1.0 or least == 0


def test_doors_from_a_file(tmp_path: Path) -> None:
    text = """[figure]
palette = "quay-24"
[[part]]
name = "case"
size = [18, 14, 18]
colour = "oak"
[[door]]
on = "case.front"
size = [8, 10]
at = [6, 5]
look = "hbr"
"""
    path = tmp_path / "f.toml"
    path.write_text(text, "utf-8")
    assert len(build(read_figure(path)).pieces) == 9
    assert named_files(text.replace('"hbr"', '"door.png"')) == {"door.png": 11}
    refused_at(path, text, (
        ('look = "hbr"', "", "key look", 7),
        ("case.front", "case.top", "not a wall", 8),
        ("size = [8, 10]", "", "key size", 7),
        ("at = [6, 5]", "at = [1, 5]", "doorway of door", 7),
        ("at = [6, 5]", "at = [6, 5]\nrod = 6", "4.8 mm wide", 11),
        ("at = [6, 5]", 'at = [6, 5]\nhinge = "top"', "none of left, right", 11),
    ))  # fmt: skip
