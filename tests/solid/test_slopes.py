"""Roofs and single sloping plates: arithmetic, boxes in space against an outside judge, mutants."""

from __future__ import annotations

import re
from dataclasses import replace
from fractions import Fraction
from itertools import combinations
from math import acos, degrees, radians
from pathlib import Path

import manifold3d
import numpy as np
import pytest
from figures_for_tests import part
from hypothesis import given, settings
from hypothesis import strategies as st
from outside_judge import pressed_blocks, swept, whole
from roofs import roofed

from img2plate.base.errors import FigureError
from img2plate.solid.box.build import Figure, build
from img2plate.solid.box.judged import exceptions_of, solids_of
from img2plate.solid.check.aslant import line_of
from img2plate.solid.check.lattice import Solid
from img2plate.solid.check.oriented import TOLERANCE_MM, Boxes, boxes_of, overlap
from img2plate.solid.check.rules import check
from img2plate.solid.check.swing_below import swing_below
from img2plate.solid.equal import equal_plates
from img2plate.solid.file.figure_file import read_figure
from img2plate.solid.fit.model import FitModel
from img2plate.solid.slope.angles import Slope, ridge_shift_mm, roof_slope, smallest_degrees
from img2plate.solid.slope.roof import facts_of, ridge_fingers, slope_of
from img2plate.solid.spec import FigureSpec

MODEL = FitModel()
DOWN = np.array([1, 0])
"""A row down a plate."""


def test_smallest_angles_that_a_slot_takes() -> None:
    """Worked out by hand from the volume model, 2 atan(t / s_k), before any of this was written."""
    table = {4.0: (79.4, 44.3, 30.2, 22.8), 3.5: (73.4, 39.7, 26.8, 20.2),
             3.0: (67.1, 35.0, 23.3, 17.5)}  # fmt: skip
    for t, wanted in table.items():
        found = [smallest_degrees(cells, t, MODEL) for cells in (1, 2, 3, 4)]
        assert found == pytest.approx(wanted, abs=0.06)
    shifts = [ridge_shift_mm(radians(r), t, MODEL) for r in (90, 180 - 2 * degrees(acos(0.8)), 120)
              for t in (4.0, 3.0)]  # fmt: skip
    assert shifts == pytest.approx([0, 0, 0.18, 0, 0.41, 0.27], abs=0.006)


def test_run_and_length_give_angle_slot_and_rise() -> None:
    """Six beads of run; and the lengths between them are refused with why."""
    for length, angle, cells in ((7.5, 37, 2), (8.5, 45, 2), (10, 53, 3)):
        slope = roof_slope(6, length, 4.0, MODEL)
        assert isinstance(slope, Slope)
        assert round(slope.degrees) == angle
        assert slope.cells == cells
        assert slope.rise_mm == pytest.approx(np.sqrt((length * 5 + slope.shift_mm) ** 2 - 30**2))
    assert "it takes 6 and more" in str(slope_of(0, 4, 4.0, MODEL, pitched=True))
    for length, why in ((8, "half beads"), (9.5, "whole beads"), (12, "too sharp"), (6, "reach")):
        assert why in str(roof_slope(6, length, 4.0, MODEL))
    assert isinstance(roof_slope(6, 12, 3.0, MODEL), Slope), "60 degrees hold at 3 mm"


def test_fingers_of_a_ridge_are_even_and_alike_from_both_ends() -> None:
    for long in range(6, 80):
        fingers = ridge_fingers(long)
        runs = np.diff(np.flatnonzero(np.diff(fingers, prepend=~fingers[0], append=~fingers[-1])))
        assert runs.sum() == long
        assert len(runs) >= 3
        assert runs.min() >= 2
        assert np.ptp(runs) <= 1
        if long % 2 == 0 and long >= 8:
            assert (fingers == ~fingers[::-1]).all(), "one plate for both sides"


