"""Cells of enlarged sprites saved as JPEG: the file bounds them, and they come back exactly."""

from __future__ import annotations

import io
from pathlib import Path

import numpy as np
import pytest
from enlargements import near_share
from PIL import Image

from img2plate.image.jpeg.source import JpegSource
from img2plate.image.native.axis import AxisGrid
from img2plate.image.native.blocks import coefficients_of
from img2plate.image.native.bounded import BoundedFit, from_rgb, to_rgb
from img2plate.image.native.grid_candidate import Candidate
from img2plate.image.native.loops import BICUBIC, NEAREST
from img2plate.image.native.recover import find_native_grid
from img2plate.image.native.stored_evidence import explains_file
from img2plate.image.opened import look_at
from img2plate.image.read import read_picture
from img2plate.image.source_options import SourceOptions


def sprite(seed: int, rows: int, columns: int, colours: int = 7) -> np.ndarray:
    """(rows, columns, 3) of strong and of near colours."""
    rng = np.random.default_rng(seed)
    palette = rng.integers(0, 256, (colours, 3), dtype=np.uint8)
    palette[1] = np.clip(palette[0].astype(int) + np.array([9, -6, 4]), 0, 255)
    return palette[rng.integers(0, colours, (rows, columns))]


def as_file(pixels: np.ndarray, quality: int, **options: object) -> bytes:
    data = io.BytesIO()
    Image.fromarray(pixels).save(data, "JPEG", quality=quality, **options)
    return data.getvalue()


def decoded(data: bytes) -> np.ndarray:
    return np.asarray(Image.open(io.BytesIO(data)).convert("RGBA"))


def opaque(rgb: np.ndarray) -> np.ndarray:
    return np.dstack([rgb, np.full(rgb.shape[:2], 255, np.uint8)])


@pytest.mark.parametrize(
    ("times", "quality", "options"),
    [
        (8, 85, {}),
        (7, 75, {}),
        (7, 75, {"subsampling": 0}),
        (6, 60, {"subsampling": 1, "restart_marker_blocks": 3}),
    ],
)
def test_every_colour_comes_back(times: int, quality: int, options: dict[str, object]) -> None:
    truth = sprite(times, 15, 19)
    data = as_file(truth.repeat(times, axis=0).repeat(times, axis=1), quality, **options)
    native = find_native_grid(decoded(data), cells=(19, 15), source=JpegSource(data))
    assert native.cells == (19, 15)
    assert native.pixels is not None
    off = np.abs(native.pixels[..., :3].astype(int) - truth)
    assert off.max() <= 8
    assert off.mean() < 0.6
    assert near_share(native.pixels, opaque(truth)) == 1
    assert len(np.unique(native.pixels.reshape(-1, 4), axis=0)) <= 1.5 * 7


def test_soft_cells_cut_off_and_compressed() -> None:
    truth = sprite(3, 16, 16)
    big = Image.fromarray(truth).resize((112, 112), Image.Resampling.BICUBIC)
    data = as_file(np.asarray(big)[2:, 1:], 80)
    native = find_native_grid(decoded(data), source=JpegSource(data))
    assert native.cells == (16, 16)
    assert native.pixels is not None
    assert near_share(native.pixels, opaque(truth)) == 1


def test_a_crop_off_the_blocks_uses_those_inside(tmp_path: Path) -> None:
    truth = sprite(9, 20, 22)
    data = as_file(truth.repeat(7, axis=0).repeat(7, axis=1), 75)
    (tmp_path / "tern.jpg").write_bytes(data)
    picture = read_picture(tmp_path / "tern.jpg")
    assert picture.source is not None
    box = (14, 7, 126, 119)  # whole cells 2..19 and 1..17
    part = picture.pixels[7:126, 14:140]
    native = look_at(part, SourceOptions(cell_px=7.0), picture.source.cropped(*box)).native
    assert native.cells == (18, 17)
    assert native.pixels is not None
    off = np.abs(native.pixels[1:-1, 1:-1, :3].astype(int) - truth[2:17, 3:19])
    assert off.max() <= 3


def test_turned_and_recoloured_files_are_no_source(tmp_path: Path) -> None:
    picture = Image.fromarray(sprite(1, 24, 24))
    exif = Image.Exif()
    exif[0x0112] = 6
    picture.save(tmp_path / "turned.jpg", exif=exif)
    picture.save(tmp_path / "plain.jpg")
    picture.save(tmp_path / "lossless.png")
    assert read_picture(tmp_path / "turned.jpg").source is None
    assert read_picture(tmp_path / "lossless.png").source is None
    assert read_picture(tmp_path / "plain.jpg").source is not None


