"""What is seen of a figure, judged by other means: trimesh, pypdfium2, and pixels."""

from __future__ import annotations

import csv
import re
from itertools import combinations
from pathlib import Path

import numpy as np
import pypdfium2
import pytest
import trimesh
from figures_for_tests import PALETTE, figure, part

from img2plate.base.lengths import PAPERS
from img2plate.base.words import column_letters
from img2plate.colour.spaces import srgb2linear
from img2plate.plate.plate import Plate
from img2plate.solid.box.build import Figure
from img2plate.solid.equal import equal_plates
from img2plate.solid.faces import OPPOSITE, face_places
from img2plate.solid.joints import find_joints
from img2plate.solid.spec import JoinSpec, OpeningSpec, ShelfSpec
from img2plate.tally.table import write_counts
from img2plate.typeset.figure.boards import cut_plate
from img2plate.typeset.figure.counts import count_figure
from img2plate.typeset.figure.drawings import draw_all, draw_parts
from img2plate.typeset.figure.groups import groups_of
from img2plate.typeset.figure.labels import RADIUS, place_labels
from img2plate.typeset.figure.laying import plan_figure
from img2plate.typeset.figure.mesh import write_mesh
from img2plate.typeset.figure.projection import FINER, draw
from img2plate.typeset.figure.scene import apart, scenes, slab_of
from img2plate.typeset.figure.sheets import write_figure_sheets
from img2plate.typeset.figure.slabs import Scale, Slab
from img2plate.typeset.sheets.printing import Printing
from img2plate.typeset.sheets.sheet import Sheet


@pytest.fixture(scope="module")
def made() -> Figure:
    low = part(12, 14, 8, name="low", openings=(OpeningSpec("front", (4, 1), (4, 3)),), colour=2)
    high = part(12, 12, 8, name="high", at=(0, 1, 8), lid="lift")
    join = JoinSpec("join 1", ("low", "top"), ("high", "bottom"), "plus", 3, colour=3)
    return figure(low, high, joins=(join,))


def test_plates_are_drawn_as_they_are_seen() -> None:
    """Of every plate, rows and columns run as on a face that is seen from its side: strips too."""
    sides = {"top": (0, 0, 12), "bottom": (0, 0, -12), "right": (12, 0, 0), "left": (-12, 0, 0),
             "front": (0, -12, 0), "back": (0, 12, 0)}  # fmt: skip
    for face, at in sides.items():
        for kind, upright in (("strip", False), ("strip", True), ("plus", False)):
            low, high = part(12, 12, 12, name="low"), part(12, 12, 12, name="high", at=at)
            join = JoinSpec("j", ("low", face), ("high", OPPOSITE[face]), kind, 3, None, upright)
            for piece in figure(low, high, joins=(join,)).pieces:
                usual = face_places(piece.seen, (9, 9, 9))
                for axis, wanted in zip(piece.places, usual, strict=True):
                    for way in (0, 1):
                        steps = np.diff(axis, axis=way)
                        assert (steps == np.diff(wanted, axis=way).flat[0]).all(), piece.title


def test_many_joints_keep_letters_of_one_size_in_lines() -> None:
    from img2plate.typeset.figure.plate_list import _meetings, _width

    shelves = tuple(ShelfSpec(level, 2) for level in range(4, 34, 3))
    many = figure(part(14, 14, 38, shelves=shelves))
    joints = find_joints(many.pieces)
    number = next(n for n, p in enumerate(many.pieces) if p.name == "front")
    sheet = Sheet(Path("unused.pdf"), "list")
    lines = _meetings(sheet, joints, number, 60.0)
    assert len(lines) > 1
    assert sum(map(len, lines)) == sum(number in {s.piece for s in j.sides} for j in joints) > 12
    assert all(sum(_width(sheet, *met) for met in line) - 3 <= 60 for line in lines)


def test_the_mesh_is_read_by_another_library_and_is_the_figure(
    made: Figure, tmp_path: Path
) -> None:
    write_mesh(tmp_path / "figure.glb", made)
    scene = trimesh.load_scene(tmp_path / "figure.glb")
    # glTF 2.0, 3.4: metres, +Y up. Fingers reach over the whole of the outer layers.
    wide, deep, high = np.array(made.size) * 5 / 1000
    low, top = scene.bounds
    assert top[0] - low[0] == pytest.approx(wide, abs=1e-6)
    assert top[1] - low[1] == pytest.approx(high, abs=1e-6)
    assert top[2] - low[2] == pytest.approx(deep, abs=1e-6)
    nodes = set(scene.graph.nodes_geometry)
    assert all(any(name.startswith(p.title) for name in nodes) for p in made.pieces)


