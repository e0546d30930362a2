"""Cells that drift: straight lines, unevenly spaced, as some programs draw pixel art."""

from __future__ import annotations

import numpy as np
import pytest
from drawn_pictures import uneven_cells
from PIL import Image

from img2plate.image.native.axis import axes_of
from img2plate.image.native.check import draw_check
from img2plate.image.native.drift import drifting_grid, likeliest
from img2plate.image.native.drift_loops import squares_within
from img2plate.image.native.native_grid import UnevenLines
from img2plate.image.native.recover import find_native_grid


@pytest.mark.parametrize("adding_up", [False, True], ids=["jittered", "adding up"])
def test_lines_and_colours_come_back(adding_up: bool) -> None:
    picture, truth, (x, y) = uneven_cells(4, adding_up)
    native = find_native_grid(picture)
    assert native.cells == (14, 12)
    assert native.uneven is not None
    assert native.pixels is not None
    assert np.abs(native.uneven.x - x).max() <= 1
    assert np.abs(native.uneven.y - y).max() <= 1
    assert (np.abs(native.pixels[..., :3].astype(int) - truth).max(axis=2) <= 12).all()
    assert "off even, not sure" in str(native)


def test_soft_and_natural_pictures_have_none() -> None:
    rng = np.random.default_rng(1)
    noise = Image.fromarray(rng.integers(0, 256, (24, 30, 3), dtype=np.uint8))
    for side, way in (((150, 120), Image.Resampling.BICUBIC), ((90, 72), Image.Resampling.LANCZOS)):
        soft = np.asarray(noise.resize(side, way).convert("RGBA"))
        assert drifting_grid(soft) is None
    speckled = rng.integers(0, 256, (96, 96, 4), dtype=np.uint8)
    assert drifting_grid(speckled) is None


def test_squares_are_those_about_the_mean_of_the_inside() -> None:
    row = np.random.default_rng(2).normal(size=(12, 3))
    gram = row @ row.T
    summed = np.pad(gram.cumsum(axis=0).cumsum(axis=1), ((1, 0), (1, 0)))
    powers = np.append(0, np.diag(gram).cumsum())
    inside = row[4:8]
    wanted = ((inside - inside.mean(axis=0)) ** 2).sum() * 6 / 4
    assert squares_within(summed, powers, 3, 9) == pytest.approx(wanted)


def test_even_cells_get_even_lines() -> None:
    rng = np.random.default_rng(3)
    cells = rng.integers(0, 256, (11, 13, 3)).astype(np.float32)
    found = likeliest(*axes_of(cells.repeat(8, axis=0).repeat(8, axis=1)))
    assert found is not None
    np.testing.assert_array_equal(found[0], np.arange(14) * 8)
    np.testing.assert_array_equal(found[1], np.arange(12) * 8)


def test_straightening_and_drawing_follow_the_lines() -> None:
    picture, truth, (x, y) = uneven_cells(5, True)
    lines = UnevenLines(x.astype(np.int64), y.astype(np.int64))
    assert 0.1 < lines.off < 0.3
    even = lines.straightened(picture)
    assert even.shape == (y[-1], x[-1], 4)
    at_y, at_x = (np.arange(n) + 0.5 for n in truth.shape[:2])
    middles = even[np.ix_((at_y * y[-1] / 12).astype(int), (at_x * x[-1] / 14).astype(int))]
    assert np.abs(middles[..., :3].astype(int) - truth).max() <= 25
    native = find_native_grid(picture)
    assert native.uneven is not None
    shown = draw_check(picture, native)
    times = shown.shape[1] // picture.shape[1]
    reddish = shown[:, int(native.uneven.x[5]) * times, 0].astype(int)
    assert (reddish > 130).all()


def test_cards_with_straight_edges_have_lines_but_are_not_claimed() -> None:
    """Boxes and rules at uneven places, as on a form: few edges cross."""
    rng = np.random.default_rng(7)
    card = np.full((180, 240, 4), 255, np.uint8)
    for _ in range(9):
        x, y = rng.integers(8, 180), rng.integers(8, 140)
        w, h = rng.integers(6, 50), rng.integers(3, 30)
        card[y : y + h, x : x + w, :3] = rng.integers(0, 256, 3)
    assert drifting_grid(card) is None
