"""Boards, counts and sheets as people ask for them on the command line."""

from __future__ import annotations

import json
import zipfile
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner, Result
from PIL import Image
from reader import page_words
from support import SAMPLES, make_plate

from img2plate.base.files import USUAL_FILES
from img2plate.plate.document import write_plate
from img2plate.ui.cli import cli


def run(*arguments: object) -> Result:
    return CliRunner().invoke(cli, [str(argument) for argument in arguments])


@pytest.fixture
def plate_file(tmp_path: Path) -> Path:
    write_plate(tmp_path / "nets.png", make_plate(40, 33, colours=6))
    return tmp_path / "nets.png"


def test_quiet_seams_rounds_bags_and_a_zip(plate_file: Path, tmp_path: Path) -> None:
    done = run("sheets", plate_file, "--name", "nets", "--out", tmp_path / "o", "--board", "15x15",
               "--seams", "quiet", "--boards-owned", 2, "--bag", 500, "--bag-price", "2.40",
               "--front", "board-side", "--runs", "--zip", "--json")  # fmt: skip
    assert done.exit_code == 0, done.output
    report = json.loads(done.stdout.splitlines()[0])
    assert report["tiles"] == 9
    assert [len(names) for names in report["rounds"]] == [2, 2, 2, 2, 1]
    assert report["price"] == pytest.approx(2.4 * report["bags"])
    assert report["bags"] == 6
    assert "quiet seams are met by" in done.stderr
    assert "mirrored" in done.stderr
    with zipfile.ZipFile(tmp_path / "o" / "nets.zip") as archive:
        assert {name.removeprefix("nets/") for name in archive.namelist()} == USUAL_FILES
        sheets = archive.read("nets/sheets.pdf")
    assert sheets == (tmp_path / "o" / "nets" / "sheets.pdf").read_bytes()


def test_seams_by_hand_go_through_the_pack(plate_file: Path, tmp_path: Path) -> None:
    done = run("sheets", plate_file, "--name", "nets", "--out", tmp_path, "--board", "15x15",
               "--seams", "15,26/12,22", "--boards-owned", 3, "--json")  # fmt: skip
    assert done.exit_code == 0, done.output
    report = json.loads(done.stdout.splitlines()[0])
    assert (report["tiles"], [len(names) for names in report["rounds"]]) == (9, [3, 3, 3])
    assert "these seams are met by" in done.stderr
    words = page_words(tmp_path / "nets" / "sheets.pdf")
    assert any("columns 16 to 26" in page and "rows 13 to 22" in page for page in words)
    page = (tmp_path / "nets" / "follow.html").read_text(encoding="utf-8")
    assert '["B2",15,12,11,10,1,1,' in page


def test_rounds_by_hand_go_through_the_pack(plate_file: Path, tmp_path: Path) -> None:
    rounds = [["C3", "B3"], ["A1", "A2", "A3", "B1"], ["B2", "C1", "C2"]]
    text = "/".join(",".join(names) for names in rounds)
    done = run("sheets", plate_file, "--name", "nets", "--out", tmp_path, "--board", "15x15",
               "--seams", "15,26/12,22", "--rounds", text, "--json")  # fmt: skip
    assert done.exit_code == 0, done.output
    assert json.loads(done.stdout.splitlines()[0])["rounds"] == rounds
    assert "3 rounds on 4 boards; first C3, B3" in done.stderr
    done = run("sheets", plate_file, "--out", tmp_path, "--board", "15x15", "--rounds", "A1/A2")
    assert done.exit_code == 2
    assert "--rounds: board A3 is in no round; name each board with beads once" in done.stderr


