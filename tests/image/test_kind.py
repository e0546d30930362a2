"""Which of the four kinds a picture is told to be, and what is made of it."""

from __future__ import annotations

from pathlib import Path

import cv2
import numpy as np
import pytest
from enlargements import by_pillow, jpeg, sample
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image, ImageDraw

from img2plate.colour.spaces import linear2bytes
from img2plate.image.counts import soft_edge_share
from img2plate.image.kind.kind import Kind
from img2plate.image.kind.tell import KindWish, Taken, tell
from img2plate.image.source_options import SourceOptions
from img2plate.image.target import read_target
from img2plate.plate.shade.shading import ShadingOptions


def told(pixels: np.ndarray, source: str = "auto") -> Taken:
    return tell(pixels, KindWish(source))


def drawn(side: int, paper: str = "white") -> np.ndarray:
    """A boat and a sun with soft edges: drawn four times as large and averaged."""
    big = Image.new("RGBA", (side * 4, side * 4), paper)
    draw, u = ImageDraw.Draw(big), side * 4 / 100
    draw.polygon(
        [(12 * u, 66 * u), (88 * u, 66 * u), (70 * u, 86 * u), (28 * u, 86 * u)], "#1d3b5a"
    )
    draw.polygon([(48 * u, 10 * u), (49 * u, 60 * u), (18 * u, 58 * u)], "#b23a2e")
    draw.ellipse([62 * u, 12 * u, 84 * u, 34 * u], "#e0a81c")
    draw.line([(51 * u, 8 * u), (50 * u, 66 * u)], "#23232b", width=round(2 * u))
    return np.array(big.convert("RGBa").resize((side, side), Image.Resampling.BOX).convert("RGBA"))


def photo(name: str, long_side: int) -> np.ndarray:
    """One of scikit-image's own pictures (CC0 or public domain), made smaller."""
    import skimage.data

    picture = Image.fromarray(getattr(skimage.data, name)()).convert("RGBA")
    picture.thumbnail((long_side, long_side))
    return np.array(picture)


def soft_icon(seed: int, side: int) -> np.ndarray:
    """Discs in many colours with soft edges on a see-through ground, of `side` px."""
    rng = np.random.default_rng(seed)
    big = Image.new("RGBA", (side * 4, side * 4))
    draw = ImageDraw.Draw(big)
    for _ in range(6):
        x, y, r = rng.uniform(0, side * 4), rng.uniform(0, side * 4), rng.uniform(4, side)
        colour = (*(int(v) for v in rng.integers(0, 256, 3)), int(rng.integers(120, 256)))
        draw.ellipse([x - r, y - r, x + r, y + r], colour)
    return np.array(big.convert("RGBa").resize((side, side), Image.Resampling.BOX).convert("RGBA"))


@settings(deadline=None, max_examples=20)
@given(st.integers(0, 10_000), st.integers(10, 48))
def test_any_small_icon_is_taken_pixel_for_bead(seed: int, side: int) -> None:
    pixels = soft_icon(seed, side)
    taken = told(pixels)
    assert taken.told.kind is Kind.OWN_SIZE
    assert taken.native.cells == (side, side)
    np.testing.assert_array_equal(taken.native.pixels, pixels)


@pytest.mark.parametrize("way", ["NEAREST", "BICUBIC"])
def test_an_enlarged_sprite_is_told_as_one(way: str) -> None:
    truth = sample("puffin")
    taken = told(by_pillow(truth, 8, Image.Resampling[way]))
    assert taken.told.kind is Kind.ENLARGED
    assert taken.told.sure
    assert taken.native.cells == (truth.shape[1], truth.shape[0])


@pytest.mark.parametrize("side", [96, 200])
def test_drawings_are_told_as_drawings_blurred_and_compressed(side: int) -> None:
    plain = drawn(side)
    blurred = cv2.GaussianBlur(plain, (0, 0), 1.2)
    for pixels in (plain, drawn(side, "#00000000"), blurred, jpeg(plain, 75), jpeg(blurred, 60)):
        taken = told(pixels)
        assert taken.told.kind is Kind.DRAWING, str(taken.told)
        assert taken.native.cells is None


@pytest.mark.parametrize("name", ["chelsea", "coffee", "rocket"])
def test_photos_are_told_as_photos(name: str) -> None:
    for long_side in (800, 320):
        taken = told(photo(name, long_side))
        assert taken.told.kind is Kind.PHOTO, str(taken.told)
        assert taken.native.cells is None