def test_boxes_meet_where_an_outside_judge_says_so() -> None:
    """Boxes lying any way, at rest and on a straight way; those that just touch are left out."""
    rng = np.random.default_rng(14)
    said = 0
    for _ in range(120):
        axes = [np.linalg.qr(rng.normal(size=(3, 3)))[0] for _ in (0, 1)]
        axes = [a * np.sign(np.linalg.det(a)) for a in axes]
        middles, halves = rng.uniform(-3, 3, (2, 3)), rng.uniform(0.3, 3, (2, 3))
        way = rng.normal(size=3) * rng.choice([0, 3])
        one, two = (Boxes(middles[i : i + 1], halves[i : i + 1], axes[i].T) for i in (0, 1))
        depth = overlap(one, two, way if way.any() else None)[0, 0]
        blocks = [manifold3d.Manifold.cube((2 * h).tolist(), True)
                  .transform(np.column_stack([a, m])) for h, a, m in zip(halves, axes, middles,
                                                                         strict=True)]  # fmt: skip
        first = swept(blocks[:1], way) if way.any() else blocks[0]
        if abs(depth) > 0.02:
            assert (depth > 0) == ((first ^ blocks[1]).volume() > 1e-9)
            said += depth > 0
    assert 30 < said < 90


HOUSES = st.builds(
    lambda wide, deep, high, t, low: (part(wide, deep, high), low, t),
    st.integers(9, 24), st.integers(9, 24), st.integers(5, 9), st.sampled_from((3.0, 3.5, 4.0)),
    st.sampled_from(("left", "front", "right", "back")),
)  # fmt: skip


@settings(deadline=None, max_examples=4)
@given(HOUSES, st.booleans(), st.data())
def test_an_outside_judge_finds_no_overlap_either(
    house: tuple, pitched: bool, data: st.DataObject
) -> None:
    """At rest, one plate along its slope to the other, and both from above."""
    body, low, t = house
    run = body.size[0 if low in ("left", "right") else 1] - 1
    length = run / 2 + data.draw(st.integers(1, 8)) / 2 if pitched else 0
    try:
        made = roofed(body, length, low, t=t, pitched=pitched)
    except FigureError:
        return
    squeezed = 1 if low in ("left", "right") else 0
    blocks = {p.title: pressed_blocks(p, MODEL, squeezed) for p in made.pieces}
    bodies = {name: whole(some) for name, some in blocks.items()}
    plates = [p.title for p in made.pieces if p.role == "roof"]
    others = [p.title for p in made.pieces if p.role != "roof"]
    tiny = 0.05
    for plate in plates:
        for other in others:
            assert (bodies[plate] ^ bodies[other]).volume() < tiny, (plate, other)
            up = swept(blocks[plate], np.array([0, 0, 300.0]))
            assert (up ^ bodies[other]).volume() < tiny, (plate, other)
    if pitched:
        (_, step) = made.report.orders["roof"]
        assert step.along is not None
        way = swept(blocks[step.name], 300 * np.array(step.along))
        assert (way ^ bodies[plates[0]]).volume() < tiny


def wrong(made: Figure, solids: list[Solid]) -> tuple[str, ...]:
    """What the checker says of other plates in the figure's place."""
    upright = [s.voxels for s in solids if s.turn is None]
    allowed = exceptions_of(made.pieces, made.spec.parts, made.spec.joins)
    return tuple(f.words for f in check(solids, upright, allowed).findings)


@pytest.fixture(scope="module")
def house() -> Figure:
    return roofed(part(13, 9, 4), 7.5)


