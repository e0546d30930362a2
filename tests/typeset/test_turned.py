"""Sloping plates as they are drawn: turned by right angles they are as those on the lattice."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
import trimesh
from figures_for_tests import PALETTE, figure, part
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from img2plate.plate.plate import EMPTY, Plate
from img2plate.solid.box.build import Figure
from img2plate.solid.check.lattice import Step
from img2plate.solid.joints import find_joints
from img2plate.solid.spec import JoinSpec, ShelfSpec
from img2plate.solid.turn import Turn
from img2plate.typeset.figure.drawings import _drawn
from img2plate.typeset.figure.groups import groups_of
from img2plate.typeset.figure.mesh import write_mesh
from img2plate.typeset.figure.projection import draw
from img2plate.typeset.figure.scene import Scene, apart, scenes, slab_of, slabs_of
from img2plate.typeset.figure.slabs import Scale, Slab
from img2plate.typeset.figure.turned import tone_of
from img2plate.ui.worktable.work.figure_facts import facts_of


def plate(mask: np.ndarray, axis: int, colour: int = 1, share: float = 0.8) -> Slab:
    """A plate with a bead wherever the mask is true."""
    flat = np.argwhere(mask)
    places = np.insert(flat, axis, 0, axis=1)
    return Slab(places, np.full(len(places), colour, np.int16), axis, share, 0.4)


def turned_on_lattice(slab: Slab, along: int, quarters: int) -> Slab:
    """The same by whole numbers: the next axis becomes the one after it, and so on."""
    voxels, axis = slab.voxels, slab.axis
    one, two = (along + 1) % 3, (along + 2) % 3
    for _ in range(quarters):
        voxels = voxels.copy()
        voxels[:, one], voxels[:, two] = -voxels[:, two] - 1, voxels[:, one].copy()
        axis = {one: two, two: one}.get(axis, axis)
    return replace(slab, voxels=voxels, axis=axis)


@settings(max_examples=15, deadline=None)
@given(arrays(bool, (5, 4)).filter(np.any), st.integers(0, 2), st.integers(0, 2),
       st.integers(0, 3), st.integers(2, 9))  # fmt: skip
def test_right_angles_are_drawn_as_on_the_lattice(
    mask: np.ndarray, axis: int, along: int, quarters: int, b: int
) -> None:
    cos, sin = [(1, 0), (0, 1), (-1, 0), (0, -1)][quarters]
    flat = plate(mask, axis)
    second = draw([replace(flat, turn=Turn(along, cos, sin))], PALETTE, Scale(b))
    first = draw([turned_on_lattice(flat, along, quarters)], PALETTE, Scale(b))
    assert first.pixels.shape == second.pixels.shape
    apart = np.abs(first.near.astype(np.int64) - second.near.astype(np.int64)) > 2
    assert apart.sum() <= 0.01 * (first.near > 0).sum()
    off = np.abs(first.pixels.astype(int) - second.pixels).max(axis=2) > 8
    assert off.sum() <= 0.01 * (first.near > 0).sum()


def sloped(angle: float, axis: int = 2, along: int = 1, shift: tuple[float, ...] = (0.0, 0.0, 0.0),
           colour: int = 1) -> Slab:  # fmt: skip
    """A plate of 6 x 6 beads, turned by degrees."""
    x, y, z = shift
    way = Turn(along, float(np.cos(np.radians(angle))), float(np.sin(np.radians(angle))), (x, y, z))
    return replace(plate(np.ones((6, 6), bool), axis, colour), turn=way)


@settings(max_examples=15, deadline=None)
@given(st.floats(-180, 180), st.integers(0, 2), st.integers(0, 2), st.integers(3, 10))
def test_the_nearer_of_two_slopes_hides_the_farther(
    angle: float, axis: int, along: int, b: int
) -> None:
    """Of two alike, 4 beads apart along the line of sight, only the nearer one is seen."""
    far = sloped(angle, axis, along)
    sight = np.array([1.0, -1.0, 2 / round(np.sqrt(6) * b) * b])  # nothing to the right or down
    near = sloped(angle, axis, along, tuple((4 * sight).tolist()), colour=2)
    alone = draw([near], PALETTE, Scale(b)).sees(near.middles)
    for slabs in ([far, near], [near, far]):
        drawing = draw(slabs, PALETTE, Scale(b))
        assert not drawing.sees(far.middles).any()
        assert (drawing.sees(near.middles) == alone).all()


def test_a_slope_and_a_wall_hide_each_other_where_each_is_in_front() -> None:
    """A slope goes through an upright wall: one half stands before it, the other behind."""
    wall = plate(np.ones((12, 12), bool), 1, colour=2)
    slope = sloped(45, along=0, shift=(3, -2, 3))
    drawing = draw([wall, slope], PALETTE, Scale(12))
    assert slope.turn is not None
    front, back = (slope.turn.points(np.array([3.5, y, 0.5])) for y in (0.5, 5.5))
    assert drawing.sees(np.stack([front, back])).tolist() == [True, False]


def test_tones_of_slopes_lie_between_those_of_the_axes() -> None:
    assert [tone_of(np.eye(3)[a]) for a in (0, 2)] == [0.70, 1.0]
    assert tone_of(np.array([0, -1, 0])) == 0.84
    assert 0.84 < tone_of(np.array([0, -0.6, 0.8])) < 1.0
    assert (
        tone_of(np.array([-0.6, 0, 0.8]))
        > tone_of(np.array([0.6, 0, 0.8]))
        == pytest.approx(0.64 + 0.36 * 0.7)
    )


@pytest.fixture(scope="module")
def sloping() -> Figure:
    """Two boxes alike whose lids are turned by 37 degrees: one comes along its own slope."""
    made = figure(*(part(8, 9, 6, name=f"box {n}", at=(12 * n, 0, 0), lid="lift", loose=True)
                    for n in (1, 2)))  # fmt: skip
    orders = dict(made.report.orders)
    for name in ("box 1", "box 2"):
        along = (-0.8, 0.0, -0.6) if name == "box 1" else None
        orders[name] = tuple(
            Step(s.name, 0, -1, along) if along and s.name == f"{name} lid" else s
            for s in orders[name]
        )
    pieces = tuple(
        replace(p, turn=Turn(1, 0.8, -0.6, (2.0, 0.0, 3.5))) if p.name == "lid" else p
        for p in made.pieces
    )
    return replace(made, pieces=pieces, report=replace(made.report, orders=orders))


def test_the_mesh_of_a_sloping_plate_is_closed_and_stands_where_it_slopes(
    sloping: Figure, tmp_path: Path
) -> None:
    write_mesh(tmp_path / "figure.glb", sloping)
    scene = trimesh.load_scene(tmp_path / "figure.glb", process=False)
    piece = next(p for p in sloping.pieces if p.title == "box 1 lid")
    (mesh,) = (scene.geometry[scene.graph[n][1]] for n in scene.graph.nodes_geometry
               if n == piece.title)  # fmt: skip
    stored = mesh.vertex_normals[mesh.faces[:, 0]]
    assert np.allclose(stored, mesh.face_normals, atol=1e-5)
    assert set(np.round(stored @ (-0.6, 0.8, 0.0), 5).tolist()) == {-1.0, 0.0, 1.0}
    whole = trimesh.Trimesh(mesh.vertices, mesh.faces)
    whole.merge_vertices()
    assert whole.is_watertight
    assert whole.volume * 1e9 == pytest.approx(
        piece.plate.bead_count * 25.0 * piece.thickness_mm, rel=1e-4
    )
    x, y, z = piece.in_figure(piece.voxels + 0.5).mean(axis=0) * 0.005
    assert np.allclose(whole.center_mass, (x, z, -y), atol=1e-6)


def test_a_page_is_told_where_the_beads_of_a_slope_lie(sloping: Figure) -> None:
    for told, piece in zip(facts_of(sloping)["plates"], sloping.pieces, strict=True):
        rows, columns = np.nonzero(piece.plate.filled)
        lies = (np.array(told["origin"]) + 0.5 + columns[:, None] * told["across"]
                + rows[:, None] * told["down"])  # fmt: skip
        assert np.allclose(lies, piece.in_figure(piece.voxels + 0.5), atol=1e-4)
        assert np.allclose(told["outward"], piece.normal, atol=1e-6)
        assert piece.normal @ piece.normal == pytest.approx(1.0)


def test_a_slope_moves_out_along_its_normal_and_comes_the_way_it_is_said(sloping: Figure) -> None:
    shifts = apart(sloping)
    lid = next(p for p in sloping.pieces if p.title == "box 1 lid")
    front = shifts["box 1 front"]  # moved along y, and with its group
    out = shifts[lid.title] - (front[0], shifts[lid.title][1], front[2])
    assert out @ lid.normal == pytest.approx(np.linalg.norm(out))
    assert out @ lid.normal > 3
    scene = next(s for s in scenes(sloping) if s.coming == (lid,))
    assert scene.words.endswith("along the slope of 37 degrees, from the left and below")
    assert scene.shift is not None
    way = scene.shift / np.linalg.norm(scene.shift)
    assert way.tolist() == pytest.approx([-0.8, 0.0, -0.6])
    coming = slabs_of(sloping, scene)[-1].corners @ way
    assert coming.min() > max((p.corners @ way).max() for p in scene.there)
    low, high = sloping.span
    corners = np.concatenate([slab_of(sloping, p).corners for p in sloping.pieces])
    assert (low <= corners + 1e-6).all()
    assert (corners - 1e-6 <= high + 1).all()


def test_parts_that_slope_unlike_are_not_equal(sloping: Figure) -> None:
    assert [group.equals for group in groups_of(sloping)] == [(), ()]
    level = replace(sloping, pieces=tuple(replace(p, turn=None) for p in sloping.pieces))
    assert [group.equals for group in groups_of(level)] == [("box 2",)]


@cache
def tower() -> Figure:
    """Two boxes, a shelf, and two strips halved into each other."""
    low = part(9, 10, 8, name="low", shelves=(ShelfSpec(4, 2),))
    high = part(9, 10, 7, name="high", at=(0, 0, 8), lid="lift")
    return figure(low, high, joins=(JoinSpec("j", ("low", "top"), ("high", "bottom"), "plus", 3),))


@settings(max_examples=8, deadline=None)
@given(st.floats(-180, 180), st.integers(0, 2))
def test_a_figure_turned_as_a_whole_has_the_same_joints(angle: float, along: int) -> None:
    cos, sin = float(np.cos(np.radians(angle))), float(np.sin(np.radians(angle)))
    way = Turn(along, cos, sin, (3.0, 0.5, -2.25))
    assert find_joints([replace(p, turn=way) for p in tower().pieces]) == tower().joints


def test_what_comes_from_behind_is_drawn_far_enough_off_to_be_seen() -> None:
    """A small plate goes onto a large one from the back, which is away from who looks."""
    made = tower()
    wall = next(p for p in made.pieces if p.title == "low front")
    small = replace(wall, plate=Plate(np.where(np.arange(9) == 4, wall.plate.cells, EMPTY)[3:5],
                                      wall.plate.palette, "small"),
                    places=tuple(axis[3:5] for axis in wall.places))  # fmt: skip
    hidden = Scene("small: push", (wall,), (small,), np.array([0, 3, 0]))
    drawing, coming = _drawn(made, hidden, 200)
    assert drawing.sees(coming[0].middles).any()
    assert coming[0].voxels[:, 1].min() > small.voxels[:, 1].min() + 3


@given(st.floats(-180, 180), st.integers(0, 1), st.integers(0, 2), st.sampled_from((1, -1)))
def test_a_sloping_plate_lies_level_once_it_is_laid_down(
    angle: float, along: int, axis: int, side: int
) -> None:
    if axis == along:  # it stands upright, however it is turned
        return
    normal = side * np.eye(3)[axis]
    way = Turn(along, float(np.cos(np.radians(angle))), float(np.sin(np.radians(angle))))
    level = way.levelled(way.vectors(normal))
    assert level.vectors(normal).tolist() == pytest.approx([0.0, 0.0, 1.0])
