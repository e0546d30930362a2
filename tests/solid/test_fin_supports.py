"""What holds a fin upright beside its face: a collar, another fin across; mutants are caught."""

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
from img2plate.solid.box.lean import Support, lean_degrees
from img2plate.solid.check.lattice import Held, Solid
from img2plate.solid.check.rules import check
from img2plate.solid.faces import FACES, FAR, NORMAL
from img2plate.solid.file.figure_file import read_figure
from img2plate.solid.fit.model import FitModel
from img2plate.solid.spec import FigureSpec, FinSpec, ShelfSpec

HIGH = FinSpec("sign", ("box", "top"), np.full((9, 8), 2, np.int16), (4, 8))
ACROSS = FinSpec("vane", ("box", "top"), np.full((9, 9), 3, np.int16), (8, 4), upright=True)


def made_with(*fins: FinSpec, **more: object) -> Figure:
    return build(FigureSpec("trial", PALETTE, (part(18, 17, 15, **more),), fins=fins))


def sways(made: Figure) -> list[float]:
    """Degrees of each fin, as it is said."""
    return [float(re.findall(r"leans up to (\S+) degrees", r)[0]) for r in made.spec.remarks]


def findings_of(made: Figure, plates: list[Solid], held: tuple[Held, ...] = ()) -> tuple:
    allowed = replace(exceptions_of(made.pieces), held=held)
    return check(plates, [s.voxels for s in plates], allowed).findings


def named(made: Figure) -> dict[str, int]:
    return {piece.title: number for number, piece in enumerate(made.pieces)}


def changed(
    made: Figure, more: dict[str, list[list[int]]], fewer: dict[str, list[list[int]]]
) -> list[Solid]:
    """The plates with some beads more and some fewer."""
    plates, at = solids(made), named(made)
    for title, beads in more.items():
        solid = plates[at[title]]
        plates[at[title]] = replace(solid, voxels=np.concatenate([solid.voxels, beads]))
    for title, beads in fewer.items():
        solid = plates[at[title]]
        assert all(bead in solid.voxels.tolist() for bead in beads)
        kept = [v for v in solid.voxels.tolist() if v not in beads]
        plates[at[title]] = replace(solid, voxels=np.array(kept))
    return plates


def test_the_supports_of_the_figures_worked_out_by_hand() -> None:
    """Degrees at 4 and at 3 mm, by the slot's width: one face, and a slot 4 layers further in."""
    model = FitModel()
    for thick, slot, one, far in ((4.0, 4.82, 10.6, 2.0), (3.0, 4.52, 22.9, 3.8)):
        for support, wanted in ((Support(), one), (Support(4), far)):
            depth = support.depth_mm(thick, model)
            assert lean_degrees(slot, depth, thick) == pytest.approx(wanted, abs=0.3)
        # From the tab's end to the top of the third row, the widths of the plates among them.
        wide = model.width_mm(thick)
        assert Support(0, False, 3).depth_mm(thick, model) == thick / 2 + 15 + wide / 2
        collar = Support(0, True).depth_mm(thick, model)
        assert collar == 2 * thick, "it may lie right on the face"
        angle = lean_degrees(slot, collar, thick)
        assert slot * cos(radians(angle)) - collar * sin(radians(angle)) == pytest.approx(thick)


def test_a_high_fin_is_offered_what_holds_it_and_that_does() -> None:
    with pytest.raises(FigureError, match="collar = true") as caught:
        made_with(HIGH)
    said = str(caught.value)
    collar, across = (float(mm) for mm in re.findall(r"\((\S+) mm\)", said))
    assert 'across = "sign"' in said
    collared, crossed = (
        made_with(replace(HIGH, collar=True)),
        made_with(HIGH, replace(HIGH, name="vane", at=(8, 4), upright=True)),
    )
    assert f"{collar:.1f} mm at its top" in collared.spec.remarks[0]
    assert any(f"{across:.1f} mm at its top" in remark for remark in crossed.spec.remarks)
    shelf = re.findall(r"a shelf or a divider (\d+) layers .* `depth = (\d+)`", said)
    if not shelf:  # nothing behind but the opposite face: with that open, a shelf is offered
        with pytest.raises(FigureError, match="a shelf or a divider") as caught:
            made_with(HIGH, open=frozenset({"bottom"}))
        shelf = re.findall(r"divider (\d+) layers .* `depth = (\d+)`", str(caught.value))
    layers, depth = (int(n) for n in shelf[0])
    held = made_with(
        replace(HIGH, depth=depth), open=frozenset({"bottom"}), shelves=(ShelfSpec(14 - layers, 4),)
    )
    assert max(sways(held)) <= 6


@settings(deadline=None, max_examples=15, database=None)
@given(st.data())
def test_fins_that_cross_are_halved_on_any_face(data: st.DataObject) -> None:
    """Each bead of both outlines is there but for half of the line each."""
    face = data.draw(st.sampled_from(FACES))
    high = data.draw(st.integers(4, 9)), data.draw(st.integers(4, 9))
    column = data.draw(st.integers(3, 5))
    one = FinSpec("sign", ("box", face), np.full((high[0], 9), 2, np.int16), (4, 8))
    two = FinSpec("vane", ("box", face), np.full((high[1], 9), 3, np.int16), (4 + column, 4),
                  upright=True)  # fmt: skip
    made = made_with(one, two)
    fins = [piece for piece in made.pieces if piece.role == "fin"]
    axis, way = NORMAL[face], 1 if face in FAR else -1
    outside = [p.voxels[:, axis] - {"right": 17, "back": 16, "top": 14}.get(face, 0) for p in fins]
    heights = [o * way for o in outside]
    assert sum(int((h > 0).sum()) for h in heights) == 9 * sum(high) - min(high)
    line = [
        set(h[(p.voxels[:, q.axis] == q.voxels[0, q.axis]) & (h > 0)].tolist())
        for p, q, h in zip(fins, fins[::-1], heights, strict=True)
    ]
    assert not line[0] & line[1]
    assert abs(len(line[0]) - len(line[1])) <= abs(high[0] - high[1]) + 1
    assert [s.name for s in made.report.orders[""]][-1] == ("sign" if high[0] > high[1] else "vane")
    assert max(sways(made)) < 6


