"""Sprite or photo, and what becomes of each."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import skimage.data
from PIL import Image

from img2plate.base.errors import OptionError
from img2plate.colour.spaces import linear2bytes
from img2plate.image.counts import is_native_sprite
from img2plate.image.kind.kind import Kind
from img2plate.image.sizing import CropBox, SizeWish
from img2plate.image.source_options import SourceOptions
from img2plate.image.target import read_target


def sprite(seed: int = 0, side: int = 32, colours: int = 16) -> np.ndarray:
    """Random blocks in few colours, so that neighbours are often alike."""
    rng = np.random.default_rng(seed)
    table = rng.integers(0, 256, (colours, 3), dtype=np.uint8)
    index = rng.integers(0, colours, (side // 2, side // 2)).repeat(2, 0).repeat(2, 1)
    index[0, :colours] = np.arange(colours)
    return np.dstack([table[index], np.full((side, side), 255, np.uint8)])


def test_a_16_colour_32x32_png_stays_itself_cell_for_pixel(tmp_path: Path) -> None:
    pixels = sprite()
    Image.fromarray(pixels).convert("RGB").save(tmp_path / "s.png")
    target = read_target(tmp_path / "s.png", None, SourceOptions())
    assert target.grid.is_sprite
    np.testing.assert_array_equal(linear2bytes(target.grid.rgb), pixels[..., :3])
    assert "32 x 32 pixels, 16 colours" in target.notes[0]


@pytest.mark.parametrize("name", ["chelsea", "coffee", "astronaut", "rocket"])
def test_photos_of_scikit_image_are_photos_at_any_size(name: str, tmp_path: Path) -> None:
    """Open pictures (CC0 or public domain, see scikit-image's skimage/data)."""
    import skimage.data

    photo = Image.fromarray(getattr(skimage.data, name)())
    photo.save(tmp_path / "large.png")
    assert not read_target(tmp_path / "large.png", None, SourceOptions()).grid.is_sprite
    small = np.asarray(photo.resize((48, 40), Image.Resampling.BOX).convert("RGBA"))
    assert not is_native_sprite(small)


def test_source_overrides_the_guess(tmp_path: Path) -> None:
    Image.fromarray(sprite()).save(tmp_path / "s.png")
    photo = read_target(tmp_path / "s.png", SizeWish(10, 10), SourceOptions(source="photo"))
    assert not photo.grid.is_sprite
    assert photo.grid.rgb.shape == (10, 10, 3)
    with pytest.raises(OptionError, match="`source`"):
        read_target(tmp_path / "s.png", None, SourceOptions(source="painting"))


def test_sprite_in_a_board_is_centred_on_whole_pegs(tmp_path: Path) -> None:
    pixels = sprite(side=16, colours=8)
    Image.fromarray(pixels).save(tmp_path / "s.png")
    target = read_target(tmp_path / "s.png", SizeWish(29, 29, "contain"), SourceOptions())
    assert target.grid.filled.sum() == 16 * 16
    np.testing.assert_array_equal(linear2bytes(target.grid.rgb[6:22, 6:22]), pixels[..., :3])


def test_uneven_multiples_and_shrinking_are_said(tmp_path: Path) -> None:
    Image.fromarray(sprite()).save(tmp_path / "s.png")
    uneven = read_target(tmp_path / "s.png", SizeWish(width=50), SourceOptions())
    assert any("not a whole multiple" in note for note in uneven.notes)
    assert set(map(tuple, linear2bytes(uneven.grid.rgb).reshape(-1, 3))) <= set(
        map(tuple, sprite()[..., :3].reshape(-1, 3))
    )
    smaller = read_target(tmp_path / "s.png", SizeWish(width=20), SourceOptions())
    assert any("detail is lost" in note for note in smaller.notes)


def test_crop_and_background(tmp_path: Path) -> None:
    rng = np.random.default_rng(3)
    pixels = sprite()[rng.permutation(32)][:, rng.permutation(32)].copy()  # detail of one pixel
    pixels[:, :10] = (255, 255, 255, 255)
    Image.fromarray(pixels).save(tmp_path / "s.png")
    target = read_target(
        tmp_path / "s.png", None, SourceOptions(crop=CropBox(5, 0, 20, 20), background="clear")
    )
    assert target.grid.rgb.shape == (20, 20, 3)
    assert not target.grid.filled[:, :5].any()


def test_a_photo_that_was_enlarged_stays_a_photo(tmp_path: Path) -> None:
    """A grid it has, that of its first pixels; as a plate of that size nobody would build it."""
    photo = Image.fromarray(skimage.data.chelsea()).crop((0, 0, 420, 120))
    photo.resize((1260, 360), Image.Resampling.BICUBIC).save(tmp_path / "p.png")
    auto = read_target(tmp_path / "p.png", None, SourceOptions())
    assert auto.grid.rgb.shape[1] == 58
    assert auto.told.kind is Kind.PHOTO
    kept = read_target(tmp_path / "p.png", None, SourceOptions(source="sprite"))
    assert kept.grid.rgb.shape == (120, 420, 3)
