"""Figures as files: the samples, colourways, and every kind of slip with file, key and reason."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from support import SAMPLES

from img2plate.base.errors import FigureError, OptionError
from img2plate.solid.box.build import build
from img2plate.solid.file.figure_file import read_figure

FIGURES = sorted((SAMPLES / "figures").glob("*.toml"))
GOOD = """
[figure]
palette = "quay-24"
[[part]]
name = "box"
size = [12, 10, 14]
colour = "prt"
"""


def read(tmp_path: Path, text: str):
    (tmp_path / "f.toml").write_text(text, "utf-8")
    return read_figure(tmp_path / "f.toml")


def test_the_script_makes_the_committed_pictures(tmp_path: Path) -> None:
    script = SAMPLES / "figures" / "make_figures.py"
    subprocess.run([sys.executable, script, tmp_path], check=True)
    names = sorted(path.name for path in tmp_path.iterdir())
    assert names == sorted(path.name for path in script.parent.glob("*.png"))
    for name in names:
        with Image.open(tmp_path / name) as new, Image.open(script.parent / name) as old:
            assert np.array_equal(np.asarray(new.convert("RGBA")), np.asarray(old.convert("RGBA")))


@pytest.mark.parametrize("path", FIGURES, ids=lambda path: path.stem)
def test_sample_figures_go_together(path: Path) -> None:
    made = build(read_figure(path))
    assert not made.report.findings
    assert len(made.pieces) > 10
    assert any(piece.role in ("lid", "roof") for piece in made.pieces)
    listed = (SAMPLES / "README.md").read_text("utf-8")
    assert f"`figures/{path.name}`" in listed
    assert f"| {len(made.pieces)} |" in listed


def test_a_lamp_has_windows_and_a_boat_takes_its_coin() -> None:
    lamp = build(read_figure(SAMPLES / "figures" / "harbour-lamp.toml"))
    front = next(p for p in lamp.pieces if p.title == "body front").plate
    assert (front.cells[3:9, 3:7] < 0).all()
    boat = build(read_figure(SAMPLES / "figures" / "trawler-box.toml"))
    assert lamp.spec.notes
    assert boat.spec.notes
    deck = next(p for p in boat.pieces if p.title == "hull lid").plate
    slot = deck.cells[5:11, 28]
    assert (slot < 0).all()
    # 2 euro is 25.75 x 2.2 mm (see coins.csv).
    assert boat.spec.model.slot_mm(6, 4.0) > 25.75 + 0.5


def test_a_colourway_changes_colours_only() -> None:
    path = SAMPLES / "figures" / "harbour-lamp.toml"
    day, night = build(read_figure(path)), build(read_figure(path, colourway="night"))
    assert day.bead_count == night.bead_count
    codes = day.spec.palette.by_code
    before, after = day.counts(), night.counts()
    assert after[codes["prt"]] == 0
    assert after[codes["hbr-"]] >= before[codes["prt"]] > 0
    with pytest.raises(OptionError, match="night"):
        read_figure(path, colourway="dawn")


def test_openings_by_object_mm_and_beads(tmp_path: Path) -> None:
    opening = '[[part.opening]]\nface = "front"\n'
    for words, cells in (
        ('object = "2 euro"', (6, 1)), ('object = "2 euro"\nupright = true', (1, 6)),
        ("mm = [20, 3]", (5, 1)), ("beads = [2, 5]", (2, 5)),
    ):  # fmt: skip
        made = build(read(tmp_path, GOOD + opening + words))
        plate = next(p.plate for p in made.pieces if p.name == "front")
        inner = plate.cells[2:-2, 2:-2] < 0
        rows, columns = np.nonzero(inner)
        assert (np.ptp(columns) + 1, np.ptp(rows) + 1) == cells


def test_measured_beads_move_the_openings(tmp_path: Path) -> None:
    text = GOOD.replace("[[part]]", 'measured = ["3.9:72.6:24.3"]\n[[part]]')
    spec = read(tmp_path, text)
    assert spec.model.is_measured
    assert spec.model.shrink < 0.97


def test_a_plate_document_as_a_face(tmp_path: Path) -> None:
    from img2plate.colour.palette_file import find_palette
    from img2plate.plate.document import write_plate
    from img2plate.plate.plate import Plate

    cells = np.random.default_rng(1).integers(0, 24, (14, 12)).astype(np.int16)
    write_plate(tmp_path / "p.png", Plate(cells, find_palette("quay-24"), "p"))
    spec = read(tmp_path, GOOD + 'faces.front = {plate = "p.png"}')
    np.testing.assert_array_equal(spec.parts[0].cells["front"], cells)
    with pytest.raises(FigureError, match=r"12 x 14, the face 10 x 14"):
        read(tmp_path, GOOD + 'faces.left = {plate = "p.png"}')


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("[figure", ["TOML"]),
        ("[figure]\nname = 3", ["figure", "key name", "3"]),
        ("[figure]", ["key part", "missing"]),
        (GOOD + "hight = 4", ["part 1 (box)", "key hight", "not known"]),
        (GOOD.replace("colour", "color"), ["key color", "did you mean colour?"]),
        (GOOD.replace('"prt"', '"portred"'), ["key colour", "quay-24", "portred"]),
        (GOOD.replace("[12, 10, 14]", "[12, 10]"), ["key size", "3 whole numbers"]),
        (GOOD.replace("12, 10", "1, 10"), ["key size"]),
        (GOOD + 'lid = "hinge"', ["key lid", "lift, slide"]),
        (GOOD + 'faces.front = "none.png"', ["faces", "key front", "none.png"]),
        (GOOD + 'on = "table"', ["key on", "table"]),
        (GOOD + '[[part.opening]]\nface = "top"', ["opening 1", "key beads"]),
        (GOOD + '[[part.opening]]\nface = "top"\nobject = "2 groats"', ["key object", "2 groats"]),
        (GOOD + '[[join]]\nbetween = ["box.top", "lid.top"]', ["join 1", "key between"]),
        (GOOD + "[[part.shelf]]\nlevel = 4", ["shelf 1", "key colour"]),
        (GOOD.replace("[[part]]", "thickness = 9\n[[part]]"), ["key thickness", "9 mm"]),
        (GOOD.replace("[[part]]", 'measured = ["4"]\n[[part]]'), ["key measured", "'4'"]),
        (GOOD + "shift = [1, 1]", ["key shift", "`on`"]),
        (GOOD + "finger = 1", ["key finger", "2 beads"]),
        (GOOD.replace("[[part]]", "finger = 1\n[[part]]"), ["key finger", "2 beads"]),
        (GOOD.replace('"box"', '"bo\\nx"'), ["key name", "line break"]),
        (GOOD.replace("[[part]]", "bead = [6.0, 2.6, 5.0]\n[[part]]"), ["key bead", "wider"]),
        (GOOD.replace("[[part]]", "bead = [5.0, inf, 5.0]\n[[part]]"), ["key bead"]),
        (GOOD.replace("[[part]]", "thickness = nan\n[[part]]"), ["key thickness"]),
        (GOOD.replace("[[part]]", 'cautions = ["fire"]\n[[part]]'), ["key cautions", "lights"]),
    ],
)
def test_a_slip_names_file_key_and_reason(tmp_path: Path, text: str, words: list[str]) -> None:
    with pytest.raises(FigureError) as caught:
        read(tmp_path, text)
    said = str(caught.value)
    assert "f.toml" in said
    assert "\n" not in said or "TOML" in said
    for word in words:
        assert word in said, said


TOWER = (
    GOOD
    + """
