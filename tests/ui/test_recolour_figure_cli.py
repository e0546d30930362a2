"""`img2plate recolour FIGURE.toml`: what is shown is what `figure` then builds."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from command import good, one_line, run
from PIL import Image

from img2plate.base.errors import ExitCode
from img2plate.colour.palette_file import find_palette
from img2plate.pipeline.options import PackOptions, quiet
from img2plate.pipeline.recolour import RecolourOptions, ways_asked
from img2plate.pipeline.recolour_figure import run as recolour_figure
from img2plate.solid.box.build import build
from img2plate.solid.file.figure_file import read_figure
from img2plate.solid.usage import usage_of_figure

PILOT = """
[[part]]
name = "coat"
size = [7, 6, 7]
colour = "prt"
faces.front = "coat.png"

[[part]]
name = "head"
size = [5, 4, 4]
on = "coat"
colour = "shl"
loose = true
"""
COAT = """
    + R R R R R -
    + R R w R R -
    + R R w R R -
    + R R w R R -
    + R R w R R -
    + R R R R R -
    - - - - - - -
"""


@pytest.fixture
def pilot(tmp_path: Path) -> Path:
    """A pilot in a red coat with its light and shade, whose skin is nearly of the coat's hue."""
    palette = find_palette("harbour-48")
    code = {"R": "prt", "+": "prt+", "-": "prt-", "w": "gul"}
    rows = [[palette.beads[palette.by_code[code[sign]]].srgb for sign in row.split()]
            for row in COAT.strip().splitlines()]  # fmt: skip
    Image.fromarray(np.array(rows, np.uint8)).save(tmp_path / "coat.png")
    (tmp_path / "pilot.toml").write_text(PILOT.rstrip(), encoding="utf-8")
    return tmp_path / "pilot.toml"


def test_pasted_tables_build_what_was_shown_byte_by_byte(pilot: Path, tmp_path: Path) -> None:
    stock = tmp_path / "stock.csv"
    stock.write_text("code,count\nprt,999\nprt-,999\nprt+,999\nshl,999\n", "utf-8")
    asked = ("recolour", pilot, "stb+", "--base", "prt+", "--also-colour", "prt,prt-")
    done = good(*asked, "--stock", stock, "--write-packs", "--out", tmp_path / "shown")
    assert done.stdout == '\n[colourway."stb+"]\nprt- = "stb-"\nprt = "stb"\n"prt+" = "stb+"\n'
    assert "stock covers 0" in done.stderr
    assert "stb+: missing" in done.stderr
    assert (tmp_path / "shown" / "pilot-colourways.png").is_file()
    pilot.write_text(pilot.read_text("utf-8") + done.stdout, "utf-8")  # as >> does
    good("figure", pilot, "--colourway", "stb+", "--out", tmp_path / "built")
    shown, built = tmp_path / "shown" / "pilot-stb+", tmp_path / "built" / "pilot-stb+"
    files = sorted(path.relative_to(built) for path in built.rglob("*") if path.is_file())
    assert len(files) > 20
    for file in files:
        assert (shown / file).read_bytes() == (built / file).read_bytes()
    again = good(*asked, "--json", "--out", tmp_path / "shown")
    assert json.loads(again.stdout)["tables"] == ""  # it is there already


def test_coat_moves_with_light_and_shade_and_skin_stays(pilot: Path, tmp_path: Path) -> None:
    palette = find_palette("harbour-48")
    asked = RecolourOptions(("prt", "hbr", "tel"), base="prt")
    done = recolour_figure(pilot, asked, PackOptions(tmp_path), progress=quiet)
    as_it_is = build(read_figure(pilot))
    for way in done.ways:
        new = {palette.beads[a].code: palette.beads[b].code for a, b in
               way.recolouring.changed.items()}  # fmt: skip
        assert set(new) == {"prt", "prt+", "prt-"}
        light = [palette.oklab[palette.by_code[new[code]], 0] for code in ("prt-", "prt", "prt+")]
        assert light == sorted(light)
        table = way.recolouring.table(len(palette))
        for before, after in zip(as_it_is.pieces, way.figure.pieces, strict=True):
            assert (table[before.plate.cells] == after.plate.cells).all()
            if way.name == "prt":
                assert (before.plate.cells == after.plate.cells).all()
    assert "[colourway.prt]\n# as it is\n" in done.tables
    pilot.write_text(pilot.read_text("utf-8") + done.tables, "utf-8")
    for way in done.ways:
        built = build(read_figure(pilot, colourway=way.name))
        for piece, shown in zip(built.pieces, way.figure.pieces, strict=True):
            assert (piece.plate.cells == shown.plate.cells).all()
    # Another colourway of that name keeps it.
    other = recolour_figure(pilot, RecolourOptions(("hbr",), base="shl"), PackOptions(tmp_path),
                            progress=quiet)  # fmt: skip
    assert [way.name for way in other.ways] == ["hbr 2"]
    assert other.tables == '\n[colourway."hbr 2"]\nshl = "hbr"\n'


def test_every_colour_that_is_told_apart(pilot: Path) -> None:
    palette = find_palette("harbour-48")
    usage = usage_of_figure(build(read_figure(pilot)))
    ways = ways_asked(usage, RecolourOptions(every=True, base="prt"))
    targets = [way.target for way in ways]
    assert 8 < len(targets) < 30
    assert not any(way.notes for way in ways)
    colours = palette.oklab[[palette.by_code["prt"], *targets]]
    apart = np.linalg.norm(colours[:, None] - colours, axis=2)
    assert apart[~np.eye(len(colours), dtype=bool)].min() >= 0.1


def test_what_a_figure_does_not_take_is_one_clear_line(pilot: Path, tmp_path: Path) -> None:
    out = ("--out", tmp_path)
    one_line(run("recolour", pilot, "stb", "--pitch", "2.6", *out), ExitCode.OPTION, "--pitch",
             "for plates, not for figures")  # fmt: skip
    one_line(run("recolour", pilot, "stb", "--base", "lmp", *out), ExitCode.OPTION, "bead of lmp")
    one_line(run("recolour", pilot, "stb", "--every", *out), ExitCode.OPTION, "--every")
    pilot.write_text(
        'colourway = { night = { prt = "hbr" } }\n' + pilot.read_text("utf-8"), "utf-8"
    )
    one_line(run("recolour", pilot, "stb", "--base", "prt", *out), ExitCode.FIGURE,
             "pilot.toml: `colourway", "[colourway.NAME]")  # fmt: skip
    assert not list(tmp_path.glob("*-colourways.png"))
