"""Rebuild, swaps and rare colours by command: packs, the picture of both, what is told."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
from command import run
from PIL import Image

from img2plate.base.errors import ExitCode
from img2plate.colour.palette_file import find_palette
from img2plate.plate.document import read_plate, write_plate
from img2plate.plate.plate import Plate


def document(folder: Path) -> Path:
    palette = find_palette("harbour-48")
    cells = np.full((12, 12), palette.by_code["prt"], np.int16)
    cells[:, :4], cells[:, 9:] = palette.by_code["prt-"], palette.by_code["slt"]
    cells[0, 0] = palette.by_code["buo"]
    write_plate(folder / "sail.png", Plate(cells, palette, "sail"))
    return folder / "sail.png"


def test_rebuild_writes_a_pack_and_a_picture_of_both(tmp_path: Path) -> None:
    done = run("rebuild", document(tmp_path), "--palette", "quay-24", "--out", tmp_path, "--json")
    assert done.returncode == 0, done.stderr
    told = json.loads(done.stdout)
    differences = [change["difference"] for change in told["changed"]]
    assert differences == sorted(differences, reverse=True)
    with Image.open(told["picture"]) as picture:
        assert picture.width > 500
    plate = read_plate(tmp_path / "sail-quay-24" / "plate.png")
    assert plate.palette.name == "quay-24"
    assert plate.made["rebuilt"] == "harbour-48 in quay-24"
    assert "slt to" in done.stderr


def test_rebuild_from_a_stock_leaves_spares_or_says_so(tmp_path: Path) -> None:
    stock, plate = tmp_path / "stock.csv", document(tmp_path)
    rows = ["prt,60", "prt-,47", "buo,1", "slt,40", "gul,9"]
    stock.write_text("\n".join(["code,count", *rows]), encoding="utf-8")
    done = run("rebuild", plate, "--stock", stock, "--out", tmp_path)
    assert "spare beads are used too" in done.stderr
    short = run("rebuild", plate, "--stock", stock, "--out", tmp_path, "--swap", "prt:gul")
    assert short.returncode == ExitCode.STOCK, short.stderr
    assert "the least to buy: 51 gul (for prt)" in short.stderr
    nothing = run("rebuild", plate, "--out", tmp_path)
    assert "give --palette, --stock, --swap or --merge-rare" in nothing.stderr


def test_make_swaps_and_merges_and_shows_both(tmp_path: Path) -> None:
    palette = find_palette("quay-24")
    a, b, c = (palette.beads[palette.by_code[code]].srgb for code in ("prt", "stb", "gul"))
    pixels = np.full((10, 10, 3), a, np.uint8)
    pixels[5:], pixels[0, 0] = b, c
    Image.fromarray(pixels).save(tmp_path / "flag.png")
    done = run("make", tmp_path / "flag.png", "--palette", "quay-24", "--swap", "prt:lmp",
               "--merge-rare", "3", "--out", tmp_path / "packs")  # fmt: skip
    assert "49 beads of prt are lmp now" in done.stderr
    assert "3 colours became 2: 1 gul as lmp" in done.stderr
    plate = read_plate(tmp_path / "packs" / "flag" / "plate.png")
    assert {plate.palette.beads[i].code for i in np.flatnonzero(plate.counts())} == {"lmp", "stb"}
    assert (tmp_path / "packs" / "flag-before-after.png").is_file()


def test_on_the_worktable_spares_are_of_the_plate_once_it_keeps_to_a_stock() -> None:
    from img2plate.ui.worktable.wishes.of_the_pack import plate_key

    assert plate_key({"spare_percent": "9"}) == plate_key({})
    assert plate_key({"spare_percent": "9", "stock": "s"}) != plate_key({"stock": "s"})