@pytest.mark.parametrize("subsampling", [0, 1, 2])
def test_the_model_encodes_as_libjpeg_does(subsampling: int) -> None:
    """Of the true cells no coefficient is further than half a step from what is stored."""
    truth = sprite(4, 13, 11)
    data = as_file(truth.repeat(5, axis=0).repeat(5, axis=1), 90, subsampling=subsampling)
    stored = JpegSource(data).coefficients
    assert stored is not None
    grids = AxisGrid(5.0, 0.0, True), AxisGrid(5.0, 0.0, True)
    fit = BoundedFit(stored, *grids, NEAREST)
    cells = from_rgb(truth.astype(np.float32))
    assert fit.excess(fit.encoded(cells)) < 0.01  # libjpeg's DCT is in whole numbers
    cells[0, 0, 0] += 30
    assert fit.excess(fit.encoded(cells)) > 1


def test_colours_survive_rounding_to_luma_and_chroma() -> None:
    rgb = np.random.default_rng(2).integers(0, 256, (9, 9, 3)).astype(np.float32)
    np.testing.assert_array_equal(to_rgb(from_rgb(rgb)), rgb)
    grey = np.full((1, 2, 2), -28.0, np.float32)
    np.testing.assert_array_equal(to_rgb(grey), np.full((2, 2, 3), 100))


def test_a_flat_block_has_only_a_mean() -> None:
    """T.81, A.3.3: the DC coefficient is eight times the mean."""
    stored = JpegSource(as_file(np.full((8, 8), 77, np.uint8), 90)).coefficients
    assert stored is not None
    found = coefficients_of(np.full((8, 8), 10, np.float32), stored.channels[0])
    assert found[0, 0] == pytest.approx(80)
    assert np.abs(found.ravel()[1:]).max() < 1e-3


def soft_file(quality: int) -> tuple[np.ndarray, bytes]:
    """A pale sprite, enlarged smoothly by Pillow and saved: its truth, and the file."""
    truth = sprite(3, 20, 24, 5) // 8 + 100
    big = Image.fromarray(truth).resize((24 * 7 + 5, 20 * 7 + 4), Image.Resampling.BICUBIC)
    return truth, as_file(np.asarray(big), quality)


def test_soft_cells_that_leave_only_rounding_explain_a_file() -> None:
    _, data = soft_file(80)
    stored = JpegSource(data).coefficients
    assert stored is not None
    x, y = AxisGrid(173 / 24, 0.0), AxisGrid(144 / 20, 0.0)
    assert explains_file(stored, decoded(data), Candidate(x, y, BICUBIC, 0.0))
    wide = AxisGrid(173 / 22, 0.0)
    assert not explains_file(stored, decoded(data), Candidate(wide, y, BICUBIC, 0.0))


def test_a_pale_soft_sprite_is_found_by_its_file() -> None:
    _, data = soft_file(80)
    native = find_native_grid(decoded(data), source=JpegSource(data))
    assert native.cells == (24, 20)


def test_a_blurred_photo_explains_no_file_by_cells() -> None:
    rng = np.random.default_rng(4)
    small = Image.fromarray(rng.integers(60, 200, (60, 80, 3), dtype=np.uint8))
    smooth = small.resize((200, 150), Image.Resampling.LANCZOS)
    data = as_file(np.asarray(smooth), 80)
    stored = JpegSource(data).coefficients
    assert stored is not None
    claim = Candidate(AxisGrid(5.0, 0.0), AxisGrid(5.0, 0.0), BICUBIC, 0.0)
    assert not explains_file(stored, decoded(data), claim)


def test_a_file_that_was_saved_twice_does_not_bound_its_cells() -> None:
    truth = sprite(6, 14, 16)
    first = as_file(truth.repeat(8, axis=0).repeat(8, axis=1), 60)
    again = as_file(decoded(first)[..., :3], 92)
    native = find_native_grid(decoded(again), source=JpegSource(again))
    pixels_only = find_native_grid(decoded(again))
    assert native.cells == (16, 14)
    assert native.pixels is not None
    assert pixels_only.pixels is not None
    assert (native.pixels == pixels_only.pixels).all()
