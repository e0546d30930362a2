"""Art on screens that are drawn here: text, windows and gradients by Pillow round known cells."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageDraw, ImageFont

from img2plate.base.errors import OptionError
from img2plate.image.opened import open_source
from img2plate.image.screen.best_box import best_box, best_span
from img2plate.image.screen.corners import corners
from img2plate.image.screen.draw import draw_parts
from img2plate.image.screen.propose import Piece, hint, propose
from img2plate.image.sizing import CropBox
from img2plate.image.source_options import SourceOptions
from img2plate.image.target import read_target

SPRITE = Path(__file__).parents[2] / "sample_inputs" / "lighthouse.png"
SAYS = "The harbour museum's shop is open from nine until the lamp is lit; mind the gulls."


def cells() -> np.ndarray:
    """(h, w, 4) a sprite on an opaque ground."""
    sprite = Image.open(SPRITE).convert("RGBA")
    ground = Image.new("RGBA", sprite.size, "#78b4dc")
    return np.asarray(Image.alpha_composite(ground, sprite))


def page(size: tuple[int, int] = (640, 480)) -> Image.Image:
    """A desktop with a gradient, a window and text, and no art."""
    column = np.linspace((40, 60, 110), (170, 190, 230), size[1]).round().astype(np.uint8)
    image = Image.fromarray(np.repeat(column[:, None], size[0], axis=1))
    draw = ImageDraw.Draw(image)
    draw.rectangle((20, 20, size[0] - 60, size[1] - 50), fill="#f6f6f4", outline="#505058")
    draw.rectangle((21, 21, size[0] - 61, 44), fill="#3a5a8a")
    for row in range(24):
        words = SAYS[row % 7 :]
        font = ImageFont.load_default(11 + row % 4)
        draw.text((32, 52 + 16 * row), words, font=font, fill="#202428")
    return image


def hung(image: Image.Image, x: int, y: int, times: int, art: np.ndarray) -> CropBox:
    """Paste art, enlarged."""
    big = Image.fromarray(art).resize(
        (art.shape[1] * times, art.shape[0] * times), Image.Resampling.NEAREST
    )
    image.paste(big.convert("RGB"), (x, y))
    return CropBox(x, y, *big.size)


def pixels_of(image: Image.Image) -> np.ndarray:
    return np.asarray(image.convert("RGBA"))


@pytest.mark.parametrize("times", [2, 3, 5, 8])
def test_the_part_with_a_grid_is_found_to_the_pixel(times: int) -> None:
    image, art = page(), cells()
    crop = hung(image, 57, 83, times, art)
    (piece,) = propose(pixels_of(image), None, lossy=False).pieces
    assert (piece.crop, piece.cells, piece.pitch) == (crop, art.shape[1::-1], times)
    assert piece.native is not None
    assert np.array_equal(piece.native.pixels, art)


def test_a_label_on_the_art_does_not_hide_it() -> None:
    image, art = page(), cells()
    crop = hung(image, 101, 66, 7, art)
    font = ImageFont.load_default(14)
    ImageDraw.Draw(image).text((130, 150), "the lamp", font=font, fill="white", stroke_width=1)
    (piece,) = propose(pixels_of(image), None, lossy=False).pieces
    assert (piece.crop, piece.pitch) == (crop, 7)
    assert piece.native is not None
    right = (piece.native.pixels == art).all(axis=2)
    assert right.mean() > 0.9
    assert right[20:].all()


def test_the_largest_of_several_is_taken_and_the_others_are_named() -> None:
    image, art = page((900, 600)), cells()
    small, large = hung(image, 31, 300, 3, art), hung(image, 400, 90, 8, art)
    found = propose(pixels_of(image), None, lossy=False)
    assert [piece.crop for piece in found.pieces] == [large, small]
    assert ",".join(map(str, small)) in found.notes[1]
    assert "`crop`" in found.notes[1]


def test_a_screen_without_art_has_no_part() -> None:
    pixels = pixels_of(page())
    with pytest.raises(OptionError, match="no part with a grid"):
        propose(pixels, None, lossy=False)
    assert hint(pixels, lossy=False) == ()


def test_all_of_an_enlarged_sprite_is_kept() -> None:
    art = cells()
    found = propose(art.repeat(6, axis=0).repeat(6, axis=1), None, lossy=False)
    assert found.pieces == ()
    assert "whole picture" in found.notes[0]


def test_a_screenshot_becomes_the_cells_of_its_art(tmp_path: Path) -> None:
    image, art = page(), cells()
    crop = hung(image, 57, 83, 5, art)
    image.save(tmp_path / "screen.png")
    opened = open_source(tmp_path / "screen.png", SourceOptions(crop="auto"))
    assert opened.crop == crop
    assert opened.taken.native.pixels is not None
    assert np.array_equal(opened.taken.native.pixels, art)
    target = read_target(tmp_path / "screen.png", None, SourceOptions(crop="auto"))
    assert target.grid.rgb.shape[:2] == art.shape[:2]
    assert target.part_check is not None
    assert any("took the part 57,83," in note for note in target.notes)


def test_without_being_asked_the_part_is_only_named(tmp_path: Path) -> None:
    image = page()
    hung(image, 57, 83, 5, cells())
    image.save(tmp_path / "screen.png")
    target = read_target(tmp_path / "screen.png", None, SourceOptions())
    assert not target.told.kind.is_sprite
    assert any("`crop` auto takes" in note for note in target.notes)


def test_a_jpeg_of_a_screen_gives_its_art(tmp_path: Path) -> None:
    image, art = page(), cells()
    crop = hung(image, 57, 83, 8, art)
    image.save(tmp_path / "screen.jpg", quality=85)
    opened = open_source(tmp_path / "screen.jpg", SourceOptions(crop="auto"))
    assert opened.crop == crop
    found = opened.taken.native.pixels
    assert found is not None
    off = np.abs(found[..., :3].astype(int) - art[..., :3]).max(axis=2)
    assert (off <= 8).mean() > 0.98


def test_the_picture_to_check_shows_the_part_as_it_is_and_dims_the_rest() -> None:
    image, art = page(), cells()
    crop = hung(image, 57, 83, 5, art)
    pixels = pixels_of(image)
    drawn = draw_parts(pixels, [Piece(crop, art.shape[1::-1], 5)])
    inside = (slice(crop.y + 4, crop.y + crop.height - 4), slice(crop.x + 4, crop.x + 60))
    assert np.array_equal(drawn[inside], pixels[inside])
    assert (drawn[2:15, 2:15, :3].astype(int) > pixels[2:15, 2:15, :3]).all()
    assert drawn.shape[0] > pixels.shape[0]


def test_corners_are_not_on_edges_or_gradients() -> None:
    pixels = np.full((40, 50, 4), 255, np.uint8)
    pixels[..., 0] = np.arange(50)
    pixels[10:20, 15:35, :3] = 30
    found = corners(pixels)
    assert sorted(zip(found.x.tolist(), found.y.tolist(), strict=True)) == [
        (15, 10), (15, 20), (35, 10), (35, 20),
    ]  # fmt: skip


def test_the_best_box_is_that_of_trying_all() -> None:
    rng = np.random.default_rng(3)
    for _ in range(20):
        values = rng.normal(-0.2, 1, (5, 6))
        sums = {
            (left, top, right, bottom): values[top:bottom, left:right].sum()
            for top in range(5) for bottom in range(top + 1, 6)
            for left in range(6) for right in range(left + 1, 7)
        }  # fmt: skip
        box, best = best_box(values)
        assert best == pytest.approx(max(sums.values()))
        assert sums[box] == pytest.approx(best)
        start, end, gain = best_span(values[0])
        assert gain == pytest.approx(values[0][start:end].sum())
