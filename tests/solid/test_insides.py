"""What lies inside a box: dividers, trays, lids on any face; mutants of each are caught."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from figures_for_tests import beads, figure, figure_or_refusal, findings, part, refused_at, without
from hypothesis import given, settings
from hypothesis import strategies as st

from img2plate.solid.box.build import Figure, build
from img2plate.solid.faces import FACES, FAR, NORMAL
from img2plate.solid.file.figure_file import read_figure
from img2plate.solid.mirror import mirrored
from img2plate.solid.spec import DividerSpec, ShelfSpec

ACROSS, ALONG = DividerSpec(0, 7, 2), DividerSpec(1, 6, 3)


def test_dividers_both_ways_are_halved_into_each_other() -> None:
    for how in ({"lid": "lift"}, {"lid": "slide"}, {"open": frozenset({"top"})}, {}):
        made = figure(part(16, 14, 12, dividers=(ACROSS, ALONG), **how))
        first, second = (p.voxels for p in made.pieces if p.role == "divider")
        line = [v[(v[:, 0] == 7) & (v[:, 1] == 6) & (v[:, 2] > 0) & (v[:, 2] < 11)][:, 2]
                for v in (first, second)]  # fmt: skip
        assert line[0].max() < line[1].min(), "the first has the lower half"
        assert abs(len(line[0]) - len(line[1])) <= 2
        # A tab in each wall that it ends at: more beads than the room inside has.
        top = 9 if how.get("lid") == "slide" else 11
        outside = (second[:, 0] == 0).sum(), (second[:, 0] == 15).sum(), (second[:, 2] == 0).sum()
        assert min(outside) >= 2
        assert ((second[:, 2] == top).sum() >= 2) == (how == {})


def test_mutants_of_dividers_are_caught() -> None:
    made = figure(part(16, 14, 12, dividers=(ACROSS, ALONG), open=frozenset({"top"})))
    assert findings(made, {}) == ()
    low, high = (p.title for p in made.pieces if p.role == "divider")
    one, two = beads(made, low), beads(made, high)
    assert findings(made, {low: without(one, one[one[:, 1] == 0])}), "no tab in the front"
    assert findings(made, {high: without(two, two[two[:, 2] == 0])}), "no tab in the bottom"
    line = two[(two[:, 0] == 7) & (two[:, 2] > 0)]
    assert findings(made, {high: without(two, line), low: np.concatenate([one, line])}), "cut"
    mine = one[(one[:, 1] == 6) & (one[:, 2] > 0)]
    odd = {high: np.concatenate([without(two, line[1:-1]), mine[:1]]),
           low: np.concatenate([without(one, mine[:1]), line[1:-1]])}  # fmt: skip
    assert findings(made, odd), "neither can be lifted off the other"


@settings(deadline=None, max_examples=15)
@given(st.data())
def test_dividers_anywhere_stand_or_are_refused(data: st.DataObject) -> None:
    wide, deep, high = (data.draw(st.integers(6, 16)) for _ in range(3))
    dividers = tuple(
        DividerSpec(axis, data.draw(st.integers(0, 16)), 2, data.draw(st.integers(0, high)))
        for axis in data.draw(st.lists(st.sampled_from((0, 1)), min_size=1, max_size=3))
    )
    shelves = (ShelfSpec(data.draw(st.integers(1, 14)), 3),) if data.draw(st.booleans()) else ()
    gone = data.draw(st.sampled_from([frozenset(), frozenset({"top"}), frozenset({"front"})]))
    made = figure_or_refusal(part(wide, deep, high, dividers=dividers, shelves=shelves, open=gone))
    if isinstance(made, str):
        assert "divider" in made or "shelf" in made
        return
    for divider, piece in zip(
        dividers, (p for p in made.pieces if p.role == "divider"), strict=True
    ):
        assert (piece.voxels[:, divider.axis] == divider.level).all()
    margin = min(
        min(d.level, (wide, deep)[d.axis] - 1 - d.level) for d in dividers
    )  # fmt: skip
    assert margin >= 2


@pytest.mark.parametrize("face", FACES)
def test_a_lid_on_any_face_comes_off(face: str) -> None:
    made = figure(part(12, 10, 11, lid="lift", lid_on=face))
    assert findings(made, {}) == ()
    lid = next(p for p in made.pieces if p.role == "lid")
    assert lid.title == "box lid"
    assert lid.axis == NORMAL[face]
    step = made.report.orders["box"][-1]
    assert (step.name, step.axis, step.step) == ("box lid", lid.axis, 1 if face in FAR else -1)
    corner = lid.voxels.min(axis=0)
    assert corner.min() >= 0
    turned = mirrored(made.spec.parts[0], 0)
    assert (turned.lid_on == face) == (NORMAL[face] != 0)


def tray(
    *size: int, at: tuple[int, int, int], how: dict[str, object] | None = None
) -> Figure | str:
    """A lidded box with an open box inside."""
    chest = part(14, 12, 11, name="chest", **({"lid": "lift"} if how is None else how))
    inner = part(*size, name="tray", at=at, inside="chest", open=frozenset({"top"}))
    return figure_or_refusal(chest, inner)


def test_a_tray_lies_in_a_box_with_a_lid() -> None:
    made = tray(12, 10, 5, at=(1, 1, 1))
    assert not isinstance(made, str), made
    assert [step.name for step in made.report.orders[""]] == ["chest", "tray"]
    assert not isinstance(tray(8, 8, 7, at=(2, 2, 1), how={"lid": "slide"}), str)
    drawer = tray(12, 10, 9, at=(1, 1, 1), how={"lid": "lift", "lid_on": "front"})
    assert not isinstance(drawer, str), drawer
    step = drawer.report.orders[""][-1]
    assert (step.name, step.axis, step.step) == ("tray", 1, -1)


def test_mutants_of_a_tray_are_caught() -> None:
    made = tray(12, 10, 5, at=(1, 1, 1))
    assert not isinstance(made, str)
    inner = {p.title: p.voxels for p in made.pieces if p.group == "tray"}
    assert findings(made, {n: v + np.array([0, 0, 2]) for n, v in inner.items()}), "floats"
    back = beads(made, "tray back")
    hook = np.array([[x, 10, z] for x in (5, 6) for z in range(6, 9)] + [[5, 11, 8]])
    wall = without(beads(made, "chest back"), [[5, 11, 8]])
    changed = {"tray back": np.concatenate([back, hook[:-1]]), "chest back": wall}
    assert findings(made, {**changed, "tray back": np.concatenate([back, hook])}), "bent"
    shelf = tray(12, 10, 5, at=(1, 1, 1), how={})
    assert isinstance(shelf, str)
    assert "tray" in shelf


def test_insides_from_a_file(tmp_path: Path) -> None:
    text = """[figure]