def test_each_mutant_of_a_roof_is_caught(house: Figure) -> None:
    """A slot one short, one row off, too long or open; a wall moved; no shift; fingers gone."""
    solids = solids_of(house.pieces, MODEL)
    assert wrong(house, solids) == ()
    number = next(n for n, s in enumerate(solids) if s.name == "roof left")
    left = solids[number]
    piece = house.pieces[number]
    slot = np.argwhere(~piece.plate.filled[1:-1]) + DOWN
    first = slot[slot[:, 0] == slot[:, 0].min()]
    turn = left.turn
    assert turn is not None

    def places(cells: np.ndarray) -> np.ndarray:
        return np.stack([axis[cells[:, 0], cells[:, 1]] for axis in piece.places], axis=1)

    def without(cells: np.ndarray) -> np.ndarray:
        gone = set(map(tuple, places(cells).tolist()))
        return np.array([v for v in left.voxels.tolist() if tuple(v) not in gone])

    above, below = first - DOWN, first + 2 * DOWN
    mutants = {
        "a slot one short": (np.concatenate([left.voxels, places(first)]), "no room"),
        "a slot one row off": (np.concatenate([without(below), places(first)]), "no room"),
        "a slot one too long": (without(above), "longer than"),
        "a slot open below": (without(np.concatenate([below, below + DOWN])), "closed all"),
        "a slot too wide": (without(np.array([[r, slot[:, 1].max() + 1] for r in
                                              np.unique(slot[:, 0])])), "grips both ends"),
        "a finger more": (np.concatenate([left.voxels, places(np.argwhere(
            ~piece.plate.filled[:1]))]), "no room"),
        "no finger": (without(np.array([[0, c] for c in range(piece.plate.size[0])])), "hold"),
    }  # fmt: skip
    for name, (voxels, words) in mutants.items():
        found = wrong(
            house, [*solids[:number], replace(left, voxels=voxels), *solids[number + 1 :]]
        )
        assert any(words in said for said in found), (name, found)
    half = {(0.5, 0, 0): "no room", (0, 0, 0.5): "does not go", (0, 0, 0.2): "does not lie",
            (0, 0, -0.5): "no room"}  # fmt: skip
    for off, words in half.items():
        moved = [
            replace(s, turn=replace(s.turn, shift=tuple(np.add(s.turn.shift, off))))
            if s.turn else s for s in solids
        ]  # fmt: skip
        assert any(words in said for said in wrong(house, moved)), off
    # Both plates up their slopes by the shift, so that their fingers touch.
    slope = house.roofs[0].slope
    assert slope.shift_mm > 0.1
    moved = []
    for solid in solids:
        if solid.turn:
            off = solid.turn.vectors(np.array([0, 0, slope.shift_mm / 5]))
            solid = replace(solid, turn=replace(solid.turn, shift=tuple(solid.turn.shift + off)))
        moved.append(solid)
    assert any("roof left: has no room beside roof right" in said for said in wrong(house, moved))
    for gone, words in (("box left", "ridge alone is a hinge"), ("roof right", "only one wall")):
        found = wrong(house, [s for s in solids if s.name != gone])
        assert any(words in said for said in found), gone
    high = Solid("bar", "box", np.array([(6, y, 30) for y in range(9)]), 0, None, left.pressed)
    assert any("cannot be lowered" in said for said in wrong(house, [*solids, high]))


