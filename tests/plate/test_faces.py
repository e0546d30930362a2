"""Faces in photos are found with what a library brings along, and count more in the search."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import skimage.data
from support import make_palette

from img2plate.colour.spaces import linear2lab
from img2plate.image.grid import Grid
from img2plate.image.kind.kind import Kind
from img2plate.image.sample import sample
from img2plate.image.sizing import SizeWish, frame
from img2plate.plate.search import Effort, faces, search
from img2plate.plate.search.target import importance, texture_of
from img2plate.plate.shade.looks import AIMS
from img2plate.plate.shade.match import nearest


def photo(name: str, side: int, per_cell: int = 6) -> Grid:
    """An open picture (see scikit-image's skimage/data) on its cells."""
    pixels = getattr(skimage.data, name)()
    rgba = np.dstack([pixels, np.full(pixels.shape[:2], 255, np.uint8)])
    framing = frame((rgba.shape[1], rgba.shape[0]), SizeWish(side, side))
    return sample(rgba, framing, per_cell=per_cell)


def test_the_astronauts_face_is_found() -> None:
    found = faces.faces(photo("astronaut", 58))
    assert len(found) == 1
    pixels = np.array(found[0]) * 512 / 58
    np.testing.assert_allclose(pixels[:2], (224, 115), atol=15)
    assert 75 < pixels[2] < 130


@pytest.mark.parametrize("name", ["coffee", "rocket"])
def test_where_nobody_is_no_face_is_found(name: str) -> None:
    picture = photo(name, 58)
    assert faces.faces(picture) == []
    assert (faces.face_weight(picture, (36, 58)) == 1).all()


def test_drawings_and_small_plates_are_not_searched() -> None:
    assert faces.faces(photo("astronaut", 12)) == []
    drawing = replace(photo("astronaut", 58), kind=Kind.DRAWING)
    assert (faces.face_weight(drawing, (58, 58)) == 1).all()


def test_a_face_counts_more_and_the_whole_as_much_as_before() -> None:
    picture = photo("astronaut", 58)
    lab = linear2lab(photo("astronaut", 58, 1).rgb)
    filled = np.ones((58, 58), np.bool_)
    plain = importance(texture_of(lab, filled), filled, np.ones(filled.shape, np.float32))
    favoured = importance(texture_of(lab, filled), filled, faces.face_weight(picture, filled.shape))
    assert favoured.mean() == pytest.approx(1, abs=1e-4)
    assert favoured[13, 25] > 1.4 * plain[13, 25]
    assert favoured[50, 50] < plain[50, 50]


def test_the_search_gives_a_face_more(monkeypatch: pytest.MonkeyPatch) -> None:
    """CIELAB error within the face, over 2 x 2 beads, as the eye mixes them."""
    palette, grid = make_palette(40, seed=7), photo("astronaut", 58, 1)
    start = nearest(grid.rgb, palette, difference="hyab")

    def error(weight: float) -> float:
        monkeypatch.setattr(faces, "FACE_WEIGHT", weight)
        picture = photo("astronaut", 58)
        cells = search(picture, start, palette, AIMS["balanced"], effort=Effort(sweeps=4))
        both = [plane[8:18, 20:30].reshape(5, 2, 5, 2, 3).mean(axis=(1, 3))
                for plane in (grid.rgb, palette.linear[cells])]  # fmt: skip
        return float(np.abs(linear2lab(both[0]) - linear2lab(both[1])).sum(axis=-1).mean())

    assert error(3.0) < error(1.0)
