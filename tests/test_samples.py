"""The sample pictures: made by their scripts, small, listed, and what the README says they are."""

import re
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

SAMPLES = Path(__file__).resolve().parent.parent / "sample_inputs"
SPRITES = sorted(SAMPLES.glob("*.png"))
README = (SAMPLES / "README.md").read_text("utf-8")


def pixels(path: Path, mode: str = "RGBA") -> np.ndarray:
    with Image.open(path) as picture:
        return np.asarray(picture.convert(mode))


def test_the_script_makes_the_committed_sprites(tmp_path: Path) -> None:
    subprocess.run([sys.executable, SAMPLES / "make_sprites.py", tmp_path], check=True)
    made = sorted(tmp_path.iterdir())
    assert [path.name for path in made] == [path.name for path in SPRITES]
    for new, committed in zip(made, SPRITES, strict=True):
        assert np.array_equal(pixels(new), pixels(committed)), committed.name


def test_the_script_makes_the_committed_shop(tmp_path: Path) -> None:
    shop = SAMPLES / "shop"
    subprocess.run([sys.executable, shop / "make_shop.py", tmp_path], check=True)
    for new in tmp_path.iterdir():
        assert new.read_text() == (shop / new.name).read_text()
        assert "invented" in new.read_text().splitlines()[0]


def test_there_are_enough_and_the_demo_has_its_own() -> None:
    assert len(SPRITES) >= 8
    assert "lighthouse.png" in {path.name for path in SPRITES}


@pytest.mark.parametrize("path", SPRITES, ids=lambda path: path.stem)
def test_a_sprite_is_a_sprite(path: Path) -> None:
    rgba = pixels(path)
    height, width = rgba.shape[:2]
    assert 16 <= width <= 48
    assert 16 <= height <= 48
    alpha = rgba[..., 3]
    assert set(np.unique(alpha)) == {0, 255}, "transparent ground, no half-covered pixel"
    assert all(side.any() for side in (alpha[0], alpha[-1], alpha[:, 0], alpha[:, -1])), "tight"
    colours = len(np.unique(rgba[alpha > 0], axis=0))
    assert 8 <= colours <= 16
    row = re.search(rf"`{path.name}` \| (\d+)x(\d+) \| (\d+) \|", README)
    assert row
    assert tuple(map(int, row.groups())) == (width, height, colours)


@pytest.mark.parametrize("path", SPRITES, ids=lambda path: path.stem)
def test_a_sprite_is_one_piece(path: Path) -> None:
    """Every bead is fused to another along an edge: a plate of loose parts falls apart."""
    from scipy.ndimage import label

    _, parts = label(pixels(path)[..., 3] > 0)
    assert parts == 1


def test_every_file_is_listed() -> None:
    files = [p for p in SAMPLES.iterdir() if p.is_file() and p.name != "README.md"]
    assert [p.name for p in files if f"`{p.name}`" not in README] == []


@pytest.mark.soak
def test_the_script_makes_the_committed_harbour(tmp_path: Path) -> None:
    """Decoders and resizers round differently between builds: mean and median, not bytes."""
    committed = SAMPLES / "harbour.jpg"
    assert committed.stat().st_size < 500_000
    subprocess.run([sys.executable, SAMPLES / "make_harbour.py", tmp_path], check=True)
    old = pixels(committed, "RGB").astype(int)
    new = pixels(tmp_path / "harbour.jpg", "RGB").astype(int)
    assert old.shape == new.shape == (1200, 1600, 3)
    assert np.abs(old - new).mean() < 2.0
    assert np.abs(old[::-1] - new).mean() > 20.0, "the comparison notices another picture"


def test_the_harbour_is_hard_enough() -> None:
    """Smooth tones, texture, deep and bright places: a picture that shading can matter for."""
    rgb = pixels(SAMPLES / "harbour.jpg", "RGB")
    assert len(np.unique(rgb @ np.array([1, 256, 65536]))) > 50_000
    grey = rgb.mean(axis=-1)
    low, high = np.percentile(grey, [1, 99])
    assert low < 60
    assert high > 180