def test_mutants_of_fins_that_cross_are_caught() -> None:
    made = made_with(HIGH, ACROSS)
    # The sign has rows 1 to 4 of the line at column 8, row 8; the vane those above.
    y = int(made.pieces[named(made)["sign fin"]].voxels[0, 1])
    x = int(made.pieces[named(made)["vane fin"]].voxels[0, 0])
    line = [[x, y, 14 + n] for n in range(10)]
    assert findings_of(made, solids(made)) == ()

    def found(more: dict[str, list[list[int]]], fewer: dict[str, list[list[int]]]) -> tuple:
        return findings_of(made, changed(made, more, fewer))

    assert found({}, {"sign fin": line[4:5]}), "a gap between the halves"
    assert found({"sign fin": line[9:10]}, {"vane fin": line[9:10]}), "beads above the other's"
    beside = [[x, y + way, z] for *_, z in line[1:5] for way in (1, -1)]
    assert found({}, {"vane fin": beside[::2]}), "one side of a slot open"
    assert found({}, {"box top": [[x + 2, y + 1, 14]]}), "the face's slot open along a side"
    tab = [[x, y + n, 14] for n in (1, 2)]
    assert found({"box top": tab}, {"vane fin": tab}), "a tab of one bead"
    held = (Held("vane fin", 2, 14 + 9), Held("sign fin", 2, 14 + 4))
    assert findings_of(made, solids(made), held) == ()
    top = {"sign fin": [[x + way, y, 14 + 9] for way in (1, -1)][:1]}
    assert findings_of(made, changed(made, {}, top), held), "held one row less than is said"


def test_mutants_of_a_collar_and_of_a_slot_behind_are_caught() -> None:
    made = made_with(replace(HIGH, collar=True))
    assert findings_of(made, solids(made)) == ()
    collar = made.pieces[named(made)["sign collar"]].voxels
    fin = made.pieces[named(made)["sign fin"]].voxels
    assert (collar[:, 2] == 15).all()
    assert len(collar) == 10 * 5 - 6
    tab = fin[fin[:, 2] == 15].tolist()
    side = [[bead[0], bead[1] + 1, bead[2]] for bead in tab]
    end = [[tab[0][0] - 1, *tab[0][1:]]]
    for fewer in (side[2:3], end):
        assert findings_of(made, changed(made, {}, {"sign collar": fewer})), fewer
    plates = solids(made)
    at = named(made)["sign collar"]
    plates[at] = replace(plates[at], voxels=plates[at].voxels + np.array([0, 3, 0]))
    assert findings_of(made, plates), "beside the tab"
    shelved = made_with(replace(HIGH, depth=6), shelves=(ShelfSpec(9, 3),))
    shelf = {"box shelf at 9": [[b[0], b[1] + 1, 9] for b in tab]}
    held = (Held("sign fin", 2, 9),)
    assert findings_of(shelved, solids(shelved), held) == ()
    assert findings_of(shelved, changed(shelved, {}, shelf), held), "a shelf beside it, not round"


def test_what_would_not_hold_is_refused() -> None:
    narrow = replace(ACROSS, cells=ACROSS.cells[:, :5], at=(8, 6))
    for fins, words in (
        ((HIGH, narrow), "a tab of a single bead"),
        ((replace(HIGH, collar=True), ACROSS), "leave out the `collar` of sign"),
        ((HIGH, replace(ACROSS, cells=ACROSS.cells[:1])), "neither holds the other"),
    ):
        with pytest.raises(FigureError, match=words):
            made_with(*fins)


def test_from_a_file(tmp_path: Path) -> None:
    pixels = np.full((9, 9, 4), (200, 40, 40, 255), np.uint8)
    Image.fromarray(pixels).save(tmp_path / "vane.png")
    head = (
        '[figure]\npalette = "quay-24"\n[[part]]\nname = "box"\nsize = [18, 17, 15]\n'
        'colour = "oak"\n[[fin]]\nname = "vane"\non = "box.top"\npicture = "vane.png"\n'
        "at = [5, 8]\n"
    )
    second = '[[fin]]\nname = "vane 2"\nacross = "vane"\n'
    file = tmp_path / "f.toml"

    def read(text: str) -> FigureSpec:
        file.write_text(text, "utf-8")
        return read_figure(file)

    made = build(read(head + second))
    assert [p.plate.bead_count for p in made.pieces if p.role == "fin"] == [83, 83]
    collar = build(read(head + 'collar = "oak-"\n'))
    code = {bead.code for bead in collar.spec.palette.beads}
    assert "oak-" in code
    assert set(np.unique(collar.pieces[-1].plate.cells)) == {-1, collar.spec.fins[0].collar_colour}
    like_the_top = build(read(head + "collar = true\n")).pieces[-1].plate
    assert set(np.unique(like_the_top.cells)) == {-1, made.spec.parts[0].colour}
    for more, words in (
        (second.replace('"vane"\n', '"sail"\n'), "no fin 'sail' stands above"),
        (second + "at = [3, 3]\n", "key at"),
        ("collar = 3\n", "neither true nor false"),
    ):
        with pytest.raises(FigureError, match=words):
            build(read(head + more))
