"""What judging on both axes, clipping between the passes and JPEG's chroma bring."""

from __future__ import annotations

import io

import cv2
import numpy as np
import pytest
from enlargements import by_pillow, jpeg, near_share
from PIL import Image

from img2plate.image.native.loops import sampling
from img2plate.image.native.luma import weighed_error
from img2plate.image.native.merge import merge_like
from img2plate.image.native.recover import find_native_grid
from img2plate.image.native.solver import halved_and_back


def random_sprite(seed: int, side: int, colours: int) -> np.ndarray:
    """Opaque, of few strong colours, with no cell doubled everywhere."""
    rng = np.random.default_rng(seed)
    palette = rng.integers(0, 256, (colours, 4), dtype=np.uint8)
    palette[:, 3] = 255
    return palette[rng.integers(0, colours, (side, side))]


@pytest.mark.parametrize("way", ["BICUBIC", "LANCZOS"])
def test_black_and_white_clipped_by_pillow_comes_back(way: str) -> None:
    rng = np.random.default_rng(7)
    truth = np.repeat(rng.integers(0, 2, (12, 12, 1), dtype=np.uint8) * 255, 4, axis=2)
    truth[..., 3] = 255
    big = Image.fromarray(truth).resize((96, 96), Image.Resampling[way])
    native = find_native_grid(np.array(big))
    assert native.cells == (12, 12)
    assert native.pixels is not None
    assert np.abs(native.pixels.astype(int) - truth).max() <= 6


def test_sampling_is_opencvs_bicubic_at_both_borders() -> None:
    row = np.random.default_rng(2).random((11, 1)).astype(np.float32)
    wanted = cv2.resize(row, (1, 88), interpolation=cv2.INTER_CUBIC)[:, 0]
    first, weights = sampling(88, 8.0, 0.0, 7, 11, True)
    at = np.clip(first[:, None] + np.arange(weights.shape[1]), 0, 10)
    np.testing.assert_allclose((weights * row[at, 0]).sum(axis=1), wanted, atol=1e-4)


def test_halving_is_what_jpeg_does_to_chroma() -> None:
    """Against Pillow's libjpeg at quality 95: a soft change of colour at equal luma."""
    wave = 40 * np.sin(np.arange(64) / 5)
    plane = np.full((64, 64, 3), 128.0)
    plane[..., 1] += wave  # Cb
    picture = Image.fromarray(np.rint(plane).astype(np.uint8), "YCbCr")
    data = io.BytesIO()
    picture.save(data, "JPEG", quality=95, subsampling=2)
    found = np.asarray(Image.open(data).convert("YCbCr"))[32, :, 1].astype(float)
    ours = halved_and_back(64) @ plane[32, :, 1]
    assert np.abs(found - ours).max() < 2.5


@pytest.mark.parametrize("quality", [85, 75])
def test_small_cells_survive_jpeg(quality: int) -> None:
    truth = random_sprite(3, 16, 6)
    data = io.BytesIO()
    big = truth.repeat(7, axis=0).repeat(7, axis=1)
    Image.fromarray(big[..., :3]).save(data, "JPEG", quality=quality)
    native = find_native_grid(np.array(Image.open(data).convert("RGBA")))
    assert native.cells == (16, 16)
    assert native.pixels is not None
    assert np.abs(native.pixels.astype(int) - truth).max() <= 6


def test_faint_detail_on_doubled_pixels_is_found_in_noise() -> None:
    rng = np.random.default_rng(0)
    truth = random_sprite(5, 12, 4).repeat(2, axis=0).repeat(2, axis=1)
    truth[1::4, 1::4, :3] //= 2
    big = truth.repeat(8, axis=0).repeat(8, axis=1).astype(float)
    big[..., :3] += rng.normal(0, 6, big[..., :3].shape)
    native = find_native_grid(np.clip(np.rint(big), 0, 255).astype(np.uint8))
    assert native.cells == (24, 24)


def test_merging_keeps_what_is_far_apart() -> None:
    cells = np.array([[[10, 10, 10, 255], [12, 10, 10, 255], [90, 10, 10, 255]]], np.float32)
    merged = merge_like(cells, 4.0)
    np.testing.assert_array_equal(merged[0, 0], merged[0, 1])
    np.testing.assert_array_equal(merged[0, 2], cells[0, 2])


def as_jpeg(sprite: np.ndarray, times: int, quality: int) -> np.ndarray:
    """An enlarged opaque sprite (h, w, 3), through Pillow's JPEG."""
    return jpeg(sprite.repeat(times, axis=0).repeat(times, axis=1), quality)


def test_the_chroma_that_jpeg_spoils_does_not_make_grids_finer() -> None:
    """Each cell is a block of its own: luma is a step off, chroma runs over four cells."""
    rng = np.random.default_rng(5)
    colours = rng.integers(0, 256, (2, 3), dtype=np.uint8)
    picture = as_jpeg(colours[rng.integers(0, 2, (14, 18))], 8, 60)
    assert find_native_grid(picture).cells == (18, 14)


def test_errors_in_luma_weigh_more_than_as_much_in_chroma() -> None:
    """Y of (1, 1, 1) is 1 and its chroma 0; blue alone is mostly chroma (ITU-T T.871)."""
    grey = np.ones((3, 4, 4), np.float32)
    blue = np.zeros((3, 4, 4), np.float32)
    blue[2] = 3.0
    assert weighed_error(grey) == pytest.approx(1 / 1.2)
    assert weighed_error(blue) == pytest.approx(9 * (0.114**2 + 0.1 * (0.25 + 0.081312**2)) / 1.2)
    assert weighed_error(grey[:1]) == 1


@pytest.mark.parametrize("step", [10, 12])
def test_colours_that_are_near_each_other_stay_apart_in_jpeg(step: int) -> None:
    """A ramp of browns: a radius that suits few strong colours would make them half as many."""
    browns = np.array([60, 45, 30]) + np.arange(14)[:, None] * step * np.array([1, 0.8, 0.5])
    truth = browns.astype(np.uint8)[np.random.default_rng(1).integers(0, 14, (16, 16))]
    native = find_native_grid(as_jpeg(truth, 7, 75))
    assert native.cells == (16, 16)
    assert native.pixels is not None
    assert near_share(native.pixels, truth) == 1


def test_bright_colours_on_a_see_through_ground_come_back() -> None:
    """Where the kernel overshoots, Pillow clips premultiplied colours at their alpha."""
    colours = np.array(
        [[255, 255, 255, 255], [255, 220, 40, 255], [240, 90, 30, 255], [0, 0, 0, 0]], np.uint8
    )
    truth = colours[np.random.default_rng(1).integers(0, 4, (14, 14))]
    native = find_native_grid(by_pillow(truth, 8, Image.Resampling.LANCZOS))
    assert native.cells == (14, 14)
    assert native.pixels is not None
    assert np.abs(native.pixels.astype(int) - truth).max() <= 6


def test_a_broken_pitch_with_few_edges_is_proposed() -> None:
    """A cross on a flat ground, enlarged 8.4 times, cropped: spectra of it show no pitch."""
    cross = np.full((29, 30, 3), (90, 170, 110), np.uint8)
    for i in range(6, 24):
        cross[i - 1 : i + 1, i : i + 2] = cross[i - 1 : i + 1, 29 - i : 31 - i] = 255
    big = cv2.resize(cross, (252, 244), interpolation=cv2.INTER_CUBIC)[1:237, 3:249]
    native = find_native_grid(jpeg(big, 80))
    assert (native.cells or native.doubtful) == (30, 28)  # so few edges are not believed