def test_a_plain_photo_of_many_pixels_needs_no_search(monkeypatch: pytest.MonkeyPatch) -> None:
    def search(*_: object, **__: object) -> None:
        raise AssertionError("searched for a grid")

    monkeypatch.setattr("img2plate.image.kind.tell.find_native_grid", search)
    large = np.array(Image.fromarray(photo("chelsea", 800)).resize((1600, 1064)))
    noisy = np.clip(large + np.random.default_rng(0).normal(0, 4, large.shape), 0, 255)
    noisy[..., 3] = 255
    assert told(noisy.astype(np.uint8)).told.kind is Kind.PHOTO


def test_what_a_person_says_goes_before_what_is_seen() -> None:
    pixels = drawn(96)
    assert told(pixels, "photo").told.kind is Kind.PHOTO
    assert told(photo("coffee", 120), "drawing").told.kind is Kind.DRAWING
    sprite = told(pixels, "sprite")
    assert sprite.told.kind is Kind.OWN_SIZE
    assert sprite.native.cells == (96, 96)


def test_not_sure_names_the_second_choice_and_its_option() -> None:
    rng = np.random.default_rng(5)
    colours = rng.integers(0, 256, (9, 4), dtype=np.uint8)
    colours[:, 3] = 255
    scene = colours[rng.integers(0, 9, (90, 110))]  # single pixels in nine colours: a large sprite
    said = told(scene).told
    assert said.kind is Kind.OWN_SIZE
    assert not said.sure
    assert str(said).endswith("if it is a drawing, give `source` drawing")


def test_drawings_stay_flat_and_photos_are_shaded(tmp_path: Path) -> None:
    """A drawing has beads on its long side as a photo has, and no colours are mixed in it."""
    Image.fromarray(drawn(200)).save(tmp_path / "drawing.png")
    target = read_target(tmp_path / "drawing.png", None, SourceOptions())
    assert target.grid.rgb.shape == (58, 58, 3)
    assert target.grid.kind is target.told.kind is Kind.DRAWING
    assert str(target.told) == target.notes[0]
    shadings = {kind: ShadingOptions().resolved(kind).shading for kind in Kind}
    assert shadings.pop(Kind.PHOTO) == "search"
    assert set(shadings.values()) == {"none"}


def test_a_small_drawing_keeps_its_own_size(tmp_path: Path) -> None:
    pixels = drawn(40)
    Image.fromarray(pixels).save(tmp_path / "icon.png")
    for source in ("auto", "drawing"):
        target = read_target(tmp_path / "icon.png", None, SourceOptions(source=source))
        np.testing.assert_array_equal(linear2bytes(target.grid.rgb), pixels[..., :3])


def test_edges_of_drawings_are_soft_and_those_of_sprites_are_not() -> None:
    assert soft_edge_share(drawn(128)) > 0.28
    assert soft_edge_share(sample("puffin")) < 0.1
    assert soft_edge_share(np.full((20, 20, 4), 255, np.uint8)) == 0


def test_soft_pictures_have_no_grid() -> None:
    """A blurred drawing on white, and a soft photo as a JPEG: both once got a grid."""
    wide = cv2.copyMakeBorder(drawn(240), 0, 0, 40, 40, cv2.BORDER_CONSTANT, value=(255,) * 4)
    soft = jpeg(cv2.GaussianBlur(photo("coffee", 320), (0, 0), 3), 60)
    for pixels in (cv2.GaussianBlur(wide, (0, 0), 2), soft):
        assert told(pixels).native.cells is None


def test_shaded_things_on_an_even_ground_are_a_photo_and_hardly_any_change_is_not_sure() -> None:
    """What is off the ground tells; of grey on grey little can be told."""
    down, across = np.mgrid[:300, :300]
    shaded = np.full((300, 300, 4), 255, np.uint8)
    for x, y in [(75, 80), (215, 75), (80, 215)]:
        within = np.hypot(across - x, down - y) < 50
        light = [(across - x) * 2.5 + 128, (down - y) * 2.5 + 128, (down + across - x - y) + 128]
        shaded[within, :3] = np.clip(np.dstack(light), 0, 255)[within].astype(np.uint8)
    faint = np.full((300, 300, 4), 128, np.uint8)
    faint[..., 3] = 255
    faint[np.hypot(across - 160, down - 140) < 77, :3] = 131
    clear = shaded.copy()
    clear[(shaded[..., :3] == 255).all(axis=2)] = 0
    for pixels in (shaded, clear):
        assert told(pixels).told.kind == Kind.PHOTO
    taken = told(faint)
    assert taken.told.kind == Kind.DRAWING
    assert not taken.told.sure
    assert taken.told.second == Kind.PHOTO
    assert told(drawn(300)).told.sure
