"""The subject of a photo, against cut-outs whose outline is known, and on open photos."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import skimage.data
from PIL import Image, ImageDraw
from support import SAMPLES

from img2plate.base.errors import OptionError
from img2plate.image.sizing import CropBox, SizeWish
from img2plate.image.source_options import SourceOptions
from img2plate.image.subject import draw_subject, find_subject
from img2plate.image.target import read_target


def photo(name: str) -> np.ndarray:
    return np.array(Image.fromarray(getattr(skimage.data, name)()).convert("RGBA"))


def buoy_on_gravel() -> tuple[np.ndarray, np.ndarray]:
    """A drawn buoy laid over a photo, and the mask it was laid with."""
    ground = Image.fromarray(skimage.data.gravel()).convert("RGB").resize((320, 320))
    mask = Image.new("L", ground.size)
    ImageDraw.Draw(mask).ellipse((90, 120, 230, 260), fill=255)
    ImageDraw.Draw(mask).rectangle((145, 60, 175, 125), fill=255)
    thing = Image.new("RGB", ground.size, "#c03a28")
    ImageDraw.Draw(thing).rectangle((0, 170, 320, 210), fill="#f2e6c8")
    return np.array(Image.composite(thing, ground, mask).convert("RGBA")), np.array(mask) > 0


def overlap(one: np.ndarray, two: np.ndarray) -> float:
    return float((one & two).sum() / (one | two).sum())


def test_a_thing_whose_outline_is_known_is_cut_along_it() -> None:
    pixels, truth = buoy_on_gravel()
    found = find_subject(pixels)
    assert found.sure
    assert overlap(found.mask, truth) > 0.93


def test_a_box_says_where_to_look() -> None:
    pixels, truth = buoy_on_gravel()
    moved = np.roll(pixels, (-50, -80), axis=(0, 1))
    found = find_subject(moved, (0, 0, 165, 220))
    assert overlap(found.mask, np.roll(truth, (-50, -80), axis=(0, 1))) > 0.93


def test_the_astronaut_is_cut_out_of_flag_and_shuttle() -> None:
    """Points looked up by eye in NASA's portrait of Eileen Collins (public domain)."""
    found = find_subject(photo("astronaut"))
    assert found.sure
    for x, y in ((220, 120), (150, 350), (260, 400)):  # face, sleeve, badge
        assert found.mask[y, x]
    for x, y in ((30, 60), (440, 60), (330, 60), (20, 250)):  # flag, shuttle, wall
        assert not found.mask[y, x]


def test_the_same_cut_each_time() -> None:
    pixels, _ = buoy_on_gravel()
    np.testing.assert_array_equal(find_subject(pixels).mask, find_subject(pixels).mask)


@pytest.mark.parametrize("name", ["rocket", "chelsea", "harbour"])
def test_when_unsure_it_says_so_and_changes_nothing(name: str, tmp_path: Path) -> None:
    """A night sky, a face that fills the picture, a landscape: nothing that one could cut out."""
    path = SAMPLES / "harbour.jpg" if name == "harbour" else tmp_path / "p.png"
    if name != "harbour":
        Image.fromarray(photo(name)).save(path)
    wish, options = SizeWish(40, 40), SourceOptions(source="photo", background="clear")
    target = read_target(path, wish, options)
    kept = read_target(path, wish, SourceOptions(source="photo"))
    assert any("no subject found" in note for note in target.notes)
    np.testing.assert_array_equal(target.grid.rgb, kept.grid.rgb)
    assert target.grid.filled.all()


def test_a_photo_becomes_a_plate_of_its_subject(tmp_path: Path) -> None:
    pixels, truth = buoy_on_gravel()
    Image.fromarray(pixels).save(tmp_path / "p.png")
    options = SourceOptions(source="photo", background="clear", trim=True)
    target = read_target(tmp_path / "p.png", SizeWish(width=30), options)
    assert target.grid.filled.mean() == pytest.approx(truth.sum() / (140 * 200), abs=0.06)
    assert any("beads fewer" in note for note in target.notes)
    assert target.check is not None
    assert target.check.shape == pixels.shape
    fine = target.fine(3)  # a see-through sample is not black
    assert fine.rgb[fine.cover == 0].min(initial=1) > 0.9


def test_the_picture_to_check_shows_what_is_kept() -> None:
    pixels, truth = buoy_on_gravel()
    shown = draw_subject(pixels, truth)
    np.testing.assert_array_equal(shown[truth], pixels[truth])
    assert shown[~truth][:, :3].mean() > 200


def test_a_subject_needs_a_background_to_clear(tmp_path: Path) -> None:
    Image.fromarray(buoy_on_gravel()[0]).save(tmp_path / "p.png")
    with pytest.raises(OptionError, match="subject"):
        read_target(tmp_path / "p.png", None, SourceOptions(subject=CropBox(1, 1, 50, 50)))
    with pytest.raises(OptionError, match="subject"):
        read_target(
            tmp_path / "p.png",
            None,
            SourceOptions(source="photo", background="clear", subject=CropBox(300, 0, 50, 50)),
        )
