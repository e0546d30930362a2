"""Pictures on faces: laid as told, or refused with both sizes; nothing is silent."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from img2plate.base.errors import FigureError
from img2plate.solid.file.figure_file import read_figure

BOX = """
[figure]
palette = "quay-24"
[[part]]
name = "box"
size = [12, 10, 14]
colour = "prt"
"""
RED, BLUE = (200, 40, 40), (30, 60, 160)


def sprite(path: Path, wide: int, high: int) -> None:
    """Left half red, right half blue, a corner see-through."""
    pixels = np.zeros((high, wide, 4), np.uint8)
    pixels[..., :3], pixels[..., 3] = RED, 255
    pixels[:, wide // 2 :, :3] = BLUE
    pixels[0, 0] = 0
    Image.fromarray(pixels).save(path)


def photo(path: Path, wide: int, high: int) -> None:
    """A soft slope of colours with grain."""
    across, down = np.meshgrid(np.linspace(0, 1, wide), np.linspace(0, 1, high))
    pixels = np.stack([across, down, 1 - across], axis=-1) * 200 + 20
    grain = np.random.default_rng(1).normal(0, 6, pixels.shape)
    Image.fromarray(np.clip(pixels + grain, 0, 255).astype(np.uint8)).save(path, quality=95)


def read(folder: Path, faces: str):
    (folder / "f.toml").write_text(BOX + faces, "utf-8")
    spec = read_figure(folder / "f.toml")
    return spec.parts[0].cells["front"], spec.remarks


def test_a_picture_of_the_face_s_size_or_a_multiple_is_taken_pixel_for_bead(tmp_path: Path) -> None:
    sprite(tmp_path / "a.png", 12, 14)
    sprite(tmp_path / "half.png", 6, 7)
    cells, remarks = read(tmp_path, 'faces.front = "a.png"')
    assert cells[0, 0] == -1
    assert (cells >= 0).sum() == 12 * 14 - 1
    assert remarks == ()
    doubled, remarks = read(tmp_path, 'faces.front = "half.png"')
    assert (doubled[:2, :2] == -1).all()
    assert (doubled[2:] == cells[2:]).all()
    assert len(remarks) == 1


@pytest.mark.parametrize("fit", ["cover", "stretch", "contain"])
def test_every_fit_fills_the_face_as_it_says(tmp_path: Path, fit: str) -> None:
    sprite(tmp_path / "a.png", 24, 14)
    cells, remarks = read(tmp_path, f'faces.front = {{picture = "a.png", fit = "{fit}"}}')
    assert cells.shape == (14, 12)
    assert len(np.unique(cells[7])) == 2, "red and blue, left and right"
    assert cells[7, 0] != cells[7, -1]
    empty_rows = (cells < 0).all(axis=1).sum()
    assert empty_rows == (7 if fit == "contain" else 0) or fit == "contain"
    assert (empty_rows > 0) == (fit == "contain")
    assert "24 x 14 pixels brought to 12 x 14 beads" in remarks[0]
    assert ("stay empty" in remarks[0]) == bool((cells < 0).any())
    filled, _ = read(
        tmp_path, f'faces.front = {{picture = "a.png", fit = "{fit}", ground = "oak"}}'
    )
    assert (filled >= 0).all()


@pytest.mark.parametrize(("make", "size"), [(sprite, (10, 12)), (photo, (300, 100))])
def test_another_size_is_refused_with_both_sizes_and_what_to_say(tmp_path: Path, make, size):
    make(tmp_path / "a.png", *size)
    with pytest.raises(FigureError) as caught:
        read(tmp_path, 'faces.front = "a.png"')
    said = str(caught.value)
    for word in (f"{size[0]} x {size[1]}", "12 x 14", "fit =", "ground =", "source =", "key front"):
        assert word in said, said


def test_a_photo_of_the_face_s_shape_is_averaged_and_that_is_said(tmp_path: Path) -> None:
    photo(tmp_path / "a.jpg", 120, 140)
    searched, remarks = read(tmp_path, 'faces.front = "a.jpg"')
    assert (searched >= 0).all()
    assert "120 x 140 pixels brought to 12 x 14 beads" in remarks[0]
    assert "photo" in remarks[0]
    told = 'faces.front = {picture = "a.jpg", source = "photo", shading = "none"}'
    flat, _ = read(tmp_path, told)
    assert (flat != searched).any(), "shading is the one that was asked for"


@pytest.mark.parametrize(
    ("table", "word"),
    [('fit = "crop"', "key fit"), ('source = "painting"', "key source"),
     ('shading = "dots"', "key shading"), ('look = "wild"', "key look")],
)  # fmt: skip
def test_slips_in_a_face_s_table(tmp_path: Path, table: str, word: str) -> None:
    sprite(tmp_path / "a.png", 12, 14)
    with pytest.raises(FigureError, match=word):
        read(tmp_path, f'faces.front = {{picture = "a.png", {table}}}')
