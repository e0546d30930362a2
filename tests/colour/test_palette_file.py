"""Palette files: what is read, and what is refused with row, column and reason."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from support import make_palette

from img2plate.base.errors import PaletteError
from img2plate.colour.palette import Bead, Palette
from img2plate.colour.palette_file import find_palette, palette_errors, read_palette, write_palette


def written(tmp_path: Path, text: str, name: str = "mine.csv") -> Path:
    path = tmp_path / name
    path.write_text(text, encoding="utf-8")
    return path


def test_a_palette_comes_back_as_it_was_written(tmp_path: Path) -> None:
    palette = make_palette(30).with_pitch(2.6)
    write_palette(tmp_path / "p.csv", palette)
    again = read_palette(tmp_path / "p.csv")
    assert again.beads == palette.beads
    assert (again.pitch_mm, again.bead_size) == (2.6, palette.bead_size)


def test_users_csv_with_semicolons_bom_and_other_column_order(tmp_path: Path) -> None:
    path = written(tmp_path, "\ufeffhex;code;name\n#ff0000;bu;buoy red\n00FF00;gr;\n")
    beads = read_palette(path).beads
    assert [(b.code, b.name, b.srgb, b.finish) for b in beads] == [
        ("bu", "buoy red", (255, 0, 0), "solid"),
        ("gr", "gr", (0, 255, 0), "solid"),
    ]


def test_plain_text_palette_of_image_editors(tmp_path: Path) -> None:
    text = "GIMP Palette\nName: Harbour\nColumns: 4\n# note\n255   0   0\tbuoy red\n  0 0 8\n"
    palette = read_palette(written(tmp_path, text, "h.gpl"))
    assert palette.name == "Harbour"
    assert [bead.srgb for bead in palette.beads] == [(255, 0, 0), (0, 0, 8)]
    assert palette.beads[0].name == "buoy red"


def test_two_codes_of_one_colour_are_legal_and_the_first_wins(tmp_path: Path) -> None:
    palette = read_palette(written(tmp_path, "code,hex\na,#010203\nb,#010203\n"))
    assert palette.by_srgb[(1, 2, 3)] == 0


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "nothing in it"),
        ("code,hex\n", "no colour"),
        ("code,colour\na,#000000\n", "row 1: no column 'hex'"),
        ("code,hex\na,#00000\n", "row 2, column hex: '#00000'"),
        ("# x: y\ncode,hex\na,#000000\n\na,#000001\n", "row 5, column code: 'a' is on row 3"),
        ("code,hex\n,#000000\n", "row 2, column code: empty"),
        ("code,hex,finish\na,#000000,shiny\n", "row 2, column finish: 'shiny'"),
        ("code,hex\na,#000000,what,more\n", "row 2: 4 cells under 2 columns"),
        ("# pitch: wide\ncode,hex\na,#000000\n", "pitch"),
        ("# bead: 5 x 6 x 5\ncode,hex\na,#000000\n", "bead"),
        ("# bead: 5 x 2 x 5 x 1\ncode,hex\na,#000000\n", "bead"),
        ("# bead: 5 x 2\ncode,hex\na,#000000\n", "bead"),
        ("GIMP Palette\n1 2 300 x\n", "row 2, column blue: 300 is over 255"),
        ("GIMP Palette\n1 2\n", "row 2: '1 2' is not red green blue name"),
    ],
)
def test_wrong_files(tmp_path: Path, text: str, words: str) -> None:
    with pytest.raises(PaletteError) as error:
        read_palette(written(tmp_path, text))
    assert words in str(error.value)
    assert "mine.csv" in str(error.value)


def test_no_text_at_all(tmp_path: Path) -> None:
    path = tmp_path / "p.csv"
    path.write_bytes(b"\x89PNG\r\n\x1a\n\xff\xfe")
    with pytest.raises(PaletteError, match="not a text file"):
        read_palette(path)


def test_unknown_name_lists_the_known_ones() -> None:
    with pytest.raises(PaletteError, match="css-named"):
        find_palette("nowhere-12")


def test_columns_of_companions_are_written_only_where_the_palette_names_some(
    tmp_path: Path,
) -> None:
    plain = (Bead("a", "a", (1, 2, 3)), Bead("b", "b", (4, 5, 6), "pearl"))
    named = (plain[0], Bead("b", "b", (4, 5, 6), "pearl", "", "a"))
    head = "code,name,hex,finish"
    for beads, header in ((plain, head), (named, f"{head},lighter,darker")):
        write_palette(tmp_path / "p.csv", Palette("two", beads))
        lines = (tmp_path / "p.csv").read_text("utf-8").splitlines()
        assert next(line for line in lines if line[0] != "#") == header


def test_all_errors_of_a_file_are_found(tmp_path: Path) -> None:
    path = tmp_path / "mine.csv"
    path.write_text(
        "code,name,hex,finish\na,a,#112233,solid\nb,b,nothex,solid\na,c,#445566,solid\n"
        "d,d,#778899,wood\n,e,#aabbcc,solid\n",
        encoding="utf-8",
    )
    rows = [re.search(r"row (\d+), column (\w+)", str(error)) for error in palette_errors(path)]
    assert {(int(row[1]), row[2]) for row in rows if row} == {
        (3, "hex"), (4, "code"), (5, "finish"), (6, "code"),
    }  # fmt: skip
    path.write_text("code,hex\na,#112233\n", encoding="utf-8")
    assert palette_errors(path) == []