def test_a_roof_of_3_4_5_is_the_same_in_exact_fractions() -> None:
    """No rounding: cos and sin are 4/5 and 3/5, all lengths fractions of a millimetre."""
    made = roofed(part(13, 6, 4), 7.5, t=3.0)
    exact = {name: Fraction(n, 5) for name, n in (("cos", 3), ("sin", 4))}
    solids = solids_of(made.pieces, MODEL)
    roof = next(s for s in solids if s.name == "roof left")
    assert roof.turn is not None
    assert (roof.turn.cos, roof.turn.sin) == pytest.approx((0.6, 0.8), abs=1e-12)
    axes = np.array([[exact["cos"], 0, -exact["sin"]], [0, 1, 0], [exact["sin"], 0, exact["cos"]]],
                    dtype=object)  # fmt: skip
    straight = np.array([[Fraction(int(i == j)) for i in range(3)] for j in range(3)])
    compared = 0
    for other in solids:
        line = line_of(roof, other)
        if other.turn is not None:
            continue
        one, two = (boxes_of(s, None if line is None else line[i]) for i, s in
                    enumerate((roof, other)))  # fmt: skip
        depth = overlap(one, two)
        normals = [np.cross(a, b) for a, b in combinations([*axes, *straight], 2)]
        for (i, j), found in list(np.ndenumerate(depth))[::5]:
            apart = _exact(two.middles[j]) - _exact(one.middles[i])
            halves = _exact(one.halves[i]), _exact(two.halves[j])
            room = [sum(abs(n @ a) * h for a, h in zip([*axes, *straight],
                                                       [*halves[0], *halves[1]], strict=True))
                    - abs(n @ apart) for n in normals if any(n)]  # fmt: skip
            assert (min(room) > Fraction(1, 1000)) == (found > TOLERANCE_MM) == False  # noqa: E712
            compared += 1
    assert compared > 30


def _exact(numbers: np.ndarray) -> np.ndarray:
    return np.array([Fraction(float(n)).limit_denominator(10**9) for n in numbers], dtype=object)


def test_both_plates_of_an_even_roof_are_one_plate() -> None:
    made = roofed(part(13, 16, 8), 8.5)
    roof = [n for n, piece in enumerate(made.pieces) if piece.role == "roof"]
    assert tuple(roof) in equal_plates(made.pieces)
    words = made.spec.remarks[-1]
    for told in ("45.1 degrees", "rises 30 mm", "90 degrees", "go in tight"):
        assert told in words
    assert "less well" not in words
    assert "less well" in roofed(part(13, 16, 8), 10).spec.remarks[-1]


def test_a_single_plate_lies_on_a_low_and_a_high_wall() -> None:
    """Ten beads over a run of eight: six higher, 3-4-5."""
    made = roofed(part(9, 10, 8), 10, pitched=False)
    slope = made.roofs[0].slope
    assert slope.rise_mm == pytest.approx(30)
    for wall in ("left", "right"):
        cells = next(p.plate.cells for p in made.pieces if p.name == wall)
        colours = [set(row[row >= 0].tolist()) for row in cells]
        assert colours == [{2}, {2}, *[{1}] * (len(cells) - 2)], "tabs are of the roof's colour"
    heights = {p.name: int(p.voxels[:, 2].max()) for p in made.pieces if p.role == "wall"}
    assert heights["right"] - heights["left"] == 6
    assert made.report.orders[""][-1].name == "roof"


def test_gables_end_close_under_the_roof(house: Figure) -> None:
    """No step leaves more than p (sin b + cos b) to the plate above it."""
    lie = house.roofs[0]
    b, p, w = lie.slope.angle, 5.0, MODEL.width_mm(4.0)
    for place, rows in enumerate(lie.heights("front")[:7]):
        if place:
            corner = place * p - w / 2 + 2, (rows - 4) * p
            gap = (corner[0] * np.tan(b) - corner[1]) * np.cos(b)
            assert -1e-9 < gap < p * (np.sin(b) + np.cos(b))


@pytest.mark.parametrize(
    ("more", "length", "words"),
    [
        ({"open": frozenset({"left"})}, 7.5, "needs a wall"),
        ({"lid": "lift"}, 7.5, "lid"),
        ({}, 8, "7.5 (37 degrees) or 8.5 (45 degrees)"),
        ({}, 5, "do not reach"),
    ],
)
def test_what_does_not_hold_is_refused_with_what_would_do(
    more: dict, length: float, words: str
) -> None:
    with pytest.raises(FigureError, match=r"^[^\n]+$") as caught:
        roofed(part(13, 17, 10, **more), length)
    assert words in str(caught.value)


