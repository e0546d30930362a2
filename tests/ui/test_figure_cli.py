"""`img2plate figure` as people use it."""

from __future__ import annotations

import json
from pathlib import Path

from command import good, one_line, run, run_program
from PIL import Image
from support import SAMPLES

from img2plate.plate.document import read_plate

LAMP = SAMPLES / "figures" / "harbour-lamp.toml"
BOX = '[[part]]\nname = "box"\nsize = [8, 8, 8]\ncolour = "prt"\nlid = "lift"\n'
FILES = {"assembled.png", "counts.csv", "counts.xlsx", "exploded.png", "figure.glb", "follow.html",
         "parts.png", "sheets.pdf", "steps.png"}  # fmt: skip


def test_a_whole_pack(tmp_path: Path) -> None:
    done = run_program("figure", LAMP, "--out", tmp_path, "--json", "--colourway", "night")
    assert done.returncode == 0, done.stderr
    facts = json.loads(done.stdout)
    folder = tmp_path / "harbour-lamp-night"
    assert {path.name for path in folder.iterdir()} == FILES | {"plates", "description"}
    plates = [read_plate(path) for path in sorted((folder / "plates").iterdir())]
    assert [p.bead_count for p in plates] == [plate["beads"] for plate in facts["plates"]]
    assert sum(p.bead_count for p in plates) == facts["beads"]
    assert facts["fit"]["verdict"] == "holds"
    assert {Path(file).name for file in facts["files"]} >= FILES
    assert facts["order"]["body"][-1][0] == "body lid"


def test_same_file_same_bytes_and_a_failed_run_leaves_the_old_pack(tmp_path: Path) -> None:
    (tmp_path / "b.toml").write_text(BOX)
    for out in ("one", "two"):
        assert run("figure", tmp_path / "b.toml", "--out", tmp_path / out).returncode == 0
    files = [p.relative_to(tmp_path / "one") for p in (tmp_path / "one").rglob("*") if p.is_file()]
    assert len(files) == len(FILES) + 6 + 2  # plates; the description, and how it was asked for
    for file in files:
        assert (tmp_path / "one" / file).read_bytes() == (tmp_path / "two" / file).read_bytes()
    (tmp_path / "b.toml").write_text(BOX + '[[part.opening]]\nface = "front"\nbeads = [5, 5]\n')
    done = run("figure", tmp_path / "b.toml", "--out", tmp_path / "one")
    assert done.returncode == 9
    assert len(done.stderr.splitlines()) == 1
    assert "column" in done.stderr
    assert [p.name for p in (tmp_path / "one").iterdir()] == ["b"]
    assert (tmp_path / "one" / "b" / "sheets.pdf").is_file()


def test_one_that_fails_does_not_lose_the_others(tmp_path: Path) -> None:
    (tmp_path / "b.toml").write_text(BOX)
    done = run("figure", tmp_path / "none.toml", tmp_path / "b.toml", "--out", tmp_path / "o")
    assert done.returncode == 9
    assert "none.toml" in done.stderr
    assert (tmp_path / "o" / "b").is_dir()


def test_all_colourways_have_packs_and_a_picture(tmp_path: Path) -> None:
    box = tmp_path / "box.toml"
    text = '[[part]]\nname = "hut"\nsize = [6, 5, 4]\ncolour = "prt"\n'
    box.write_text(text, encoding="utf-8")
    one_line(run("figure", box, "--colourway", "all", "--out", tmp_path), 9, "no colourways")
    ways = '[colourway.night]\nprt = "hbr"\n[colourway."all day"]\nprt = "buo"\n'
    box.write_text(ways + text, encoding="utf-8")
    (tmp_path / "stock.csv").write_text("code,count\nprt,9999\n", encoding="utf-8")
    done = good("figure", box, "--colourway", "all", "--out", tmp_path, "--stock",
                tmp_path / "stock.csv", "--json")  # fmt: skip
    packs = [json.loads(line) for line in done.stdout.splitlines()]
    assert [[each["code"] for each in pack["colours"]] for pack in packs] == [
        ["prt"],
        ["hbr"],
        ["buo"],
    ]
    assert [bool(pack["missing"]) for pack in packs] == [False, True, True]
    assert (tmp_path / "box-night" / "sheets.pdf").is_file()
    with Image.open(tmp_path / "box-colourways.png") as picture:
        assert picture.width > 3 * 420


def test_boards_owned_front_and_runs_as_for_flat_plates(tmp_path: Path) -> None:
    (tmp_path / "b.toml").write_text(BOX)
    done = good("figure", tmp_path / "b.toml", "--out", tmp_path, "--board", "9x9",
                "--boards-owned", "4", "--front", "board-side", "--runs", "--json")  # fmt: skip
    facts = json.loads(done.stdout)
    assert sorted(n for each in facts["rounds"] for n in each) == [1, 2, 3, 4, 5, 6]
    assert max(map(len, facts["rounds"])) == 4
    notes = " ".join(facts["notes"])
    assert "2 rounds on 4 boards; first plate 1 (box front)" in notes
    assert "front faces down" in notes
    counted = good(
        "figure", tmp_path / "b.toml", "--out", tmp_path / "c", "--board", "9x9*4", "--json"
    )
    assert json.loads(counted.stdout)["rounds"] == facts["rounds"]
    sizes = run("figure", tmp_path / "b.toml", "--out", tmp_path, "--board", "9x9*4,5x5*2")
    one_line(sizes, 2, "several sizes", "29x29*4")


def test_what_makes_no_sense_for_a_figure_is_refused_with_the_reason(tmp_path: Path) -> None:
    for words, why in (
        (("--rounds", "A1/B1"), "any order will do"),
        (("--pitch", "2.6"), "pitch in [figure]"),
        (("--thickness", "3"), "thickness in [figure]"),
        (("--template",), "[colourway.NAME]"),
    ):
        one_line(run("figure", LAMP, "--out", tmp_path, *words), 2, why)
