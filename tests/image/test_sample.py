"""Averaging over cells, against OpenCV's area resampling and by rules that always hold."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from img2plate.colour.spaces import bytes2linear, linear2bytes
from img2plate.image.sample import cells_as_they_are, finer, sample
from img2plate.image.sizing import Framing, SizeWish, frame


def noise(width: int, height: int, seed: int = 0, *, alpha: bool = False) -> np.ndarray:
    pixels = np.random.default_rng(seed).integers(0, 256, (height, width, 4), dtype=np.uint8)
    if not alpha:
        pixels[..., 3] = 255
    return pixels


@settings(deadline=None, max_examples=40)
@given(st.integers(1, 90), st.integers(1, 90), st.integers(1, 30), st.integers(1, 30))
def test_reducing_is_opencvs_area_average_in_linear_light(w, h, cols, rows) -> None:
    cols, rows = min(cols, w), min(rows, h)
    pixels = noise(w, h, w * 100 + h)
    grid = sample(pixels, frame((w, h), SizeWish(cols, rows, "stretch")))
    wanted = cv2.resize(bytes2linear(pixels[..., :3]), (cols, rows), interpolation=cv2.INTER_AREA)
    np.testing.assert_allclose(grid.rgb, wanted.reshape(grid.rgb.shape), atol=2e-5)
    np.testing.assert_allclose(grid.cover, 1, atol=1e-5)


def test_black_and_white_stripes_average_to_the_grey_that_the_eye_sees() -> None:
    """Half the light is sRGB 188 (IEC 61966-2-1), not 128."""
    pixels = np.full((8, 8, 4), 255, np.uint8)
    pixels[::2, :, :3] = 0
    grid = sample(pixels, Framing((2, 2), (0, 0, 8, 8)))
    assert (linear2bytes(grid.rgb) == 188).all()


def test_see_through_pixels_lend_no_colour() -> None:
    pixels = np.zeros((4, 4, 4), np.uint8)
    pixels[:, :2] = (255, 0, 0, 255)
    pixels[:, 2:] = (0, 255, 0, 0)
    grid = sample(pixels, Framing((1, 1), (0, 0, 4, 4)))
    np.testing.assert_allclose(grid.rgb[0, 0], [1, 0, 0], atol=1e-6)
    assert grid.cover[0, 0] == pytest.approx(0.5)


def test_a_box_around_the_picture_leaves_uncovered_margins() -> None:
    framing = frame((40, 20), SizeWish(10, 10, "contain"))
    grid = sample(noise(40, 20), framing)
    assert grid.filled.sum(axis=1).tolist() == [0, 0, *[10] * 5, 0, 0, 0] or (
        grid.cover[[2, 7]].max() <= 0.51 and grid.cover[3:7].min() > 0.99
    )
    np.testing.assert_allclose(grid.cover.sum(), 50, atol=1e-3)


@settings(deadline=None, max_examples=25)
@given(st.integers(1, 40), st.integers(1, 40), st.integers(1, 60), st.integers(1, 60))
def test_the_picture_at_finer_samples_averages_to_the_grid(w, h, cols, rows) -> None:
    cols, rows = min(cols, max(1, w // 3)), min(rows, max(1, h // 3))
    pixels = noise(w, h, w + h, alpha=True)
    framing = frame((w, h), SizeWish(cols, rows, "stretch"))
    grid, fine = sample(pixels, framing), sample(pixels, framing, per_cell=3)
    assert fine.rgb.shape == (rows * 3, cols * 3, 3)
    weights = fine.cover.reshape(rows, 3, cols, 3)
    if w >= 3 * cols and h >= 3 * rows:
        np.testing.assert_allclose(weights.mean(axis=(1, 3)), grid.cover, atol=1e-4)
        light = fine.rgb.reshape(rows, 3, cols, 3, 3) * weights[..., None]
        np.testing.assert_allclose(
            light.mean(axis=(1, 3)), grid.rgb * grid.cover[..., None], atol=1e-4
        )


def test_enlarging_stays_inside_the_pictures_range() -> None:
    pixels = noise(5, 4)
    grid = sample(pixels, frame((5, 4), SizeWish(50, 40, "stretch")))
    light = bytes2linear(pixels[..., :3])
    assert grid.rgb.min() >= light.min() - 1e-6
    assert grid.rgb.max() <= light.max() + 1e-6
    np.testing.assert_allclose(grid.cover, 1, atol=1e-5)


def test_a_sprites_cells_are_its_pixels() -> None:
    pixels = noise(16, 12, alpha=True)
    grid = cells_as_they_are(pixels)
    np.testing.assert_array_equal(linear2bytes(grid.rgb), pixels[..., :3])
    np.testing.assert_array_equal(finer(grid, 3).rgb[1::3, 1::3], grid.rgb)
