"""What is said of a plate before it is made, beside the plate that is made."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import settings as settings_of
from hypothesis import strategies as st
from PIL import Image, ImageDraw
from support import SAMPLES

from img2plate.base.errors import OptionError
from img2plate.colour.palette_file import find_palette
from img2plate.image.target import Target, read_target
from img2plate.pipeline.options import palette_for
from img2plate.plate.plate import Plate
from img2plate.split.tiles import split
from img2plate.ui.worktable.estimate import Known, estimate
from img2plate.ui.worktable.wishes.files import Files
from img2plate.ui.worktable.wishes.settings import Settings, read_settings
from img2plate.ui.worktable.work.plates import make_plate


def quiet(_stage: str, _share: float) -> None:
    pass


@pytest.fixture(scope="module")
def pictures(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """A photo, a drawing on an even ground, and a sprite of 3 px a cell."""
    folder = tmp_path_factory.mktemp("pictures")
    lamp = Image.new("RGB", (300, 420), "#f4efe2")
    draw = ImageDraw.Draw(lamp)
    draw.polygon([(110, 400), (190, 400), (170, 120), (130, 120)], fill="#b5452e")
    draw.ellipse([115, 50, 185, 120], fill="#e8c15a", outline="#1d2b33", width=6)
    lamp.save(folder / "lamp.png")
    gull = Image.open(SAMPLES / "gull.png")
    large = gull.resize((gull.width * 3, gull.height * 3), Image.Resampling.NEAREST)
    large.save(folder / "gull-3.png")
    with Image.open(SAMPLES / "harbour.jpg") as photo:
        photo.resize((400, 300)).save(folder / "harbour.png")
    return {path.stem: path for path in folder.iterdir()}


def made(picture: Path, settings: Settings, folder: Path) -> Known:
    return Known(settings, make_plate(picture, settings, Files(folder), folder, quiet))


def size_of(picture: Path) -> tuple[int, int]:
    with Image.open(picture) as image:
        return image.size


def target(picture: Path, settings: Settings) -> Target:
    """What `make` would lay on the pegs."""
    options = read_settings(settings)
    palette = palette_for(options.palette, options.pack.pitch_mm)
    wish = options.size.wish(options.pack.board, palette.pitch_mm)
    return read_target(picture, wish, options.source)


@pytest.fixture(scope="module")
def known(pictures: dict[str, Path], tmp_path_factory: pytest.TempPathFactory) -> dict[str, Known]:
    """A flat plate of each."""
    folder = tmp_path_factory.mktemp("plates")
    return {name: made(path, {"shading": "none"}, folder / name) for name, path in pictures.items()}


SIZES: list[Settings] = [
    {},
    {"width": "37"},
    {"height": "61"},
    {"boards": "3x2"},
    {"boards": "1x4", "board": "20x24"},
    {"size": "40x90", "fit": "contain"},
    {"mm": "290x145", "pitch_mm": "2.6"},
    {"boards": "2x1", "fit": "cover"},
]


@settings_of(max_examples=25)
@given(data=st.data())
def test_the_size_is_that_of_the_plate_that_is_made(
    pictures: dict[str, Path], known: dict[str, Known], data: Any
) -> None:
    name = data.draw(st.sampled_from(sorted(pictures)))
    settings = dict(data.draw(st.sampled_from(SIZES)))
    width, height = size_of(pictures[name])
    if name != "gull-3":
        left = data.draw(st.integers(0, width - 70))
        top = data.draw(st.integers(0, height - 70))
        across = data.draw(st.integers(66, width - left))
        down = data.draw(st.integers(66, height - top))
        settings |= {"crop": f"{left},{top},{across},{down}", "source": "photo"}
    if data.draw(st.booleans()) and name == "lamp":
        settings |= {"source": "drawing"}
    found = estimate((width, height), settings, known[name])
    real = target(pictures[name], settings)
    assert found["sure"]
    assert found["size"] == [*reversed(real.grid.cover.shape)]
    if real.given is None or real.told.kind.is_sprite:  # a drawing's cells may move by half a cell
        assert found["placed"] == pytest.approx(real.placed, abs=0.01)


@pytest.mark.parametrize("name", ["harbour", "lamp", "gull-3"])
def test_of_the_plate_in_hand_it_says_what_the_plate_says(
    pictures: dict[str, Path], known: dict[str, Known], name: str
) -> None:
    facts = known[name].facts
    found = estimate(size_of(pictures[name]), {"shading": "none"}, known[name])
    for what in ("size", "beads", "boards", "cm", "hours", "price"):
        assert found[what] == facts[what], what
    assert found["beads_are"] == ""
    cleared = estimate(size_of(pictures[name]), {"background": "clear"}, known[name])
    assert cleared["beads_are"] == "at most"


def test_beads_hours_and_cost_are_near_those_of_the_plate_that_is_made(
    pictures: dict[str, Path], known: dict[str, Known], tmp_path: Path
) -> None:
    """From 58 beads to 87: colour changes a bead differ a little, whole bags round up."""
    settings: Settings = {"shading": "none", "boards": "3x3", "bag": "500", "bag_price": "2.40"}
    facts = made(pictures["harbour"], settings, tmp_path / "plate").facts
    found = estimate(size_of(pictures["harbour"]), settings, known["harbour"])
    assert found["beads"] == facts["beads"]
    assert found["hours"] == pytest.approx(facts["hours"], rel=0.15)
    assert float(found["price"]) == pytest.approx(float(facts["price"]), rel=0.15)


def test_seams_are_those_of_the_plate_that_is_made(
    pictures: dict[str, Path], known: dict[str, Known]
) -> None:
    size = size_of(pictures["harbour"])
    for way in ("full", "even", "50,60/20"):
        found = estimate(size, {"width": "80", "board": "50x50", "seams": way}, known["harbour"])
        cells = np.zeros((60, 80), np.int16)
        tiles = split(Plate(cells, find_palette("harbour-48")), (50, 50), seams=way).tiles
        assert found["seams"] == [
            sorted({tile.x for tile in tiles} - {0}),
            sorted({tile.y for tile in tiles} - {0}),
        ]
        assert found["boards"] == [len(axis) + 1 for axis in found["seams"]]
    with pytest.raises(OptionError, match="no seam can come after column 60 of 40"):
        estimate(size, {"width": "40", "seams": "60/"}, known["harbour"])


def test_what_is_trimmed_is_known_from_the_plate(pictures: dict[str, Path], tmp_path: Path) -> None:
    settings: Settings = {"background": "clear", "trim": True, "shading": "none"}
    plate = made(pictures["lamp"], settings, tmp_path / "plate")
    larger: Settings = {**settings, "width": "50"}
    found = estimate(size_of(pictures["lamp"]), larger, plate)
    real = target(pictures["lamp"], larger)
    assert (found["size"], found["sure"]) == ([*reversed(real.grid.cover.shape)], True)
    assert real.crop is None
    left, top, right, bottom = real.placed
    assert (left, top) == pytest.approx((110, 50), abs=8)
    assert (right, bottom) == pytest.approx((191, 401), abs=8)
    elsewhere = estimate(size_of(pictures["lamp"]), {**larger, "crop": "0,0,290,400"}, plate)
    assert not elsewhere["sure"]


def test_a_sprite_grows_by_whole_pixels_and_a_photo_by_boards(
    pictures: dict[str, Path], known: dict[str, Known]
) -> None:
    sprite = estimate(size_of(pictures["gull-3"]), {}, known["gull-3"])
    assert sprite["cell_px"] == [3, 3]
    assert sprite["sizes"][:2] == [
        {"settings": {}, "size": [31, 35]},
        {"settings": {"width": "62"}, "size": [62, 70]},
    ]
    half = estimate(size_of(pictures["gull-3"]), {"crop": "0,0,45,60"}, known["gull-3"])
    assert (half["size"], half["sure"], half["beads_are"]) == ([15, 20], False, "about")
    photo = estimate(size_of(pictures["harbour"]), {}, known["harbour"])
    boards = [step["settings"]["boards"] for step in photo["sizes"]]
    assert boards[:5] == ["1x1", "2x1", "2x2", "3x2", "3x3"]
    assert all(step == sorted(step) for step in [[s["size"][0] for s in photo["sizes"]]])
    for step in (sprite["sizes"][1], photo["sizes"][3]):
        name = "gull-3" if "width" in step["settings"] else "harbour"
        real = target(pictures[name], step["settings"])
        assert [*reversed(real.grid.cover.shape)] == step["size"]


def test_before_any_plate_is_made_the_size_is_a_guess() -> None:
    found = estimate((400, 300), {"width": "40"}, None)
    assert (found["size"], found["sure"], found["price"]) == ([40, 30], False, None)
    assert found["beads"] == 1200
    with pytest.raises(OptionError, match="does not lie in the picture of 400 x 300"):
        estimate((400, 300), {"crop": "300,0,101,300"}, None)