FILE = """
[figure]
palette = "quay-24"
[[part]]
name = "house"
size = [13, 16, 10]
colour = "oak"
{part}
[[{kind}]]
on = "house"
{roof}
"""


def read(folder: Path, roof: str = "", kind: str = "roof", part: str = "") -> FigureSpec:
    file = folder / "house.toml"
    file.write_text(FILE.format(roof=roof, kind=kind, part=part), "utf-8")
    return read_figure(file)


def test_a_roof_takes_two_lines(tmp_path: Path) -> None:
    """All else has defaults; the length is the one near 40 degrees; rows count from the walls."""
    window = '[[part.opening]]\nface = "front"\nbeads = [3, 4]\nat = [6, 3]'
    made = build(read(tmp_path, part=window))
    assert made.roofs[0].slope.length == 7.5
    front = next(p for p in made.pieces if p.title == "house front")
    assert not front.plate.filled[-8:-4, 5:8].any()
    assert {p.title for p in made.pieces if p.role == "roof"} == {
        "house roof left", "house roof right",
    }  # fmt: skip
    wedge = build(read(tmp_path, 'low = "right"\nlength = 14', "wedge"))
    assert wedge.roofs[0].slope.cells == 2
    assert facts_of(wedge.roofs[0])["angle_degrees"] == pytest.approx(30.26, abs=0.01)


def test_a_roof_follows_its_part(tmp_path: Path) -> None:
    """Two mirrored sheds: each has its own roof, the second falls to the other side."""
    several = 'count = 2\nat = [[0, 0, 0], [40, 0, 0]]\nmirror = ["", "x"]\nloose = true'
    made = build(read(tmp_path, 'low = "left"', "wedge", several))
    lows = {roof.name: roof.low for roof in made.spec.roofs}
    assert lows == {"house 1 roof": "left", "house 2 roof": "right"}
    assert any(len(group) == 2 and made.pieces[group[0]].role == "roof"
               for group in equal_plates(made.pieces))  # fmt: skip


def test_the_stepped_roof_that_an_error_offers_is_built(tmp_path: Path) -> None:
    with pytest.raises(FigureError, match=r"`stepped = true`.*13 x 16, 9 x 16.*line 11") as caught:
        read(tmp_path, "length = 12")
    assert "a length of 10 (53 degrees) or 11 (57 degrees) would do" in str(caught.value)
    made = build(read(tmp_path, "stepped = true"))
    assert made.size == (13, 16, 18)
    assert {p.group for p in made.pieces} >= {"house", "house roof 1", "house roof 2"}


@pytest.mark.parametrize(
    ("roof", "words"),
    [
        ("length = nan", "number from 0"),
        ("length = 7.3", "whole nor half"),
        ("length = 4", "do not reach"),
        ("eaves = 1", "from 2"),
        ('ridge = "across"', "front to back, left to right"),
        ('colour = "none"', "no colour"),
        ("pitch = 3", "not known here"),
    ],
)
def test_bad_values_are_refused_in_one_line(tmp_path: Path, roof: str, words: str) -> None:
    with pytest.raises(FigureError, match=r"^[^\n]+$") as caught:
        read(tmp_path, roof)
    assert words in str(caught.value)
    assert "line 11" in str(caught.value)


def test_a_door_stays_clear_of_the_roof() -> None:
    """Of the sample's boathouse; with its roof eight beads lower the door would pass too near."""
    made = build(read_figure(Path(__file__).parents[2] / "sample_inputs/figures/boathouse.toml"))
    solids = solids_of(made.pieces, made.spec.model)
    (hinge,) = made.hinges
    assert swing_below(hinge, solids) == []
    lower = [
        replace(s, turn=replace(s.turn, shift=tuple(np.subtract(s.turn.shift, (0, 0, 8)))))
        if s.turn else s for s in solids
    ]  # fmt: skip
    (found,) = swing_below(hinge, lower)
    assert re.search(r"door: comes too near to house roof left when it is open \d+", found.words)
