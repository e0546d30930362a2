"""Large pictures are looked at in parts: enlargements by Pillow and OpenCV."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from enlargements import by_opencv, by_pillow, jpeg, near_share, sample
from PIL import Image
from support import some

from img2plate.image.native.axis import AxisGrid, LongAxis, axes_of, axis_of
from img2plate.image.native.colours import premultiplied
from img2plate.image.native.loops import BICUBIC, factor_band, solve_band
from img2plate.image.native.parts import LARGE, long_axes, looks, reduced, varying_channels
from img2plate.image.native.recover import find_native_grid


def scene(seed: int, cells: int) -> np.ndarray:
    """Our own sprites scattered over an even ground of so many cells a side."""
    rng = np.random.default_rng(seed)
    ground = sample("gull")[:1, :1]
    out = np.repeat(np.repeat(ground, cells, axis=0), cells, axis=1)
    sprites = [sample(name) for name in ("puffin", "gull", "crab", "buoy", "anchor")]
    for _ in range(max(3, cells * cells // 700)):
        sprite = sprites[rng.integers(len(sprites))][:cells, :cells]
        top, left = (int(rng.integers(0, cells - side + 1)) for side in sprite.shape[:2])
        out[top : top + sprite.shape[0], left : left + sprite.shape[1]] = sprite
    return out


@pytest.mark.parametrize(("cells", "side"), [(32, 2000), (150, 1500), (256, 2000)])
def test_hard_cells_of_large_pictures(cells: int, side: int) -> None:
    truth = scene(cells, cells)
    big = by_pillow(truth, side / cells, Image.Resampling.NEAREST)
    assert max(big.shape) > LARGE
    native = find_native_grid(big)
    assert native.cells == (cells, cells), str(native)
    np.testing.assert_array_equal(native.pixels, truth)
    compressed = find_native_grid(jpeg(big, 80))
    assert compressed.cells == (cells, cells), str(compressed)
    assert near_share(compressed.pixels, truth) > 0.95


@pytest.mark.parametrize("cells", some(32, 128, long=[64]))
@pytest.mark.parametrize("way", some("bicubic", "opencv", long=["lanczos"]))
def test_soft_cells_of_large_pictures(cells: int, way: str) -> None:
    truth = scene(cells + 1, cells)
    if way == "opencv":
        big = by_opencv(truth, 2000 / cells, cv2.INTER_CUBIC)
    else:
        big = by_pillow(truth, 2000 / cells, Image.Resampling[way.upper()])
    native = find_native_grid(big)
    assert native.cells == (cells, cells), str(native)
    assert near_share(native.pixels, truth) > 0.98


def test_a_large_crop_in_the_middle_of_pixels() -> None:
    truth = scene(3, 60)
    big = by_pillow(truth, 30, Image.Resampling.NEAREST)[10:-20, 20:-10]  # 20 and 10 of 30 are left
    native = find_native_grid(big)
    np.testing.assert_array_equal(native.pixels, truth[:-1, 1:])
    assert native.cell_px == (30, 30)
    assert native.offset_px == (10, -10)


def test_alpha_of_large_pictures() -> None:
    truth = scene(4, 64)
    truth[(truth == truth[0, 0]).all(axis=2)] = 0
    native = find_native_grid(by_pillow(truth, 15.625, Image.Resampling.NEAREST))
    np.testing.assert_array_equal(native.pixels, truth)


def test_wishes_for_large_pictures() -> None:
    truth = scene(5, 50)
    big = by_pillow(truth, 30, Image.Resampling.NEAREST)
    np.testing.assert_array_equal(find_native_grid(big, cells=(50, 50)).pixels, truth)
    np.testing.assert_array_equal(find_native_grid(big, cell_px=(30, 30)).pixels, truth)


@pytest.mark.parametrize("way", some("NEAREST", "BICUBIC", long=["LANCZOS"]))
@pytest.mark.parametrize("quality", some(80, long=[None]))
def test_two_pixels_a_cell_in_the_reduced_picture(way: str, quality: int | None) -> None:
    truth = scene(7, 250)
    big = by_pillow(truth, 8, Image.Resampling[way])
    assert next(looks(big)).times == 4
    native = find_native_grid(big if quality is None else jpeg(big, quality))
    assert native.cells == (250, 250), str(native)
    assert near_share(native.pixels, truth) > 0.95


def test_single_pixels_among_doubled_ones() -> None:
    truth = scene(8, 50).repeat(2, axis=0).repeat(2, axis=1)
    truth[10:34, 60:84] = scene(9, 24)
    native = find_native_grid(by_pillow(truth, 20, Image.Resampling.NEAREST))
    np.testing.assert_array_equal(native.pixels, truth)


def test_the_busiest_stretches_of_a_long_axis() -> None:
    picture = np.full((3000, 40, 4), 255, np.uint8)
    places = (300, 1500, 2600)
    for start in places:
        picture[start : start + 200 : 4, :, :3] = 0
    _, y = long_axes(picture)
    assert isinstance(y, LongAxis)
    for (start, axis), place in zip(y.stretches, places, strict=True):
        assert start <= place
        assert place + 197 <= start + axis.length
        np.testing.assert_allclose(
            axis.gram,
            axis_of(varying_channels(premultiplied(picture[start : start + axis.length]))).gram,
        )


def test_looks_show_all_then_a_part() -> None:
    big = by_pillow(scene(6, 50), 40, Image.Resampling.NEAREST)
    whole, part = looks(big)
    assert (whole.times, part.times) == (4, 1)
    assert whole.planes.shape[:2] == (500, 500)
    left, top = part.origin
    height, width = part.planes.shape[:2]
    same = varying_channels(premultiplied(big[top : top + height, left : left + width]))
    np.testing.assert_array_equal(part.planes, same)
    assert len(list(looks(big[:600, :600]))) == 1


def test_reducing_averages_colours_by_their_cover() -> None:
    picture = np.zeros((4, 4, 4), np.uint8)
    picture[::2] = (200, 100, 50, 255)
    np.testing.assert_allclose(
        reduced(picture, 2), np.broadcast_to([100, 50, 25, 127.5], (2, 2, 4))
    )


def test_a_long_axis_of_one_stretch_is_that_axis() -> None:
    planes = np.random.default_rng(0).random((90, 40, 3)).astype(np.float32) * 255
    axis = axis_of(planes)
    tried = [AxisGrid(7.0, -3.0), AxisGrid(6.3, -1.0)]
    np.testing.assert_allclose(
        LongAxis(90, ((0, axis),)).costs(tried, BICUBIC), axes_of(planes)[1].costs(tried, BICUBIC)
    )


def test_the_banded_solution_is_numpys() -> None:
    rng = np.random.default_rng(1)
    square = np.eye(12) * 4 + np.diag(rng.random(11), 1) + np.diag(rng.random(10), 2)
    square = (square + square.T) / 2
    band = np.stack([np.append(np.zeros(d), square.diagonal(d)) for d in range(3)], axis=1)
    right = rng.random((12, 5)).astype(np.float32)
    wanted = np.linalg.solve(square, right)
    factor_band(band)
    solve_band(band.astype(np.float32), right)
    np.testing.assert_allclose(right, wanted, rtol=1e-4)


@pytest.mark.parametrize("name", ["trawler", "lighthouse", "barque"])
@pytest.mark.parametrize("where", ["first", "middle", "last"])
def test_one_single_row_among_doubled_ones_is_kept(name: str, where: str) -> None:
    doubled = sample(name).repeat(2, axis=0).repeat(2, axis=1)
    at = {"first": 0, "middle": len(doubled) // 4 * 2, "last": len(doubled)}[where]
    row = doubled[min(at, len(doubled) - 1)].copy()
    row[::2, :3] = (200, 30, 30)
    picture = np.insert(doubled, at, row, axis=0)
    native = find_native_grid(picture)
    assert native.cells == (picture.shape[1], picture.shape[0]), str(native)
    np.testing.assert_array_equal(native.pixels, picture)
    assert find_native_grid(doubled).cells == (doubled.shape[1] // 2, doubled.shape[0] // 2)


@pytest.mark.parametrize("name", some("puffin", "gull", "crab", long=["trawler", "buoy", "anchor"]))
@pytest.mark.parametrize("times", some(5.9, 7.18, long=[9.2]))
def test_bicubic_crop_and_jpeg_together(name: str, times: float) -> None:
    truth = sample(name)
    big = by_pillow(truth, times, Image.Resampling.BICUBIC)
    cut = round(0.7 * times)
    native = find_native_grid(jpeg(big[cut:, : len(big[0]) - cut], 80))
    assert native.cells == (truth.shape[1] - 1, truth.shape[0] - 1), str(native)
    assert native.cell_px == pytest.approx((times, times), rel=0.02)
