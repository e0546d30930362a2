"""The command as people use it: whole runs on real files, and every kind of wrong input."""

from __future__ import annotations

import csv
import json
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from command import good, one_line, run, run_program
from PIL import Image
from support import SAMPLES

from img2plate.base.files import USUAL_FILES
from img2plate.plate.document import read_plate


@pytest.fixture
def sprite(tmp_path: Path) -> Path:
    rng = np.random.default_rng(4)
    pixels = rng.integers(0, 256, (4, 3), dtype=np.uint8)[rng.integers(0, 4, (12, 10))]
    Image.fromarray(pixels).save(tmp_path / "gull.png")
    return tmp_path / "gull.png"


def test_make_writes_a_whole_pack_and_says_so(tmp_path: Path) -> None:
    source = SAMPLES / "lighthouse.png"
    done = run_program("make", source, "--out", tmp_path, "--json", "--palette", "sea-96")
    assert done.returncode == 0, done.stderr
    report = json.loads(done.stdout)
    with Image.open(source) as image:
        assert tuple(report["size"]) == image.size
        opaque = np.asarray(image.convert("RGBA"))[..., 3] >= 128
    assert report["beads"] == opaque.sum() == sum(c["beads"] for c in report["colours"])
    assert {Path(file).name for file in report["files"]} == USUAL_FILES
    assert all(Path(file).stat().st_size > 500 for file in report["files"])
    assert {path.name for path in (tmp_path / "lighthouse").iterdir()} == USUAL_FILES
    plate = read_plate(tmp_path / "lighthouse" / "plate.png")
    np.testing.assert_array_equal(plate.filled, opaque)
    rows = list(
        csv.DictReader((tmp_path / "lighthouse/counts.csv").read_text("utf-8").splitlines())
    )
    assert int(rows[-1]["beads"]) == report["beads"]
    assert [p.name for p in tmp_path.iterdir()] == ["lighthouse"]


def test_same_input_and_options_give_the_same_bytes(sprite: Path, tmp_path: Path) -> None:
    for out, started in (("a", run), ("b", run_program)):
        done = started("make", sprite, "--out", tmp_path / out, "--width", "20")
        assert done.returncode == 0, done.stderr
    for name in USUAL_FILES:
        first, second = ((tmp_path / out / "gull" / name).read_bytes() for out in ("a", "b"))
        assert first == second, name


def test_a_photo_to_boards_with_another_pitch(tmp_path: Path) -> None:
    arguments = ["--boards", "2x1", "--fit", "cover", "--pitch", "2.6", "--paper", "Letter"]
    done = good("make", SAMPLES / "harbour.jpg", *arguments, "--out", tmp_path, "--json")
    report = json.loads(done.stdout)
    assert report["size"] == [58, 29]
    assert report["tiles"] == 2
    assert read_plate(tmp_path / "harbour/plate.png").palette.pitch_mm == 2.6
    assert 3 < report["look"]["error"] < 40
    assert report["look"]["distance_m"] == 0.5
    assert 0 <= report["look"]["specks"] <= 1


def test_several_pictures_of_one_name_and_a_bad_one_between(sprite: Path, tmp_path: Path) -> None:
    (tmp_path / "other").mkdir()
    (tmp_path / "other" / "gull.png").write_bytes(sprite.read_bytes())
    done = run(
        "make", sprite, tmp_path / "none.png", tmp_path / "other/gull.png", "--out", tmp_path / "o",
        "--json",
    )  # fmt: skip
    assert done.returncode == 3
    assert len(done.stdout.splitlines()) == 2
    assert {path.name for path in (tmp_path / "o").iterdir()} == {"gull", "gull-2"}
    assert "none.png" in done.stderr


def test_sheets_after_touching_up(sprite: Path, tmp_path: Path) -> None:
    good("make", sprite, "--out", tmp_path / "o")
    document = tmp_path / "o" / "gull" / "plate.png"
    plate = read_plate(document)
    with Image.open(document) as image:
        bare = image.convert("RGBA")
    bare.info.clear()
    bare.putpixel((2, 1), (*plate.palette.beads[5].srgb, 255))
    bare.putpixel((3, 1), (0, 0, 0, 0))
    bare.save(document)
    assert run("sheets", document).returncode == 5
    done = good("sheets", document, "--palette", "harbour-48", "--name", "gull", "--out",
                tmp_path / "o", "--json")  # fmt: skip
    again = read_plate(document)
    assert again.cells[1, 2] == 5
    assert again.cells[1, 3] == -1
    assert json.loads(done.stdout)["beads"] == 119
    assert {path.name for path in (tmp_path / "o" / "gull").iterdir()} == USUAL_FILES

    bare.putpixel((0, 11), (1, 2, 3, 255))
    bare.save(tmp_path / "strange.png")
    strange = run("sheets", tmp_path / "strange.png", "--palette", "harbour-48")
    assert strange.returncode == 5
    assert "column 1, row 12 is #010203" in strange.stderr


