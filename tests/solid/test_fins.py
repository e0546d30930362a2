"""Flat plates that stand out of a face: they hold, or are refused; mutants are caught."""

from __future__ import annotations

import re
from dataclasses import replace
from math import cos, radians, sin
from pathlib import Path

import numpy as np
import pytest
from figures_for_tests import PALETTE, part, solids
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

from img2plate.base.errors import FigureError
from img2plate.solid.box.build import Figure, build
from img2plate.solid.box.judged import exceptions_of
from img2plate.solid.box.lean import lean_degrees
from img2plate.solid.check.rules import check
from img2plate.solid.faces import FACES, FAR, NORMAL
from img2plate.solid.file.figure_file import read_figure
from img2plate.solid.file.named import named_files
from img2plate.solid.spec import FigureSpec, FinSpec, ShelfSpec


def shape(wide: int, high: int) -> np.ndarray:
    return np.full((high, wide), 2, np.int16)


def made_with(fin: FinSpec, **more: object) -> Figure:
    return build(FigureSpec("trial", PALETTE, (part(16, 14, 15, **more),), fins=(fin,)))


def built_or_said(fin: FinSpec) -> Figure | str:
    try:
        return made_with(fin)
    except FigureError as error:
        return str(error)


def moved(voxels: np.ndarray, *by: int) -> np.ndarray:
    return voxels + np.array(by)


@settings(deadline=None, max_examples=25)
@given(st.data())
def test_a_fin_holds_on_any_face_or_is_refused(data: st.DataObject) -> None:
    face, upright = data.draw(st.sampled_from(FACES)), data.draw(st.booleans())
    wide, high = data.draw(st.integers(2, 12)), data.draw(st.integers(1, 4))
    at = data.draw(st.integers(0, 8)), data.draw(st.integers(0, 8))
    fin = FinSpec("ear", ("box", face), shape(wide, high), at, upright)
    made = built_or_said(fin)
    if isinstance(made, str):
        assert "ear" in made
        assert wide < 4 or min(at) < 3 or max(at) + wide > 10
        return
    piece = next(p for p in made.pieces if p.role == "fin")
    level = {"front": 0, "back": 13, "left": 0, "right": 15, "bottom": 0, "top": 14}[face]
    tab = piece.voxels[piece.voxels[:, NORMAL[face]] == level]
    assert 2 <= len(tab) <= wide - 2
    out = (piece.voxels[:, NORMAL[face]] - level) * (1 if face in FAR else -1)
    assert out.max() == high
    assert (out == 1).sum() == wide
    step = next(s for s in made.report.orders[""] if s.name == "ear")
    assert (step.axis, step.step) == (NORMAL[face], 1 if face in FAR else -1)
    assert "ear leans" in made.spec.remarks[0]


def test_mutants_of_a_fin_are_caught() -> None:
    made = made_with(FinSpec("ear", ("box", "top"), shape(8, 4), (4, 6)))
    plates = solids(made)
    ear = next(n for n, s in enumerate(plates) if s.group == "ear")
    top = next(n for n, s in enumerate(plates) if s.name == "box top")
    fin, host = plates[ear].voxels, plates[top].voxels
    tab = fin[fin[:, 2] == 14]

    def findings(new_fin: np.ndarray, new_host: np.ndarray) -> tuple[object, ...]:
        changed = list(plates)
        changed[ear] = replace(plates[ear], voxels=new_fin)
        changed[top] = replace(plates[top], voxels=new_host)
        wanted = [s.voxels for s in changed]  # so that only what holds is judged
        return check(changed, wanted, exceptions_of(made.pieces)).findings

    def without(voxels: np.ndarray, gone: np.ndarray) -> np.ndarray:
        taken = {tuple(v) for v in gone.tolist()}
        return np.array([v for v in voxels.tolist() if tuple(v) not in taken])

    assert findings(fin, host) == ()
    assert findings(without(fin, tab), host), "no tab"
    assert findings(without(fin, tab[1:]), np.concatenate([host, tab[1:]])), "one bead"
    assert findings(without(fin, tab[:1]), host), "a tab shorter than its slot"
    assert findings(fin, without(host, moved(tab[-1:], 1, 0, 0))), "a slot longer than its tab"
    assert findings(fin, without(host, moved(tab[2:3], 0, 1, 0))), "a slot open along its side"
    row = fin[fin[:, 2] == 15]
    for shoulder in (row[row[:, 0] < tab[:, 0].min()], row[row[:, 0] > tab[:, 0].max()]):
        assert findings(without(fin, shoulder), host), "one shoulder"
    assert findings(moved(fin, 0, 0, 3), np.concatenate([host, tab])), "in the air"