def test_each_plate_of_the_mesh_is_closed_and_has_its_volume(made: Figure, tmp_path: Path) -> None:
    write_mesh(tmp_path / "figure.glb", made)
    scene = trimesh.load_scene(tmp_path / "figure.glb")
    for piece in made.pieces:
        parts = [
            scene.geometry[scene.graph[name][1]].copy()
            for name in scene.graph.nodes_geometry
            if name == piece.title or name.startswith(f"{piece.title}_")
        ]
        whole = trimesh.util.concatenate([trimesh.Trimesh(m.vertices, m.faces) for m in parts])
        whole.merge_vertices()
        assert whole.is_watertight, piece.title
        assert whole.is_winding_consistent
        bead = 5.0 * 5.0 * piece.thickness_mm
        assert whole.volume * 1e9 == pytest.approx(piece.plate.bead_count * bead, rel=1e-4)


def test_the_mesh_has_the_beads_colours_in_linear_light(made: Figure, tmp_path: Path) -> None:
    write_mesh(tmp_path / "figure.glb", made)
    scene = trimesh.load_scene(tmp_path / "figure.glb")
    found = {tuple(np.round(m.visual.material.baseColorFactor[:3] / 255.0, 2))
             for m in scene.geometry.values()}  # fmt: skip
    used = [PALETTE.beads[i].srgb for i in np.flatnonzero(made.counts())]
    for srgb in used:
        linear = np.asarray(srgb2linear(np.array(srgb) / 255))
        assert any(np.allclose(linear, colour, atol=0.012) for colour in found), srgb


def slab(*places: tuple[int, int, int], axis: int = 2, colour: int = 0) -> Slab:
    return Slab(np.array(places), np.full(len(places), colour, np.int16), axis, 1.0, 0.0)


def seen(drawing, point: tuple[float, float, float]) -> np.ndarray:
    x, y = drawing.at(point)
    return drawing.pixels[int(y), int(x)]


def test_the_nearer_plate_hides_the_farther_one_in_any_order() -> None:
    """In front (-y), right (+x) and above (+z) are nearer; colour on top is the bead's own."""
    far = slab((0, 0, 0), colour=1)
    for near in (slab((2, -2, 2), colour=2), slab((1, -1, 1), colour=2)):
        for order in ([far, near], [near, far]):
            drawing = draw(order, PALETTE, Scale(16))
            middle = near.voxels[0] + np.array([0.4, 0.4, 1.0])
            assert (seen(drawing, tuple(middle)) == PALETTE.beads[2].srgb).all()


def test_the_projection_is_to_scale() -> None:
    """30 degrees up: equal lengths along x and y, 1.2247 times as many pixels along z."""
    scale = Scale(100)
    x, y, z = scale.project(np.eye(3))
    assert np.hypot(*x) == pytest.approx(np.hypot(*y))
    true = np.hypot(200 / np.sqrt(2) * np.sqrt(2), 0)
    assert abs(z[1]) == pytest.approx(true * np.cos(np.pi / 6) * np.sqrt(2), rel=0.01)
    assert FINER >= 2


def test_faces_show_front_right_and_top_only(made: Figure) -> None:
    from img2plate.typeset.figure.scene import slab_of

    drawing = draw([slab_of(made, p) for p in made.pieces], PALETTE, Scale(12))
    width, _, height = made.size
    top = seen(drawing, (4.22, 5.22, height - 0.07))
    assert (top == PALETTE.beads[1].srgb).all()
    front = seen(drawing, (1.15, 0.1, 1.15)).astype(int)
    low = np.array(PALETTE.beads[2].srgb)
    assert (front <= low).all()
    assert front.sum() > 0.6 * low.sum()
    assert width == 12


def test_pulled_apart_no_two_plates_share_a_place(made: Figure) -> None:
    shifts = apart(made)
    places = np.concatenate([p.voxels + shifts[p.title] for p in made.pieces])
    assert len(np.unique(places, axis=0)) == made.bead_count


def test_every_plate_comes_in_once_and_parts_after(made: Figure) -> None:
    found = scenes(made)
    assert len(found) == len(made.pieces) + 2
    alone = [scene.coming[0].title for scene in found if len(scene.coming) == 1]
    assert sorted(alone) == sorted(piece.title for piece in made.pieces)
    assert found[-1].words.startswith("high: plates ")
    assert found[-1].words.endswith(", from above")


def test_steps_name_plates_by_number_and_joints_by_letter(made: Figure) -> None:
    joints = find_joints(made.pieces)
    for scene in scenes(made):
        if len(scene.coming) > 1 or not scene.there:
            continue
        number = made.pieces.index(scene.coming[0])
        there = {made.pieces.index(piece) for piece in scene.there}
        letters = {column_letters(j.number) for j in joints
                   if number in (ends := {s.piece for s in j.sides}) and ends & there}  # fmt: skip
        assert f"plate {number + 1} onto" in scene.words
        said = scene.words.rpartition("joint")[2].rpartition(",")[0]
        assert set(re.findall("[A-Z]+", said)) == letters


def test_equal_parts_are_drawn_and_built_once() -> None:
    """A leg of another colour is another one; all stand there when the parts are put together."""
    legs = [part(4, 4, 5, name=f"leg {n}", at=(8 * n, 0, 0), loose=True, colour=1 + (n == 2))
            for n in range(4)]  # fmt: skip
    table = figure(*legs)
    groups = groups_of(table)
    assert [(g.name, g.equals) for g in groups] == [("leg 0", ("leg 1", "leg 3")), ("leg 2", ())]
    assert len(draw_parts(table)) == 2
    words = [scene.words for scene in scenes(table)]
    assert sum("leg 0 (make 3: also leg 1, leg 3): " in w for w in words) == 6
    assert sum(w.startswith("leg 1: ") for w in words) <= 1