[[part]]
name = "top"
size = [12, 10, 8]
on = "box"
colour = "prt"
"""
)
JOIN = '[[join]]\nbetween = ["box.top", "top.bottom"]\nat = [AT, 5]\nNAME'


@pytest.mark.parametrize(
    "names", [("", 'name = "join 1"'), ('name = "a"', 'name = "a"'), ('name = "join 2"', ""),
              ('name = "box"', "")],
)  # fmt: skip
def test_a_join_needs_a_name_of_its_own(tmp_path: Path, names: tuple[str, str]) -> None:
    joins = "".join(
        JOIN.replace("AT", at).replace("NAME", name + "\n")
        for at, name in zip(("4", "9"), names, strict=True)
    )
    with pytest.raises(FigureError, match=r"key name: .* is taken"):
        read(tmp_path, TOWER + joins)


def test_a_byte_order_mark_is_no_part_of_the_text(tmp_path: Path) -> None:
    (tmp_path / "f.toml").write_bytes(b"\xef\xbb\xbf" + GOOD.encode())
    assert read_figure(tmp_path / "f.toml").parts[0].name == "box"


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ('[[part.opening]]\nface = "front"\nbeads = [8, 3]', ["box front", "column", "one bead"]),
        ('[[part.opening]]\nface = "front"\nbeads = [2, 3]\n[[part.opening]]\nface = "front"\n'
         "beads = [3, 2]\nname = \"second\"", ["second", "another opening"]),
        ('[[part.opening]]\nface = "front"\nbeads = [40, 3]', ["reaches over"]),
        ('open = ["top"]\n[[part.opening]]\nface = "top"\nbeads = [1, 1]', ["no top plate"]),
        ('[[part.shelf]]\nlevel = 2\ncolour = "prt"', ["shelf at 2", "one bead"]),
    ],
)  # fmt: skip
def test_what_would_not_hold_names_plate_and_cell(
    tmp_path: Path, text: str, words: list[str]
) -> None:
    with pytest.raises(FigureError) as caught:
        build(read(tmp_path, GOOD + text))
    for word in words:
        assert word in str(caught.value)


def test_a_cross_of_openings_that_cuts_a_plate_is_refused(tmp_path: Path) -> None:
    """Four slots round the middle leave a piece that hangs on nothing."""
    ring = "".join(
        f'[[part.opening]]\nface = "front"\nat = [{x}, {y}]\nbeads = [{w}, {h}]\n'
        for x, y, w, h in ((5, 6, 4, 1), (5, 9, 4, 1), (4, 6, 1, 4), (9, 6, 1, 4))
    )
    with pytest.raises(FigureError, match="cut off"):
        build(read(tmp_path, GOOD.replace("12, 10", "14, 10") + ring))
