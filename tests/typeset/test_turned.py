"""Sloping plates as they are drawn: turned by right angles they are as those on the lattice."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from figures_for_tests import PALETTE
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from img2plate.solid.turn import Turn
from img2plate.typeset.figure.projection import draw
from img2plate.typeset.figure.slabs import Scale, Slab
from img2plate.typeset.figure.turned import tone_of


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


@settings(max_examples=30, deadline=None)
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


@settings(max_examples=30, deadline=None)
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
