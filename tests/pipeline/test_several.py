"""Packs and native pictures of several sprites or frames in one file."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from command import good, one_line, run
from PIL import Image, ImageDraw

from img2plate.plate.document import read_plate

SAMPLES = Path(__file__).parents[2] / "sample_inputs"


def two_sprites(path: Path) -> Path:
    """A red and a blue block with a yellow middle, 5 px a cell."""
    pixels = np.zeros((16, 30, 4), np.uint8)
    pixels[3:13, 3:11] = (200, 40, 30, 255)
    pixels[3:13, 18:27] = (30, 60, 200, 255)
    pixels[6:8, 5:7] = pixels[9:11, 21:24] = (240, 220, 60, 255)
    Image.fromarray(pixels.repeat(5, axis=0).repeat(5, axis=1)).save(path)
    return path


def test_make_apart_writes_a_pack_of_each(tmp_path: Path) -> None:
    path = two_sprites(tmp_path / "sheet.png")
    done = good("make", path, "--apart", "--palette", "css-named", "--json", cwd=tmp_path)
    lines = [json.loads(line) for line in done.stdout.splitlines()]
    assert [line["size"] for line in lines] == [[8, 10], [9, 10]]
    assert read_plate(tmp_path / "packs" / "sheet-b1" / "plate.png").bead_count == 90
    assert (tmp_path / "packs" / "sheet-a1" / "sheets.pdf").is_file()


def test_native_apart_writes_a_picture_of_each(tmp_path: Path) -> None:
    path = two_sprites(tmp_path / "sheet.png")
    done = good("native", path, "--apart", "--json", cwd=tmp_path)
    found = json.loads(done.stdout)
    assert [each["place"] for each in found["sprites"]] == ["a1", "b1"]
    assert found["sprites"][1]["box"] == [18, 3, 9, 10]
    with Image.open(tmp_path / "native" / "sheet-a1.png") as image:
        assert image.size == (8, 10)
        assert image.getpixel((2, 3)) == (240, 220, 60, 255)


def test_frames_become_packs_of_one_size(tmp_path: Path) -> None:
    frames = []
    for x in (2, 6):
        pixels = np.full((12, 14, 3), 220, np.uint8)
        pixels[3:9, x : x + 4] = (200, 40, 30)
        pixels[5, x + 1] = 0
        frames.append(Image.fromarray(pixels))
    frames[0].save(tmp_path / "lamp.png", save_all=True, append_images=frames[1:])
    good("make", "lamp.png", "--frame", "all", "--background", "clear", cwd=tmp_path)
    plates = [read_plate(tmp_path / "packs" / f"lamp-f0{n}" / "plate.png") for n in (1, 2)]
    assert [plate.size for plate in plates] == [(14, 12)] * 2
    assert plates[0].filled[5].argmax() == 2
    assert plates[1].filled[5].argmax() == 6
    good("native", "lamp.png", "--frame", "2", cwd=tmp_path)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--gap", "2"], "--apart"),
        (["--frame", "x"], "--frame"),
        (["--frame", "9"], "--frame"),
        (["--frame", "all"], "one frame only"),
        (["--apart", "--width", "20"], "--apart"),
    ],
)
def test_what_makes_no_sense_is_refused(words: list[str], said: str, tmp_path: Path) -> None:
    path = two_sprites(tmp_path / "sheet.png")
    done = run("make", path, *words, cwd=tmp_path)
    assert done.returncode == 2
    assert said in done.stderr
    assert not (tmp_path / "packs").exists()


def test_a_subject_picture_lies_beside_the_pack(tmp_path: Path) -> None:
    import skimage.data

    Image.fromarray(skimage.data.coffee()).save(tmp_path / "cup.jpg", quality=92)
    words = ["--background", "clear", "--width", "30", "--shading", "none", "--trim"]
    done = good("make", "cup.jpg", *words, cwd=tmp_path)
    assert "the subject takes" in done.stderr
    assert "--subject" in done.stderr
    assert (tmp_path / "packs" / "cup-subject.png").is_file()
    one_line(run("make", "cup.jpg", "--subject", "1,1,9,9", cwd=tmp_path), 2, "--background")


def test_a_part_picture_lies_beside_the_pack(tmp_path: Path) -> None:
    sprite = Image.open(SAMPLES / "lighthouse.png").convert("RGBA")
    ground = Image.new("RGB", (400, 300), "#f4f4f0")
    ImageDraw.Draw(ground).text((12, 8), "The harbour museum, open from nine.", fill="black")
    big = sprite.resize((sprite.width * 4, sprite.height * 4), Image.Resampling.NEAREST)
    ground.paste("#205080", (51, 31, 51 + big.width, 31 + big.height))
    ground.paste(big, (51, 31), big)
    ground.save(tmp_path / "screen.png")
    done = run("make", "screen.png", "--crop", "auto", "--out", "packs", cwd=tmp_path)
    assert done.returncode == 0, done.stderr
    assert f"took the part 51,31,{big.width},{big.height}" in done.stderr
    assert (tmp_path / "packs" / "screen-part.png").is_file()
    done = run("native", "screen.png", "--crop", "auto", "--show", "--json", cwd=tmp_path)
    assert '"crop": [51, 31,' in done.stdout
    assert (tmp_path / "native" / "screen-part.png").is_file()
    one_line(run("make", "screen.png", "--subject", "auto", cwd=tmp_path), 2, "--subject")