def test_making_again_keeps_a_plate_touched_up_by_hand(sprite: Path, tmp_path: Path) -> None:
    good("make", sprite, "--out", tmp_path / "o")
    document = tmp_path / "o" / "gull" / "plate.png"
    with Image.open(document) as image:
        touched = image.convert("RGBA")
    touched.putpixel((0, 0), (0, 0, 0, 0))
    touched.save(document)
    done = good("make", sprite, "--out", tmp_path / "o")
    assert "plate-touched-1.png" in done.stderr
    with Image.open(tmp_path / "o" / "gull" / "plate-touched-1.png") as kept:
        assert kept.convert("RGBA").getpixel((0, 0)) == (0, 0, 0, 0)


def test_palette_commands(tmp_path: Path) -> None:
    listed = good("palette", "list").stdout
    assert all(name in listed for name in ("quay-24", "harbour-48", "sea-96", "css-named"))
    shown = good("palette", "show", "quay-24", cwd=tmp_path)
    assert len(shown.stdout.splitlines()) == 24
    with Image.open(tmp_path / "quay-24-swatches.png") as swatches:
        assert min(swatches.size) > 200
    (tmp_path / "bad.csv").write_text("code,hex\na,#12\n")
    bad = run("palette", "check", tmp_path / "bad.csv", "css-named")
    assert bad.returncode == 4
    assert "row 2, column hex" in bad.stderr
    assert "148 colours, 9 of them" in bad.stdout


def test_native_recovers_a_screenshot_and_passes_a_photo_over(tmp_path: Path) -> None:
    with Image.open(SAMPLES / "puffin.png") as image:
        sprite = image.convert("RGBA")
    big = sprite.resize((sprite.width * 6, sprite.height * 6), Image.Resampling.NEAREST)
    big.save(tmp_path / "shot.png")
    photo = SAMPLES / "harbour.jpg"
    done = good("native", tmp_path / "shot.png", photo, "--out", tmp_path / "n", "--json", "--show")
    first, second = (json.loads(line) for line in done.stdout.splitlines())
    assert first["cells"] == list(sprite.size)
    assert (first["cell_px"], first["offset_px"], first["kernel"]) == ([6, 6], [0, 0], "nearest")
    assert 0.9 < first["confidence"] <= 1
    assert second["cells"] is None
    with Image.open(tmp_path / "n" / "shot.png") as image:
        found = np.array(image)
    assert ((found == np.array(sprite)).all(axis=2) | (found[..., 3] == 0)).all()
    assert {p.name for p in (tmp_path / "n").iterdir()} == {
        "shot.png", "shot-grid.png", "harbour-grid.png",
    }  # fmt: skip


def test_make_finds_the_grid_by_itself(tmp_path: Path) -> None:
    with Image.open(SAMPLES / "puffin.png") as image:
        size = image.size
        flat = Image.new("RGBA", size, "white")
        flat.alpha_composite(image.convert("RGBA"))
    flat.resize((size[0] * 8, size[1] * 8), Image.Resampling.NEAREST).convert("RGB").save(
        tmp_path / "shot.jpg", quality=80
    )
    done = good("make", tmp_path / "shot.jpg", "--out", tmp_path, "--json")
    assert json.loads(done.stdout)["size"] == list(size)
    assert f"{size[0]} x {size[1]} cells of 8 px, sure" in done.stderr
    known = good("make", tmp_path / "shot.jpg", "--out", tmp_path, "--json", "--cell-px", "16")
    assert abs(json.loads(known.stdout)["size"][0] - size[0] / 2) <= 1


def test_native_does_not_write_over_the_picture_itself(sprite: Path, tmp_path: Path) -> None:
    before = sprite.read_bytes()
    one_line(run("native", sprite, "--out", tmp_path), 7, "the picture itself", "--out")
    assert sprite.read_bytes() == before
    one_line(run("native", "none.png", cwd=tmp_path), 3, "none.png")
    one_line(run("native", sprite, "--cells", "5", "--out", tmp_path / "n"), 2, "--cells")
    assert not (tmp_path / "n").exists()