palette = "quay-24"
[[part]]
name = "chest"
size = [18, 14, 12]
colour = "oak"
lid = "lift"
[[part.divider]]
from_left = 7
colour = "prt"
high = 5
[[part.divider]]
from_front = 7
colour = "prt"
high = 5
[[part]]
name = "tray"
size = [16, 12, 4]
colour = "prt"
open = ["top"]
inside = "chest"
level = 6
"""
    path = tmp_path / "f.toml"
    path.write_text(text, "utf-8")
    made = build(read_figure(path))
    assert beads(made, "tray bottom").min(axis=0).tolist() == [1, 1, 6]
    refused_at(path, text, (
        ("from_left = 7", "", "give one of from_left", 8),
        ("from_left = 7", "from_left = 7\nfrom_front = 3", "give one of from_left", 9),
        ("from_left = 7", "from_left = 18", "beads 2 to 17 from the left", 8),
        ("level = 6", "level = 8", "inside chest are 16 x 12 x 10", 21),
        ("level = 6", "at = [1, 1, 1]", "key at", 22),
        ('lid = "lift"', 'lid = "slide"\nlid_to = "top"', "key lid_to", 8),
        ('lid = "lift"', "", "chest is closed", 21),
        ("level = 6", "level = 2", "a bead is in", 0),
    ))  # fmt: skip
