"""Clearing, filling and keeping what lies behind the subject."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from enlargements import by_pillow, jpeg, sample
from PIL import Image, ImageDraw

from img2plate.base.errors import OptionError
from img2plate.image.background import clear_background, fill_background, fill_colour
from img2plate.image.source_options import SourceOptions
from img2plate.image.target import read_target


def boat() -> np.ndarray:
    """A red square with a white window on slightly noisy white."""
    rng = np.random.default_rng(2)
    pixels = np.full((20, 20, 4), 255, np.uint8)
    pixels[..., :3] -= rng.integers(0, 4, (20, 20, 1), dtype=np.uint8)
    pixels[5:15, 5:15, :3] = (200, 30, 20)
    pixels[9:11, 9:11, :3] = 255
    return pixels


def save(pixels: np.ndarray, path: Path) -> Path:
    Image.fromarray(pixels).save(path)
    return path


def test_clear_takes_the_outside_and_leaves_the_window() -> None:
    cleared = clear_background(boat())
    alpha = cleared.pixels[..., 3] > 0
    assert alpha.sum() == 100
    assert alpha[5:15, 5:15].all()
    assert not cleared.notes


def test_clear_all_opens_the_window_too() -> None:
    alpha = clear_background(boat(), enclosed=True).pixels[..., 3] > 0
    assert alpha.sum() == 96
    assert not alpha[9:11, 9:11].any()


def test_clear_says_when_there_is_no_even_border() -> None:
    noise = np.random.default_rng(1).integers(0, 256, (20, 20, 4), dtype=np.uint8)
    noise[..., 3] = 255
    same = clear_background(noise)
    assert (same.pixels == noise).all()
    assert "nothing cleared" in same.notes[0]


def test_a_border_that_is_mostly_see_through_is_left_alone() -> None:
    """The subject's few cells at the border are not its background."""
    pixels = boat()
    pixels[:5], pixels[15:], pixels[:, 15:] = 0, 0, 0
    same = clear_background(pixels)
    assert (same.pixels == pixels).all()
    assert "see-through already" in same.notes[0]


def test_the_soft_edge_of_a_drawing_goes_and_its_colours_stay() -> None:
    """A disc drawn at four times the size and averaged: its edge is of mixed pixels."""
    large = Image.new("RGB", (400, 400), "white")
    ImageDraw.Draw(large).ellipse((80, 80, 320, 320), fill="#204080")
    pixels = np.array(large.resize((100, 100), Image.Resampling.BOX).convert("RGBA"))
    plain, without = (clear_background(pixels, rim=rim).pixels for rim in (0, 2))
    left = without[without[..., 3] > 0][:, :3].astype(int)
    assert np.abs(left - (0x20, 0x40, 0x80)).sum(axis=1).max() < 0.45 * 3 * 191
    assert 0 < (plain[..., 3] > 0).sum() - (without[..., 3] > 0).sum() < 2 * np.pi * 30 * 1.5
    full = (pixels[..., :3] == (0x20, 0x40, 0x80)).all(axis=2)
    assert (without[full][:, 3] > 0).all()


def test_fill_mixes_in_linear_light() -> None:
    """Half white over black is half the light: sRGB 188 (IEC 61966-2-1)."""
    pixels = np.array([[[255, 255, 255, 128], [9, 9, 9, 0], [1, 2, 3, 255]]], np.uint8)
    filled = fill_background(pixels, (0, 0, 0))
    assert filled[0].tolist() == [[188, 188, 188, 255], [0, 0, 0, 255], [1, 2, 3, 255]]


def test_anything_else_is_refused() -> None:
    assert fill_colour("#102030") == (16, 32, 48)
    assert fill_colour("clear-all") is None
    with pytest.raises(OptionError, match="`background`"):
        fill_colour("sea")


@pytest.mark.parametrize("name", ["puffin", "buoy"])
def test_a_soft_enlargement_keeps_its_cells_when_the_background_is_cleared(
    name: str, tmp_path: Path
) -> None:
    """Cells first: clearing a bicubic picture by pixels would tear holes into its soft edges."""
    ground = "#6ea0c8"
    sprite = np.pad(sample(name, ground), ((2, 2), (2, 2), (0, 0)), mode="edge")
    large = by_pillow(sprite, 6, Image.Resampling.BICUBIC)
    target = read_target(save(large, tmp_path / "p.png"), None, SourceOptions(background="clear"))
    assert target.grid.cover.shape == sprite.shape[:2]
    wanted = clear_background(sprite).pixels
    np.testing.assert_array_equal(target.pixels[..., 3], wanted[..., 3])
    kept = wanted[..., 3] > 0
    np.testing.assert_allclose(target.pixels[kept], wanted[kept], atol=1)
    fewer = (~kept).sum()
    assert any(f"background #6EA0C8 cleared: {fewer:,} beads fewer" in n for n in target.notes)


def test_little_halo_of_jpeg_is_left_round_a_sprite(tmp_path: Path) -> None:
    """Of the cells that the difference for clean pictures would leave, a third at most."""
    sprite = np.pad(sample("crab", "#5a8cc8"), ((3, 3), (3, 3), (0, 0)), mode="edge")
    large = jpeg(by_pillow(sprite, 3, Image.Resampling.NEAREST), 85)
    path = save(large, tmp_path / "p.png")
    size = (sprite.shape[1], sprite.shape[0])
    kept = read_target(path, None, SourceOptions(cells=size)).pixels
    target = read_target(path, None, SourceOptions(background="clear", cells=size))
    wanted = clear_background(sprite).pixels[..., 3] > 0
    plain = (clear_background(kept).pixels[..., 3] > 0) & ~wanted
    assert (target.grid.filled & ~wanted).sum() < plain.sum() / 3
    assert (~target.grid.filled & wanted).sum() <= 2


def test_trim_cuts_what_clearing_left_empty(tmp_path: Path) -> None:
    path = save(boat().repeat(4, axis=0).repeat(4, axis=1), tmp_path / "p.png")
    options = SourceOptions(background="clear", trim=True, cells=(20, 20))
    target = read_target(path, None, options)
    assert target.grid.cover.shape == (10, 10)
    assert any("10 columns and 10 rows" in note for note in target.notes)
    seen = target.as_given(4)
    red = seen.rgb[seen.rgb[..., 0] < 0.9]
    assert len(red) == 16 * 96
    np.testing.assert_allclose(red.std(axis=0), 0, atol=1e-5)
