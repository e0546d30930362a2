"""Fewer colours, stock and comparison, as people call them."""

from __future__ import annotations

import json
from pathlib import Path

from command import good, one_line, run
from support import SAMPLES

from img2plate.colour.palette_file import find_palette

PHOTO = SAMPLES / "harbour.jpg"


def stock_file(folder: Path, each: int) -> Path:
    rows = "".join(f"{bead.code},{each}\n" for bead in find_palette("quay-24").beads)
    (folder / "stock.csv").write_text(f"code,count\n{rows}")
    return folder / "stock.csv"


def test_few_colours_from_a_stock_then_taken_from_it(tmp_path: Path) -> None:
    stock = stock_file(tmp_path, 60)
    arguments = ["--palette", "quay-24", "--width", "20", "--out", tmp_path, "--stock", stock]
    done = good("make", PHOTO, *arguments, "--colours", "9", "--shading", "bayer", "--json")
    report = json.loads(done.stdout)
    assert len(report["colours"]) <= 9
    assert max(colour["beads"] for colour in report["colours"]) <= 60
    plate = tmp_path / "harbour" / "plate.png"
    assert "all of these beads" in good("count", plate, "--spare", "0", "--stock", stock).stdout
    assert "beads taken" in good("stock", "take", plate, "--stock", stock).stderr
    one_line(run("stock", "take", plate, "--stock", stock), 8, "nothing was taken")
    report = json.loads(good("count", plate, "--stock", stock, "--bag", "100", "--json").stdout)
    assert report["to_buy"]["bags"] >= 1


def test_too_few_beads_and_wrong_options_are_one_line(tmp_path: Path) -> None:
    stock = stock_file(tmp_path, 2)
    arguments = ["make", PHOTO, "--palette", "quay-24", "--out", tmp_path / "o"]
    one_line(run(*arguments, "--stock", stock), 8, "are missing", "--width")
    one_line(run(*arguments, "--stock-advice"), 2, "also give --stock")
    one_line(run(*arguments, "--only", "nix"), 2, "--only", "'nix'")
    one_line(run("compare", PHOTO, "--palette", "nix", "--out", tmp_path / "o"), 4, "'nix'")
    assert not (tmp_path / "o" / "harbour").exists()