def test_boards_of_several_sizes_go_through_the_pack(plate_file: Path, tmp_path: Path) -> None:
    own = ["--board", "29x29*2,14x14*4", "--out", tmp_path]
    done = run("sheets", plate_file, *own, "--name", "nets", "--json")
    assert done.exit_code == 0, done.output
    assert json.loads(done.stdout.splitlines()[0])["tiles"] == 5
    assert "5 boards with 6 joins" in done.stderr
    assert "2 of 29x29" in done.stderr
    words = [" ".join(page.split()) for page in page_words(tmp_path / "nets" / "sheets.pdf")]
    assert "2 of 29 x 29" in words[0]
    assert sum(page.count("board of 14 x 14") for page in words) == 3
    again = run("sheets", tmp_path / "nets" / "plate.png", "--out", tmp_path / "again", "--json")
    assert json.loads(again.stdout.splitlines()[0])["tiles"] == 5  # as the plate document says
    done = run("sheets", plate_file, *own, "--boards-owned", 2)
    assert done.exit_code == 2
    assert "--boards-owned: 2 counts boards of one size; give how many" in done.stderr
    done = run("make", SAMPLES / "harbour.jpg", "--width", 90, *own)
    assert done.exit_code == 2
    assert "--board: the boards 29x29*2, 14x14*4 do not cover 90 x" in done.stderr


def test_seams_that_do_not_fit_are_told_before_beads_are_chosen(tmp_path: Path) -> None:
    done = run(
        "make", SAMPLES / "harbour.jpg", "--width", 70, "--seams", "29/29", "--out", tmp_path
    )
    assert done.exit_code == 2
    assert "--seams: columns 30 to 70 are 41 pegs" in done.output
    assert not list(tmp_path.iterdir())


def test_the_picture_to_share_is_the_plate_alone(tmp_path: Path) -> None:
    done = run("make", SAMPLES / "gull.png", "--out", tmp_path)
    assert done.exit_code == 0, done.output
    with Image.open(tmp_path / "gull" / "picture.png") as picture:
        pixels = np.asarray(picture.convert("RGB"))
    edge = np.concatenate([pixels[:8].reshape(-1, 3), pixels[:, :8].reshape(-1, 3)])
    assert (edge == edge[0]).all()
    assert 800 < max(pixels.shape) < 2200


def test_count_adds_up_plates(plate_file: Path, tmp_path: Path) -> None:
    write_plate(tmp_path / "b.png", make_plate(10, 10, colours=6))
    done = run("count", plate_file, tmp_path / "b.png", "--json", "--bag", "60g")
    assert done.exit_code == 0, done.output
    report = json.loads(done.stdout)
    beads = make_plate(40, 33, colours=6).bead_count + make_plate(10, 10, colours=6).bead_count
    assert report["beads"] == beads == sum(line["beads"] for line in report["colours"])
    assert len(report["plates"]) == 2
    assert report["bags"] == len(report["colours"])
    table = run("count", plate_file, "--out", tmp_path / "c.xlsx")
    assert table.exit_code == 0, table.output
    *lines, between, effort = table.stdout.splitlines()
    assert len(lines) == len(report["colours"]) + 2
    assert lines[-1].startswith("total")
    assert between == ""
    assert 0 < float(effort.split()[1]) < report["hours"]  # of one plate, not of both
    assert (tmp_path / "c.xlsx").stat().st_size > 1000


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["--seams", "loud"], "loud"),
        (["--seams", "5/15"], "--seams"),
        (["--seams", "29/50"], "no seam can come after row 50 of 33"),
        (["--seams", "quiet", "--smallest-tile", "17", "--board", "20x20"], "--smallest-tile"),
        (["--boards-owned", "0"], "--boards-owned"),
        (["--front", "left"], "left"),
        (["--printer-measured", "9.94"], "--printer-measured"),
        (["--margin", "90"], "--margin"),
        (["--bag", "0"], "--bag"),
        (["--bag-price", "2"], "--bag-price"),
        (["--board", "0x29"], "--board"),
        (["--pitch", "40"], "--pitch"),
        (["--spare", "-5"], "--spare"),
    ],
)
def test_wrong_input_is_told_and_nothing_is_written(
    plate_file: Path, tmp_path: Path, arguments: list[str], words: str
) -> None:
    done = run("sheets", plate_file, "--out", tmp_path / "o", *arguments)
    assert done.exit_code == 2
    assert words in done.output
    assert not list((tmp_path / "o").rglob("*")) if (tmp_path / "o").exists() else True
