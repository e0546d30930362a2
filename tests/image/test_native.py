"""Native grids from enlargements made by Pillow and OpenCV, not by our own code."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from enlargements import by_opencv, by_pillow, jpeg, near_share, sample
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from PIL import Image
from support import SAMPLES, some

from img2plate.base.errors import OptionError
from img2plate.image.native.check import draw_check
from img2plate.image.native.loops import BICUBIC, residual, sampling
from img2plate.image.native.recover import find_native_grid

SPRITES = ("puffin", "gull", "trawler", "crab")


@pytest.mark.parametrize("name", SPRITES)
@pytest.mark.parametrize("times", [2, 3, 6.5, 9.37, 16])
def test_hard_enlargements_come_back_exactly(name: str, times: float) -> None:
    truth = sample(name)
    for big in (
        by_pillow(truth, times, Image.Resampling.NEAREST),
        by_opencv(truth, times, cv2.INTER_NEAREST),
    ):
        native = find_native_grid(big)
        assert native.cells == (truth.shape[1], truth.shape[0]), str(native)
        np.testing.assert_array_equal(native.pixels, truth)
        assert native.cell_px == pytest.approx((times, times), rel=0.03)


@pytest.mark.parametrize("name", SPRITES)
@pytest.mark.parametrize("way", ["BILINEAR", "BICUBIC", "LANCZOS"])
def test_soft_enlargements_come_back(name: str, way: str) -> None:
    truth = sample(name)
    native = find_native_grid(by_pillow(truth, 8, Image.Resampling[way]))
    assert native.cells == (truth.shape[1], truth.shape[0]), str(native)
    assert native.pixels is not None
    assert near_share(native.pixels, truth) > 0.95


def test_opencvs_bicubic_at_a_broken_pitch() -> None:
    truth = sample("puffin")
    native = find_native_grid(by_opencv(truth, 7.3, cv2.INTER_CUBIC))
    assert native.cells == (truth.shape[1], truth.shape[0])
    assert native.kernel.startswith("bicubic")


@pytest.mark.parametrize("quality", [85, 60])
def test_jpeg_noise_and_shrinking(quality: int) -> None:
    truth = sample("trawler")
    big = by_pillow(truth, 8, Image.Resampling.NEAREST)
    rng = np.random.default_rng(1)
    noisy = np.clip(big + rng.normal(0, 5, big.shape), 0, 255).astype(np.uint8)
    noisy[..., 3] = 255
    ten = by_pillow(truth, 10, Image.Resampling.NEAREST)
    shrunk = by_opencv(ten, 0.73, cv2.INTER_AREA)
    for pixels in (jpeg(big, quality), noisy, shrunk):
        native = find_native_grid(pixels)
        assert native.cells == (truth.shape[1], truth.shape[0]), str(native)
        assert native.pixels is not None
        assert near_share(native.pixels, truth) > 0.85


def test_crop_in_the_middle_of_pixels_keeps_cells_that_are_half_there() -> None:
    truth = sample("puffin")
    big = by_pillow(truth, 10, Image.Resampling.NEAREST)
    native = find_native_grid(big[4:-6, 6:-5])  # 6 of 10 above and 4 below; 4 left and 5 right
    np.testing.assert_array_equal(native.pixels, truth[:-1, 1:])
    assert native.offset_px == (4, -4)


def test_alpha_is_kept() -> None:
    with Image.open(SAMPLES / "gull.png") as image:
        truth = np.array(image.convert("RGBA"))
    truth[truth[..., 3] == 0] = 0
    native = find_native_grid(by_pillow(truth, 7, Image.Resampling.NEAREST))
    np.testing.assert_array_equal(native.pixels, truth)


def test_pitches_may_differ_between_the_axes() -> None:
    truth = sample("trawler")
    size = (truth.shape[1] * 6, truth.shape[0] * 9)
    big = np.array(Image.fromarray(truth).resize(size, Image.Resampling.NEAREST))
    native = find_native_grid(big)
    assert native.cell_px == (6, 9)
    np.testing.assert_array_equal(native.pixels, truth)


@settings(deadline=None, max_examples=25)
@given(
    st.integers(0, 10_000), st.integers(8, 24), st.integers(8, 24), st.integers(3, 12),
    st.integers(0, 11), st.integers(0, 11),
)  # fmt: skip
def test_any_sprite_any_pitch_any_phase(seed, width, height, times, left, top) -> None:
    """Random sprites in eight colours, cut off by less than a cell on two sides."""
    rng = np.random.default_rng(seed)
    palette = rng.integers(0, 256, (8, 4), dtype=np.uint8)
    palette[:, 3] = 255
    assume(len(np.unique(palette, axis=0)) == 8)
    truth = palette[rng.integers(0, 8, (height, width))]
    left, top = left % times, top % times
    big = truth.repeat(times, axis=0).repeat(times, axis=1)[top:, left:]
    native = find_native_grid(big)
    first = [int(2 * cut > times) for cut in (top, left)]
    np.testing.assert_array_equal(native.pixels, truth[first[0] :, first[1] :])


@pytest.mark.parametrize("name", some("chelsea", "coffee", "rocket", long=["astronaut", "retina"]))
def test_photos_have_no_grid(name: str) -> None:
    """scikit-image's own pictures (CC0 or public domain), whole and small, plain and as JPEG."""
    import skimage.data

    photo = Image.fromarray(getattr(skimage.data, name)()).convert("RGBA")
    for side in (1400, 400, 160):
        photo.thumbnail((side, side))
        assert find_native_grid(np.array(photo)).cells is None
        assert find_native_grid(jpeg(np.array(photo), 75)).cells is None
    assert str(find_native_grid(np.array(photo))) == "no grid"


