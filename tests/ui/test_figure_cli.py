"""`img2plate figure` as people use it."""

from __future__ import annotations

import json
from pathlib import Path

from command import run, run_program
from support import SAMPLES

from img2plate.plate.document import read_plate

LAMP = SAMPLES / "figures" / "harbour-lamp.toml"
BOX = '[[part]]\nname = "box"\nsize = [8, 8, 8]\ncolour = "prt"\nlid = "lift"\n'
FILES = {"assembled.png", "counts.csv", "counts.xlsx", "exploded.png", "figure.glb", "parts.png",
         "sheets.pdf", "steps.png"}  # fmt: skip


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