def test_how_far_a_fin_leans_by_the_rims_that_it_touches() -> None:
    """s cos a - h sin a = t, as in the figures worked out by hand: 10.6 and 22.9 degrees."""
    for slot, thick, wanted in ((4.82, 4.0, 10.6), (4.52, 3.0, 22.9)):
        angle = lean_degrees(slot, thick, thick)
        assert angle == pytest.approx(wanted, abs=0.3)
        assert slot * cos(radians(angle)) - thick * sin(radians(angle)) == pytest.approx(thick)
    assert lean_degrees(3.9, 4.0, 4.0) == 0


def test_a_high_fin_needs_a_second_layer_or_a_word() -> None:
    high = FinSpec("sign", ("box", "top"), shape(8, 9), (4, 6))
    with pytest.raises(FigureError, match=r"sign leans up to .* mm at its top.*`depth = \d+`"):
        made_with(high)
    assert made_with(replace(high, may_lean=True))
    shelf = (ShelfSpec(9, 3),)
    held = made_with(replace(high, depth=6), shelves=shelf)
    under = next(p for p in held.pieces if p.role == "shelf")
    assert (under.plate.cells[5:9] < 0).any(), "the shelf has a slot too"
    with pytest.raises(FigureError, match="sign leans"):
        made_with(replace(high, depth=4), shelves=shelf)


def test_what_would_hold_a_high_fin_is_offered_and_does() -> None:
    """A shelf that is there, else the opposite face, by the depth that reaches it."""
    high = FinSpec("sign", ("box", "top"), shape(8, 9), (4, 6))
    for shelves, wanted in (((), "the bottom"), ((ShelfSpec(9, 3),), "the shelf at 9")):
        with pytest.raises(FigureError, match=f"reach {wanted}") as caught:
            made_with(high, shelves=shelves)
        depth = int(re.findall(r"`depth = (\d+)`", str(caught.value))[0])
        sway = re.findall(r"sways (\S+ mm)", str(caught.value))[0]
        made = made_with(replace(high, depth=depth), shelves=shelves)
        assert f" {sway} at its top" in made.spec.remarks[0]
    with pytest.raises(FigureError, match=r"a shelf or a divider (\d+) layers behind"):
        made_with(high, open=frozenset({"bottom"}))


def test_two_tabs_with_shoulders_between_them() -> None:
    made = made_with(FinSpec("wing", ("box", "top"), shape(10, 4), (3, 6), tabs=2))
    plates = solids(made)
    number, wing = next((n, s) for n, s in enumerate(plates) if s.group == "wing")
    host = next(n for n, s in enumerate(plates) if s.name == "box top")
    tabs = np.sort(wing.voxels[wing.voxels[:, 2] == 14][:, 0])
    assert len(tabs) == 6
    assert np.diff(tabs).tolist() == [1, 1, 3, 1, 1]
    # One bead of the second tab, and a tab that has lost its slot's side.
    bead = wing.voxels[(wing.voxels[:, 2] == 14) & (wing.voxels[:, 0] == tabs[-1])]
    less = np.array([v for v in wing.voxels.tolist() if v != bead[0].tolist()])
    for axis in (0, 1):
        changed = list(plates)
        if axis == 0:
            changed[number] = replace(wing, voxels=less)
        else:
            side = (bead + np.array([0, 1, 0]))[0].tolist()
            kept = np.array([v for v in plates[host].voxels.tolist() if v != side])
            changed[host] = replace(plates[host], voxels=kept)
        assert check(changed, [s.voxels for s in changed], exceptions_of(made.pieces)).findings
    said = built_or_said(FinSpec("wing", ("box", "top"), shape(7, 4), (3, 6), tabs=2))
    assert isinstance(said, str)
    assert "at least 8 beads" in said


def test_fins_from_a_file(tmp_path: Path) -> None:
    pixels = np.zeros((5, 8, 4), np.uint8)
    pixels[1:, 1:7] = (200, 40, 40, 255)
    pixels[2, 3] = 0  # a lug for a ring
    Image.fromarray(pixels).save(tmp_path / "ear.png")
    head = '[figure]\npalette = "quay-24"\n[[part]]\nname = "box"\nsize = [16, 14, 15]\n'
    fin = '[[fin]]\nname = "ear"\non = "box.top"\npicture = "ear.png"\n'
    (tmp_path / "f.toml").write_text(f'{head}colour = "oak"\n{fin}at = [5, 7]\n', "utf-8")
    made = build(read_figure(tmp_path / "f.toml"))
    plate = next(p.plate for p in made.pieces if p.role == "fin")
    assert plate.size == (6, 5)
    assert plate.cells[1, 2] < 0
    assert (plate.cells[-1] >= 0).sum() == 4
    assert named_files((tmp_path / "f.toml").read_text("utf-8")) == {"ear.png": 10}
    for more, word in (("", "key at"), ('at = [5, 7]\nname2 = "x"', "key name2"),
                       ('at = [14, 7]', "reach over box top")):  # fmt: skip
        (tmp_path / "f.toml").write_text(f'{head}colour = "oak"\n{fin}{more}\n', "utf-8")
        with pytest.raises(FigureError, match=word):
            build(read_figure(tmp_path / "f.toml"))
