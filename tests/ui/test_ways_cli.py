"""Companions, scatter, colourways and measured palettes by command: files, words, exit codes."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner, Result
from support import SAMPLES

from img2plate.base.errors import ExitCode
from img2plate.colour.palette_file import find_palette
from img2plate.plate.document import read_plate, write_plate
from img2plate.plate.plate import Plate
from img2plate.ui.cli import cli


def run(*arguments: object) -> Result:
    return CliRunner().invoke(cli, [str(argument) for argument in arguments])


def good(*arguments: object) -> Result:
    done = run(*arguments)
    assert done.exit_code == 0, done.output
    return done


@pytest.fixture
def document(tmp_path: Path) -> Path:
    palette = find_palette("harbour-48")
    cells = np.full((20, 20), palette.by_code["prt"], np.int16)
    cells[:, :5], cells[:, 15:] = palette.by_code["prt-"], palette.by_code["tar"]
    write_plate(tmp_path / "sail.png", Plate(cells, palette, "sail"))
    return tmp_path / "sail.png"


def test_companions_are_told_and_drawn(tmp_path: Path) -> None:
    out = tmp_path / "c.png"
    done = good("palette", "show", "harbour-48", "--companions", "--out", out)
    assert "lighter: stb+  darker: stb-" in done.output
    assert out.is_file()


def test_scatter_writes_a_pack_of_its_own(document: Path, tmp_path: Path) -> None:
    out = tmp_path / "packs"
    done = good("scatter", document, "--scatter", "prt::10", "--light", "90", "--out", out)
    assert "20 beads scattered over 200 flat cells" in done.output
    before, after = read_plate(document), read_plate(out / "sail-scatter" / "plate.png")
    assert (before.cells != after.cells).sum() == 20
    assert after.made["scatter"] == "prt::10"
    assert after.name == "sail-scatter"


def test_make_scatters_too(tmp_path: Path) -> None:
    good("make", SAMPLES / "lighthouse.png", "--scatter", "gul:mst:20", "--out", tmp_path)
    assert read_plate(tmp_path / "lighthouse" / "plate.png").made["scatter"] == "gul:mst:20"


def test_recolour_draws_one_sheet_and_keeps_packs(document: Path, tmp_path: Path) -> None:
    out = tmp_path / "packs"
    done = good("recolour", document, "stb", "hbr", "--write-packs", "--json", "--out", out)
    told = json.loads(done.output.splitlines()[0])
    assert [way["target"] for way in told["colourways"]] == ["stb", "hbr"]
    assert told["colourways"][0]["changed"] == {"prt-": "stb-", "prt": "stb"}
    assert (out / "sail-colourways.png").is_file()
    kept = read_plate(out / "sail-stb" / "plate.png")
    assert {kept.palette.beads[i].code for i in np.unique(kept.cells)} == {"stb-", "stb", "tar"}


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("recolour", "PLATE"), "--all-colours"),
        (("recolour", "PLATE", "stb", "--all-colours"), "--all-colours"),
        (("recolour", "PLATE", "zzz"), "CODE: palette harbour-48 has no colour with code 'zzz'"),
        (("recolour", "PLATE", "stb", "--base", "lmp"), "no bead of lmp"),
        (
            ("recolour", "PLATE", "stb", "--keep-colour", "zz"),
            "--keep-colour: palette harbour-48 has no colour",
        ),
        (("scatter", "PLATE"), "--scatter CODE"),
        (("make", "PLATE", "--light", "3"), "--light: needs --scatter"),
    ],
)
def test_wrong_input_is_one_clear_line(
    document: Path, tmp_path: Path, arguments: tuple[str, ...], said: str
) -> None:
    words = [document if word == "PLATE" else word for word in arguments]
    done = run(*words, "--out", tmp_path / "packs")
    assert done.exit_code == ExitCode.OPTION
    assert said in done.output


def test_check_names_pairs_and_draws_gaps(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "p.csv").write_text("code,hex\na,#808080\nb,#818181\nc,#FF0000\n", "utf-8")
    done = good("palette", "check", "p.csv", "--gaps")
    assert "a and b are too alike" in done.output
    assert (tmp_path / "p-gaps.png").is_file()


def test_card_and_suggest(tmp_path: Path) -> None:
    good("palette", "card", "--paper", "Letter", "--out", tmp_path / "card.pdf")
    assert (tmp_path / "card.pdf").read_bytes().startswith(b"%PDF")
    picture = SAMPLES / "harbour.jpg"
    done = good("palette", "suggest", picture, "--palette", "quay-24", "--add", "2")
    assert done.output.count("#") == 2


def test_measuring_a_picture_without_a_card_is_refused(tmp_path: Path) -> None:
    done = run("palette", "measure", SAMPLES / "harbour.jpg", "--out", tmp_path / "p.csv")
    assert done.exit_code == ExitCode.PICTURE
    assert "corner markers are seen" in done.output
    assert not (tmp_path / "p.csv").exists()


def test_colourways_say_whether_the_stock_covers_them(document: Path, tmp_path: Path) -> None:
    stock, out = tmp_path / "stock.csv", tmp_path / "packs"
    stock.write_text("code,count\nstb,200\nstb-,100\ntar,100\nhbr,120\nxyz,5\n", "utf-8")
    done = good(
        "recolour", document, "stb,hbr", "--stock", stock, "--write-packs", "--json", "--out", out
    )
    stb, hbr = json.loads(done.output.splitlines()[0])["colourways"]
    assert (stb["covered"], stb["missing"]) == (True, {})
    assert (hbr["covered"], hbr["missing"]) == (False, {"hbr-": 100, "hbr": 80})
    assert "2 colourways, the stock covers 1" in done.output
    assert "stb: the stock covers it" in done.output
    assert "hbr: missing 100 hbr-, 80 hbr" in done.output
    stock.write_text("code\nstb\n", "utf-8")
    done = run("recolour", document, "stb", "--stock", stock, "--out", out)
    assert done.exit_code == ExitCode.STOCK


def test_check_tells_and_draws_what_of_a_picture_is_out_of_reach(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    done = good("palette", "check", "quay-24", "--picture", SAMPLES / "lighthouse.png")
    assert "of lighthouse.png is over 10 from any bead" in done.output
    assert "nearest is" in done.output
    assert (tmp_path / "quay-24-gaps-lighthouse.png").is_file()
    assert "no file" in run("palette", "check", "quay-24", "--picture", "no.png").output


def test_a_card_is_for_beads_of_5_or_2_6_mm(tmp_path: Path) -> None:
    good("palette", "card", "--pitch", "2.6", "--out", tmp_path / "small.pdf")
    done = run("palette", "card", "--pitch", "3", "--out", tmp_path / "other.pdf")
    assert "cards for beads of 5 and 2.6 mm, not 3" in done.output
    assert not (tmp_path / "other.pdf").exists()
