"""Lids that slide, on any face and out to any side of it."""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest
from figures_for_tests import figure, figure_or_refusal, part

from img2plate.solid.faces import FACES, FAR, NORMAL, face_size
from img2plate.solid.mirror import mirrored
from img2plate.solid.spec import OpeningSpec, ShelfSpec

WAYS = [(on, to) for on, to in product(FACES, FACES) if NORMAL[on] != NORMAL[to]]


@pytest.mark.parametrize(("on", "to"), WAYS)
def test_a_lid_slides_on_any_face_as_on_the_top(on: str, to: str) -> None:
    """The plates are those of a box with its lid on the top, out to the front, turned."""
    usual = figure(part(9, 10, 11, lid="slide"))
    up, along = NORMAL[on], NORMAL[to]
    axes = (3 - up - along, along, up)
    size = [0, 0, 0]
    for axis, beads in zip(axes, (9, 10, 11), strict=True):
        size[axis] = beads
    turned = figure(part(*size, lid="slide", lid_on=on, lid_to=to))
    last = turned.report.orders["box"][-1]
    assert (last.name, last.axis, last.step) == ("box lid", along, 1 if to in FAR else -1)

    def as_usual(voxels: np.ndarray) -> frozenset[tuple[int, ...]]:
        lying = voxels[:, axes].copy()
        for axis, turn in enumerate((False, to in FAR, on not in FAR)):
            if turn:
                lying[:, axis] = (9, 10, 11)[axis] - 1 - lying[:, axis]
        return frozenset(map(tuple, lying.tolist()))

    plates = {as_usual(piece.voxels) for piece in turned.pieces}
    assert plates == {frozenset(map(tuple, piece.voxels.tolist())) for piece in usual.pieces}


def test_its_picture_and_what_is_inside() -> None:
    """The lid has its face's colours where it shows, openings are cut in it, shelves keep off."""
    wide, high = face_size("left", (12, 12, 12))
    look = np.arange(wide * high).reshape(high, wide).astype(np.int16) % 5
    made = figure(
        part(12, 12, 12, lid="slide", lid_on="left", cells={"left": look},
             openings=(OpeningSpec("left", (2, 1), (4, 5)),), shelves=(ShelfSpec(6, 3),))
    )  # fmt: skip
    lid = next(piece for piece in made.pieces if piece.role == "slide")
    assert lid.seen == "left"
    assert (lid.voxels[:, 0] == 2).all(), "under two layers of rail"
    shown = lid.plate.cells >= 0
    assert not shown[5, 4:6].any()
    inner = np.zeros_like(shown)
    inner[2:-1, 1:-1] = shown[2:-1, 1:-1]
    assert (lid.plate.cells[inner] == look[inner]).all()
    shelf = next(piece for piece in made.pieces if piece.role == "shelf")
    assert shelf.voxels[:, 0].min() >= 3


def test_where_it_cannot_slide_a_line_says_why() -> None:
    for said, words in (
        (part(9, 10, 7, lid="slide"), "6 beads across its way, 8 along it and 8 below it"),
        (part(7, 9, 9, lid="slide", lid_on="left"), "8 below it"),
        (part(9, 9, 9, lid="slide", lid_on="front", open=frozenset({"left"})), "four walls"),
    ):
        refused = figure_or_refusal(said)
        assert isinstance(refused, str)
        assert words in refused
        assert 'lid = "lift"' in refused


def test_its_mirror_image_slides_the_other_way() -> None:
    made = figure(mirrored(part(10, 9, 9, lid="slide", lid_on="top", lid_to="left"), 0))
    assert made.report.orders["box"][-1].step == 1