def test_a_native_sprite_is_itself() -> None:
    truth = sample("crab")
    native = find_native_grid(truth)
    assert native.cells == (truth.shape[1], truth.shape[0])
    np.testing.assert_array_equal(native.pixels, truth)


def test_few_edges_name_the_finer_grid_too() -> None:
    truth = np.zeros((4, 4, 4), np.uint8)
    truth[..., 3] = 255
    truth[1:3, 2] = (200, 0, 0, 255)
    native = find_native_grid(truth.repeat(20, axis=0).repeat(20, axis=1))
    assert native.cells is not None
    assert native.other == (native.cells[0] * 2, native.cells[1] * 2)
    assert "fits as well" in str(native)


def test_overrides() -> None:
    truth = sample("puffin")
    big = by_pillow(truth, 8, Image.Resampling.NEAREST)
    height, width = truth.shape[:2]
    assert find_native_grid(big, cells=(2 * width, 2 * height)).cells == (2 * width, 2 * height)
    assert find_native_grid(big, cell_px=(4, 4)).cells == (2 * width, 2 * height)
    with pytest.raises(OptionError, match="`cells`"):
        find_native_grid(big, cells=(9999, 3))
    with pytest.raises(OptionError, match="`cell_px`"):
        find_native_grid(big, cell_px=(0.2, 0.2))


def test_the_residual_is_that_of_plain_least_squares() -> None:
    """Against numpy's lstsq, for a soft kernel."""
    picture = np.random.default_rng(0).random((60, 40)).astype(np.float32) * 255
    first, weights = sampling(60, 5.0, 0.0, BICUBIC, 12, True)
    matrix = np.zeros((60, 12))
    for j in range(60):
        for t in range(4):
            if weights[j, t]:
                matrix[j, first[j] + t] = weights[j, t]
    left = picture - matrix @ np.linalg.lstsq(matrix, picture, rcond=None)[0]
    ours = residual(picture @ picture.T, 5.0, 0.0, BICUBIC, 12, True)
    assert ours == pytest.approx(float((left**2).sum()), rel=2e-3)


@pytest.mark.parametrize(("kind", "way"), [(4, "BILINEAR"), (5, "BICUBIC"), (6, "LANCZOS")])
def test_sampling_matrices_are_pillows(kind: int, way: str) -> None:
    """Enlarging a row by Pillow in floats equals the matrix, borders and all."""
    row = np.random.default_rng(2).random((1, 11)).astype(np.float32)
    wanted = np.asarray(Image.fromarray(row).resize((80, 1), Image.Resampling[way]))[0]
    first, weights = sampling(80, 80 / 11, 0.0, kind, 11, True)
    at = np.clip(first[:, None] + np.arange(weights.shape[1]), 0, 10)
    np.testing.assert_allclose((weights * row[0, at]).sum(axis=1), wanted, atol=2e-5)


def test_the_check_picture_shows_the_lines() -> None:
    big = by_pillow(sample("puffin"), 8, Image.Resampling.NEAREST)
    native = find_native_grid(big)
    drawn = draw_check(big, native)
    times = drawn.shape[0] // big.shape[0]
    line, inside = drawn[:, 8 * times, :3].astype(int), drawn[:, 12 * times, :3].astype(int)
    assert np.abs(line - (181, 69, 46)).mean() < np.abs(inside - (181, 69, 46)).mean() / 2


@pytest.mark.parametrize("shape", [(20, 20), (36, 24)])
def test_stripes_say_nothing_of_the_other_axis(shape: tuple[int, int]) -> None:
    """On a flat axis ever coarser grids are ever cheaper: the search must end all the same."""
    pixels = np.full((*shape, 4), 255, np.uint8)
    pixels[:, :5, :3], pixels[:, 15:, :3] = (130, 20, 30), (30, 30, 40)
    found = find_native_grid(pixels)
    assert found.cells is None or found.cells[0] <= shape[1]