@pytest.mark.usefixtures("sprite")
@pytest.mark.parametrize(
    ("arguments", "code", "words"),
    [
        (["missing.png"], 3, ["no file missing.png"]),
        (["."], 3, ["folder"]),
        (["text.png"], 3, ["not a picture"]),
        (["short.jpg"], 3, ["cut off"]),
        (["empty.png"], 3, ["0 bytes"]),
        (["clear.png"], 3, ["fully transparent"]),
        (["gull.png", "--palette", "none.csv"], 4, ["no palette 'none.csv'"]),
        (["gull.png", "--palette", "blank.csv"], 4, ["no colour"]),
        (["gull.png", "--palette", "twice.csv"], 4, ["row 3, column code"]),
        (["gull.png", "--width", "0"], 2, ["--width"]),
        (["gull.png", "--size", "0x10"], 2, ["--size"]),
        (["gull.png", "--size", "5000x5000", "--fit", "stretch"], 6, ["5000 x 5000"]),
        (["gull.png", "--width", "5000"], 6, ["5000 x 6000"]),
        (
            ["gull.png", "--width", "5", "--boards", "1x1"],
            2,
            ["give only one of --width/--height, --size, --boards and --mm"],
        ),
        (["gull.png", "--board", "0x29"], 2, ["--board"]),
        (["gull.png", "--pitch", "-1"], 2, ["--pitch"]),
        (["gull.png", "--pitch", "40"], 2, ["pitch"]),
        (["gull.png", "--spare", "-5"], 2, ["--spare"]),
        (["gull.png", "--crop", "9,9,9,9"], 2, ["--crop"]),
        (["gull.png", "--background", "blue"], 2, ["--background"]),
        (["gull.png", "--shading", "stripes"], 2, ["stripes"]),
        (["gull.png", "--strength", "2"], 2, ["--strength"]),
        (["gull.png", "--viewing-distance", "-1"], 2, ["--viewing-distance"]),
        (["gull.png", "--paper", "A9"], 2, ["--paper"]),
        (["gull.png", "--colour", "3"], 2, ["--colour"]),
        (["gull.png", "--out", "gull.png"], 7, ["gull.png"]),
        ([], 2, ["IMAGE"]),
    ],
)
def test_wrong_input_is_one_line_and_an_exit_code(
    tmp_path: Path, arguments: list[str], code: int, words: list[str]
) -> None:
    (tmp_path / "text.png").write_text("hello")
    (tmp_path / "empty.png").write_bytes(b"")
    noise = np.random.default_rng(0).integers(0, 256, (200, 200, 3), dtype=np.uint8)
    Image.fromarray(noise).save(tmp_path / "whole.jpg")
    (tmp_path / "short.jpg").write_bytes((tmp_path / "whole.jpg").read_bytes()[:9000])
    Image.new("RGBA", (9, 9)).save(tmp_path / "clear.png")
    (tmp_path / "blank.csv").write_text("code,hex\n")
    (tmp_path / "twice.csv").write_text("code,hex\na,#000000\na,#000001\n")
    before = {path.name for path in tmp_path.iterdir()}
    one_line(run("make", *arguments, cwd=tmp_path), code, *words)
    left = {path.name for path in tmp_path.rglob("*")} - before - {"packs"}
    assert not left


def test_an_output_that_may_not_be_written(sprite: Path) -> None:
    done = run("make", sprite, "--out", "/proc/packs")
    one_line(done, 7, "/proc/packs", "--out")


def test_a_full_disk_leaves_nothing(sprite: Path, tmp_path: Path) -> None:
    small = tmp_path / "small"
    small.mkdir()
    mount = ["mount", "-t", "tmpfs", "-o", "size=32k", "tmpfs", str(small)]
    if subprocess.run(mount, capture_output=True, check=False).returncode:
        pytest.skip("may not mount a file system here")
    try:
        one_line(run("make", sprite, "--out", small), 7, "disk is full", "--out")
        assert not list(small.iterdir())
    finally:
        subprocess.run(["umount", str(small)], check=True)


def test_old_pack_survives_a_failed_run(sprite: Path, tmp_path: Path) -> None:
    good("make", sprite, "--out", tmp_path / "o")
    before = {p.name: p.read_bytes() for p in (tmp_path / "o" / "gull").iterdir()}
    assert run("make", sprite, "--out", tmp_path / "o", "--pitch", "40").returncode == 2
    assert {p.name: p.read_bytes() for p in (tmp_path / "o" / "gull").iterdir()} == before


def test_a_bar_is_drawn_on_a_terminal_only(tmp_path: Path) -> None:
    """Through a pseudo-terminal: a long run draws a bar, and plain files stay plain."""
    import os
    import pty

    main, terminal = pty.openpty()
    command = [sys.executable, "-m", "img2plate", "make", str(SAMPLES / "harbour.jpg")]
    command += ["--width", "120", "--shading", "bayer", "--out", str(tmp_path)]
    with subprocess.Popen(command, stderr=terminal, stdout=subprocess.PIPE) as process:
        os.close(terminal)
        seen = b""
        while chunk := _read(main):
            seen += chunk
        out = process.stdout.read() if process.stdout else b""
    os.close(main)
    assert process.returncode == 0
    assert not out
    assert b"drawing" in seen
    assert b"%" in seen
    quiet = good("make", SAMPLES / "harbour.jpg", "--width", "20", "--out", tmp_path)
    assert "[" not in quiet.stderr


def _read(handle: int) -> bytes:
    import os

    try:
        return os.read(handle, 65536)
    except OSError:  # Linux says so when the other end is closed
        return b""