def test_no_disc_hides_a_disc_or_its_plate(made: Figure) -> None:
    """Frames and lines apart; of a plate at least 70 per cent is left beside its own disc."""
    shifts = apart(made)
    named = [(str(n), [slab_of(made, p, shifts[p.title])]) for n, p in enumerate(made.pieces)]
    drawing = draw([slab for _, slabs in named for slab in slabs], PALETTE, Scale(5), margin=40)
    labels = place_labels(drawing, named)
    for one, two in combinations(labels, 2):
        wide = one.half + two.half
        assert abs(one.x - two.x) >= wide or abs(one.y - two.y) >= 2 * RADIUS
    assert len(labels) == len(made.pieces)  # pulled apart, something is seen of each
    assert any(label.is_beside for label in labels)
    for label in labels:
        slab = named[int(label.text)][1][0]
        seen = np.array([drawing.at(v) for v in slab.voxels + 0.5 if drawing.sees(v[None])[0]])
        hidden = (abs(seen - (label.x, label.y)) < (label.half, RADIUS)).all(axis=1)
        assert hidden.mean() <= 0.35, label


def test_plates_end_in_lines_that_print_without_colour() -> None:
    """Where one plate stands before another of its colour, a dark line tells them apart."""
    far = [(x, y, 0) for x in range(8) for y in range(8)]
    near = [(x, y, 3) for x in range(2, 5) for y in range(2, 5)]
    alone = draw([slab(*far)], PALETTE, Scale(8)).pixels
    both = draw([slab(*far), slab(*near)], PALETTE, Scale(8))
    corner = both.at((2.0, 3.5, 4.0))
    around = both.pixels[int(corner[1]) - 3 : int(corner[1]) + 4, int(corner[0])].astype(float)
    assert around.sum(axis=1).min() < 0.8 * around.sum(axis=1).max()
    assert alone.shape[1] <= both.pixels.shape[1]


def test_counts_by_plate_add_up(made: Figure, tmp_path: Path) -> None:
    counts = count_figure(made)
    write_counts(tmp_path / "counts.csv", counts)
    rows = list(csv.DictReader((tmp_path / "counts.csv").read_text("utf-8").splitlines()))
    assert int(rows[-1]["beads"]) == made.bead_count
    for piece in made.pieces:
        column = [int(row[piece.title]) for row in rows]
        assert sum(column[:-1]) == column[-1] == piece.plate.bead_count


def test_joints_have_the_same_letter_on_both_plates(made: Figure, tmp_path: Path) -> None:
    counts = count_figure(made)
    plan = plan_figure(made, Printing(PAPERS["A4"]), board=(29, 29))
    write_figure_sheets(tmp_path / "s.pdf", made, counts, draw_all(made), plan)
    document = pypdfium2.PdfDocument(tmp_path / "s.pdf")
    texts = [page.get_textpage().get_text_bounded() for page in document]
    document.close()
    joints = find_joints(made.pieces)
    # Two boxes of twelve edges, two strips through two plates each, and the strips' own crossing.
    assert len(joints) == 24 + 4 + 1
    firsts = [group[0] for group in equal_plates(made.pieces)]
    assert len(firsts) < len(made.pieces)
    pages = {made.pieces[n].title: next(t for t in texts if made.pieces[n].title in t
                                        and "this way up" in t) for n in firsts}  # fmt: skip
    assert sum("make 2" in text for text in texts) > 0
    for joint in joints:
        letter = column_letters(joint.number)
        for side, other in (joint.sides, joint.sides[::-1]):
            if side.piece not in firsts:
                assert any(f"{letter} {other.piece + 1}" in text for text in texts)
                continue
            text = pages[made.pieces[side.piece].title].split()
            assert letter in text or f"{letter}{other.piece + 1}" in text, letter
    whole = "\n".join(texts)
    assert "press to 4 mm" in whole
    assert "press to 4.3 mm" in whole
    assert "Follow local rules" in whole
    assert "small part" in whole
    assert len(texts) < len(firsts) + 6  # plates share boards


def test_no_board_of_a_larger_plate_is_a_sliver() -> None:
    cells = np.zeros((12, 30), np.int16)
    cut = cut_plate(Plate(cells, PALETTE, "side"), (29, 29), "full", 4)
    assert [(tile.width, tile.height) for tile in cut.tiles] == [(15, 12), (15, 12)]
    strip = cut_plate(Plate(cells[:2], PALETTE, "strip"), (29, 29), "full", 4)
    assert [tile.width for tile in strip.tiles] == [15, 15]
    whole = cut_plate(Plate(cells[:, :29], PALETTE, "side"), (29, 29), "full", 4)
    assert len(whole.tiles) == 1
