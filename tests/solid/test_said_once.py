"""What a description says once is the same as what it says at length."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from figures_for_tests import figure, part
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

from img2plate.base.errors import FigureError
from img2plate.solid.box.build import build
from img2plate.solid.box.insides import build_part
from img2plate.solid.box.paint import paint
from img2plate.solid.equal import equal_plates
from img2plate.solid.faces import FACES, face_size
from img2plate.solid.file.figure_file import read_figure
from img2plate.solid.mirror import mirrored
from img2plate.solid.spec import OpeningSpec

HEAD = '[figure]\npalette = "quay-24"\n'
BODY = '[[part]]\nname = "body"\nsize = [20, 12, 9]\ncolour = "prt"\nat = [0, 0, 9]\n'
LEG = '[[part]]\nname = "leg"\nsize = [9, 9, 9]\ncolour = "oak"\n'


def read(folder: Path, text: str):
    (folder / "f.toml").write_text(HEAD + text, "utf-8")
    return read_figure(folder / "f.toml")


def refusal(folder: Path, text: str) -> str:
    with pytest.raises(FigureError) as caught:
        read(folder, text)
    return str(caught.value)


def test_several_of_a_part_with_a_join_for_each(tmp_path: Path) -> None:
    join = '[[join]]\nbetween = ["leg.top", "body.bottom"]\nbeads = 3\n'
    once = read(tmp_path, BODY + LEG + "count = 2\nat = [[0, 2, 0], [11, 2, 0]]\n" + join)
    legs = "".join(
        LEG.replace('"leg"', f'"leg {n}"') + f"at = [{x}, 2, 0]\n" for n, x in ((1, 0), (2, 11))
    )
    joins = "".join(
        join.replace("leg.top", f"leg {n}.top") + f'name = "join 1 {n}"\n' for n in (1, 2)
    )
    at_length = read(tmp_path, BODY + legs + joins)
    assert once.name == "f"
    assert [p.name for p in once.parts] == ["body", "leg 1", "leg 2"]
    assert [(j.name, j.first, j.second) for j in once.joins] == [
        (j.name, j.first, j.second) for j in at_length.joins
    ]
    one, two = build(once), build(at_length)
    assert [p.title for p in one.pieces] == [p.title for p in two.pieces]
    for mine, other in zip(one.pieces, two.pieces, strict=True):
        np.testing.assert_array_equal(mine.voxels, other.voxels)
        np.testing.assert_array_equal(mine.plate.cells, other.plate.cells)


def test_a_part_like_another_takes_all_but_its_place(tmp_path: Path) -> None:
    first = LEG + 'at = [3, 3, 3]\nfinger = 3\nfaces.front = "prt"\nfaces.back = "tar"\n'
    spec = read(tmp_path, first + '[[part]]\nname = "paw"\nlike = "leg"\nfaces.back = "oak"\n')
    leg, paw = spec.parts
    assert (paw.size, paw.finger, paw.colour, paw.at) == (leg.size, 3, leg.colour, (0, 0, 0))
    np.testing.assert_array_equal(paw.cells["front"], leg.cells["front"])
    assert (paw.cells["back"] == leg.colour).all()


def test_variables_are_worked_out_everywhere(tmp_path: Path) -> None:
    text = '[variables]\nw = 12\nh = "= w / 2 + 3"\n'
    part_text = '[[part]]\nname = "a"\nsize = ["= w", "=h", "= 2 * (w - 4)"]\ncolour = "prt"\n'
    opening = '[[part.opening]]\nface = "front"\nbeads = ["= w // 5", 3]\n'
    spec = read(tmp_path, text + part_text + opening)
    assert spec.parts[0].size == (12, 9, 16)
    assert spec.parts[0].openings[0].cells == (2, 3)


@pytest.mark.parametrize(
    ("more", "word"),
    [("on", (7, 4, 18)), ("under", (7, 4, 4)), ("beside_right", (20, 4, 9)),
     ("beside_left", (-5, 4, 9)), ("beside_front", (7, -3, 9)), ("beside_back", (7, 12, 9))],
)  # fmt: skip
def test_a_part_stands_against_another(tmp_path: Path, more: str, word: tuple[int, ...]) -> None:
    key, _, side = more.partition("_")
    name = f"body.{side}" if side else "body"
    text = BODY + f'[[part]]\nname = "a"\nsize = [5, 3, 5]\ncolour = "oak"\n{key} = "{name}"\n'
    assert read(tmp_path, text).parts[1].at == word
    moved = read(tmp_path, text + "shift = [1, -2]").parts[1].at
    assert sorted(np.subtract(moved, word).tolist()) == [-2, 0, 1]


@settings(deadline=None, max_examples=25)
@given(st.data())
def test_a_mirror_image_is_the_part_turned_round(data: st.DataObject) -> None:
    size = tuple(data.draw(st.integers(7, 12)) for _ in range(3))
    rng = np.random.default_rng(data.draw(st.integers(0, 99)))
    cells = {
        face: rng.integers(0, 6, face_size(face, size)[::-1]).astype(np.int16) for face in FACES
    }
    face = data.draw(st.sampled_from(FACES))
    wide, high = face_size(face, size)
    opening = OpeningSpec(face, (max(1, wide - 7), 1), (3, 3)) if min(wide, high) >= 8 else None
    made = part(*size, cells=cells, openings=(opening,) if opening else ())
    axis = data.draw(st.sampled_from([0, 1]))
    turned = mirrored(made, axis)
    np.testing.assert_array_equal(
        paint(turned, turned.faces), np.flip(paint(made, made.faces), axis)
    )
    again = mirrored(turned, axis)
    assert again.openings == made.openings
    assert again.open == made.open
    if opening:
        np.testing.assert_array_equal(
            build_part(turned).beads < 0, np.flip(build_part(made).beads < 0, axis)
        )


def test_one_picture_wrapped_round_four_sides(tmp_path: Path) -> None:
    """Columns run on from face to face; neighbours share the one on their edge."""
    wide, deep, high = 9, 6, 7
    pixels = np.random.default_rng(3).integers(0, 255, (high, 2 * (wide + deep) - 4, 3), np.uint8)
    Image.fromarray(pixels).save(tmp_path / "ring.png")
    text = f'[[part]]\nname = "a"\nsize = [{wide}, {deep}, {high}]\ncolour = "oak"\n'
    cells = read(tmp_path, text + 'faces.around = "ring.png"\n').parts[0].cells
    assert {f: c.shape for f, c in cells.items()} == {
        "front": (7, 9), "back": (7, 9), "left": (7, 6), "right": (7, 6)
    }  # fmt: skip
    for one, two in (("front", "right"), ("right", "back"), ("back", "left"), ("left", "front")):
        np.testing.assert_array_equal(cells[one][:, -1], cells[two][:, 0])
    Image.fromarray(pixels[:, :9]).save(tmp_path / "front.png")
    same = read(tmp_path, text + 'faces.front = "front.png"\n').parts[0].cells
    turned = read(tmp_path, text + 'faces.front = {picture = "front.png", mirror = true}\n')
    np.testing.assert_array_equal(turned.parts[0].cells["front"], same["front"][:, ::-1])


def test_one_face_for_all_sides(tmp_path: Path) -> None:
    cells = read(tmp_path, BODY + 'faces.sides = "oak"\nfaces.back = "tar"\n').parts[0].cells
    assert set(cells) == {"front", "back", "left", "right"}
    assert cells["back"][0, 0] != cells["front"][0, 0] == cells["left"][0, 0]


@settings(deadline=None, max_examples=15)
@given(st.integers(4, 9), st.integers(4, 9), st.integers(0, 99))
def test_equal_plates_by_brute_force(wide: int, deep: int, seed: int) -> None:
    """Two plates are of one group where one of four turns makes one the other."""
    rng = np.random.default_rng(seed)
    cells = {f: rng.integers(0, 2, face_size(f, (wide, deep, 5))[::-1]).astype(np.int16)
             for f in ("front", "left")}  # fmt: skip
    twice = part(wide, deep, 5), part(wide, deep, 5, name="two", at=(20, 0, 0), loose=True)
    third = part(wide, deep, 5, name="three", at=(40, 0, 0), loose=True, cells=cells)
    pieces = figure(*twice, third).pieces
    groups = equal_plates(pieces)
    assert sorted(n for group in groups for n in group) == list(range(len(pieces)))
    where = {n: g for g, group in enumerate(groups) for n in group}
    for i, one in enumerate(pieces):
        for j, two in enumerate(pieces[:i]):
            turns = [np.rot90(one.plate.cells, k) for k in range(4)]
            same = any(np.array_equal(turn, two.plate.cells) for turn in turns)
            assert (where[i] == where[j]) == same


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (LEG + "count = 3\nat = [[0, 0, 0], [9, 0, 0]]", ["key at", "2 places for 3 parts"]),
        (LEG + "count = 0", ["key count"]),
        (LEG + 'mirror = "z"', ["key mirror", "left for right"]),
        (LEG + 'like = "wing"', ["key like", "wing"]),
        (LEG + 'beside = "leg"', ["key beside", "hull.right"]),
        (BODY + LEG + 'on = "body"\nunder = "body"', ["key on", "only one"]),
        (LEG.replace("[9, 9, 9]", '["= x", 7, 9]'), ["key part, size", "= x", "there are: none"]),
        ("[variables]\na = true\n" + LEG, ["variables", "key a", "not a number"]),
        (LEG.replace("[9, 9, 9]", '["= 7 / 2", 7, 9]'), ["key size", "whole numbers"]),
        (LEG.replace("[9, 9, 9]", '["= 9 ** 9", 7, 9]'), ["no sum"]),
    ],
)
def test_slips_are_one_line(tmp_path: Path, text: str, words: list[str]) -> None:
    said = refusal(tmp_path, text)
    assert "\n" not in said
    for word in words:
        assert word in said, said
