"""Sheets of sprites, laid out here with the places known, and animations."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from enlargements import by_pillow
from PIL import Image, ImageDraw, ImageFont
from support import SAMPLES

from img2plate.base.errors import OptionError, PictureError
from img2plate.image.apart import Apart, Box, find_apart
from img2plate.image.read import frame_count, read_picture
from img2plate.image.sheet import frames_on_one_grid, read_sheet
from img2plate.image.source_options import SourceOptions
from img2plate.image.target import read_target

NAMES = ("anchor", "buoy", "crab", "gull", "lantern", "puffin", "tern", "trawler")


def sprite(name: str) -> Image.Image:
    with Image.open(SAMPLES / f"{name}.png") as image:
        found = image.convert("RGBA")
    return found.crop(found.getbbox())


def sheet(ground: str | None = None, *, letters: bool = False) -> tuple[Image.Image, list[Box]]:
    """Eight sprites in two rows, unevenly spaced, with their boxes."""
    image = Image.new("RGBA", (240, 150), ground or (0, 0, 0, 0))
    gaps, boxes = (4, 9, 6, 7, 5, 4, 11, 8), []
    x = 5
    for number, name in enumerate(NAMES):
        each = sprite(name)
        if number == 4:
            x = 7
        y = (6 if number < 4 else 75) + (number * 3) % 5
        image.alpha_composite(each, (x, y))
        boxes.append(Box(x, y, *each.size, number // 4, number % 4))
        if letters:
            font = ImageFont.load_default(9)
            place = (x, y + each.height + 4)
            ImageDraw.Draw(image).text(place, name[:3].upper(), fill="#303030", font=font)
        x += each.width + gaps[number]
    return image, boxes


def cards() -> Image.Image:
    """The sprites on framed cards."""
    image = Image.new("RGBA", (4 * 52 + 4, 2 * 52 + 4), "#c8d2dc")
    for number, name in enumerate(NAMES):
        x, y = 4 + 52 * (number % 4), 4 + 52 * (number // 4)
        ImageDraw.Draw(image).rectangle((x, y, x + 48, y + 48), "#e4ecf4", "#404040")
        each = sprite(name).crop((0, 0, 44, 44))
        each = each.crop(each.getbbox())
        image.alpha_composite(each, (x + 24 - each.width // 2, y + 24 - each.height // 2))
    return image


def found_on(image: Image.Image) -> Apart:
    return find_apart(np.array(image))


def test_sprites_are_found_and_named_in_reading_order() -> None:
    image, boxes = sheet()
    assert list(found_on(image).boxes) == boxes


@pytest.mark.parametrize(
    ("ground", "times", "way"),
    [
        (None, 1, Image.Resampling.NEAREST),
        pytest.param("#78aad2", 5, Image.Resampling.BICUBIC, marks=pytest.mark.soak),
    ],
)
def test_on_the_recovered_grid_with_the_background_gone(
    ground: str | None, times: int, way: Image.Resampling, tmp_path: Path
) -> None:
    image, boxes = sheet(ground)
    Image.fromarray(by_pillow(np.array(image), times, way)).save(tmp_path / "s.png")
    found = read_sheet(tmp_path / "s.png", SourceOptions(background="clear-all"))
    assert list(found.apart.boxes) == boxes
    for name, box in zip(NAMES, boxes, strict=True):
        target, wanted = found.target(box), np.array(sprite(name))
        kept = wanted[..., 3] > 0
        np.testing.assert_array_equal(target.grid.filled, kept)
        np.testing.assert_allclose(target.pixels[kept].astype(int), wanted[kept], atol=1)
        seen = target.as_given(6)  # figures look at this sprite's part of the picture
        middle = seen.rgb[3::6, 3::6][kept]
        assert np.median(np.abs(middle - target.grid.rgb[kept])) < 0.02


def test_frames_and_cards_are_taken_off() -> None:
    from img2plate.image.background import clear_background

    found = find_apart(clear_background(np.array(cards())).pixels)
    assert len(found.boxes) == 8
    for name, box in zip(NAMES, found.boxes, strict=True):
        wanted = sprite(name).crop((0, 0, 44, 44))
        assert (box.width, box.height) == wanted.crop(wanted.getbbox()).size, name


def test_one_crate_is_a_sprite_not_a_frame() -> None:
    pixels = np.zeros((40, 80, 4), np.uint8)
    pixels[5:25, 5:25] = (90, 50, 20, 255)
    pixels[7:23, 7:23] = (180, 120, 60, 255)
    pixels[12:18, 12:18] = (60, 30, 10, 255)
    pixels[5:30, 40:60] = (20, 90, 160, 255)
    found = find_apart(pixels)
    np.testing.assert_array_equal(found.sprite(found.boxes[0]), pixels[5:25, 5:25])


def test_letters_are_left_out_unless_a_gap_is_named() -> None:
    image, boxes = sheet(letters=True)
    found = found_on(image)
    assert [(b.x, b.y, b.width, b.height) for b in found.boxes] == [
        (b.x, b.y, b.width, b.height) for b in boxes
    ]
    assert found.letters >= 8
    assert len(find_apart(np.array(image), gap=0).boxes) > 8


def test_loose_bits_go_to_their_sprite() -> None:
    pixels = np.zeros((40, 100, 4), np.uint8)
    for x in (5, 40, 75):
        pixels[10:30, x : x + 16] = (200, 60, 30, 255)
        pixels[4:7, x + 6 : x + 9] = (250, 220, 90, 255)  # a spark, 3 cells above
    found = find_apart(pixels)
    assert [(b.y, b.height) for b in found.boxes] == [(4, 26)] * 3
    assert len(find_apart(pixels, gap=1).boxes) == 6
    assert len(find_apart(pixels, gap=30).boxes) == 1


def test_what_reaches_into_a_box_from_outside_is_not_in_it() -> None:
    pixels = np.zeros((40, 60, 4), np.uint8)
    pixels[5:30, 5:9] = pixels[26:30, 5:30] = (200, 60, 30, 255)  # an L
    pixels[2:20, 26:50] = (30, 60, 200, 255)  # reaches over its foot
    found = find_apart(pixels)
    assert len(found.boxes) == 2
    first = found.sprite(found.boxes[0])
    assert set(map(tuple, first[first[..., 3] > 0])) == {(200, 60, 30, 255)}


def test_a_sheet_without_sprites_is_refused(tmp_path: Path) -> None:
    pixels = np.zeros((30, 30, 4), np.uint8)
    pixels[3, 3] = (1, 2, 3, 255)
    Image.fromarray(pixels).save(tmp_path / "s.png")
    with pytest.raises(PictureError, match="no sprites"):
        read_sheet(tmp_path / "s.png", SourceOptions())


def frames(times: int) -> list[Image.Image]:
    """Three frames of a gull that moves by single cells."""
    found = []
    for number in range(3):
        frame = Image.new("RGBA", (48, 40), "#9cc4e4")
        frame.alpha_composite(sprite("gull"), (4 + 3 * number, 3))
        flat = frame.convert("RGB").quantize(32).convert("RGB")
        found.append(flat.resize((48 * times, 40 * times), Image.Resampling.NEAREST))
    return found


@pytest.mark.parametrize("ending", ["gif", "png", "webp"])
@pytest.mark.parametrize("times", [1, 4])
def test_all_frames_have_the_grid_of_the_first(ending: str, times: int, tmp_path: Path) -> None:
    path, wanted = tmp_path / f"gull.{ending}", frames(times)
    lossless = {"lossless": True} if ending == "webp" else {}
    wanted[0].save(path, save_all=True, append_images=wanted[1:], duration=80, **lossless)
    assert frame_count(path) == 3
    options = frames_on_one_grid(path, SourceOptions())
    for number, image in enumerate(wanted, 1):
        target = read_target(path, None, replace(options, frame_number=number))
        native = np.array(image.resize((48, 40), Image.Resampling.NEAREST))
        np.testing.assert_array_equal(target.pixels[..., :3], native)
        assert any(f"frame {number} of 3" in note for note in target.notes)


def test_a_frame_that_there_is_not_is_refused(tmp_path: Path) -> None:
    Image.fromarray(np.array(sheet()[0])).save(tmp_path / "s.png")
    assert frame_count(tmp_path / "s.png") == 1
    with pytest.raises(OptionError, match="`frame`: 2 is not from 1 to 1"):
        read_picture(tmp_path / "s.png", frame=2)
