"""Names with markup, formulas, quotes, marks of direction: nothing runs, all stays in its box.

Formulas in CSV: OWASP, "CSV Injection".
"""

from __future__ import annotations

import csv
import re
import zipfile
from pathlib import Path
from typing import Any

import numpy as np
import pypdfium2
import pytest

from img2plate.colour.palette import Bead, Palette
from img2plate.pipeline.options import PackOptions
from img2plate.pipeline.pack import write_plate_pack
from img2plate.plate.plate import Plate

NAMES = (
    "</script><script>document.title='run'</script>",
    "<img src=x onerror=\"document.title='run'\">",
    "=cmd|' /C calc'!A0",
    "@SUM(1+1)*cmd",
    "-2+3+cmd",
    "\u202eevil\u202c \u2066reversed\u2069",
    "quote \" and ' and `",
    "{TITLE}/*PLATE*/",
    "a" * 10_000,
    "line\nbreak\r\nand\ttab",
    "%s %d {0} ${HOME} $(id)",
)


@pytest.fixture(scope="module")
def pack(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The pack of a small plate, all of whose names are such."""
    beads = tuple(
        Bead(f"c{i}" if i % 2 else f"={i}+1", name, (i * 20, 255 - i * 20, 90))
        for i, name in enumerate(NAMES)
    )
    palette = Palette(NAMES[0], beads, note=NAMES[1])
    cells = np.arange(132, dtype=np.int16).reshape(11, 12) % len(beads)
    plate = Plate(cells, palette, NAMES[0] + NAMES[5], {"source": NAMES[1]})
    out = tmp_path_factory.mktemp("hostile")
    return write_plate_pack(plate, PackOptions(out=out, runs=True), name="plate").folder


def test_no_cell_of_the_counts_is_a_formula(pack: Path) -> None:
    with (pack / "counts.csv").open(encoding="utf-8", newline="") as file:
        cells = [cell for row in csv.reader(file) for cell in row]
    assert any(cell.startswith("'=cmd") for cell in cells)
    assert not [c for c in cells if len(c) > 1 and c[0] in "=+-@\t\r"]
    with zipfile.ZipFile(pack / "counts.xlsx") as book:
        sheets = "".join(book.read(n).decode() for n in book.namelist() if "worksheets/" in n)
    formulas = re.findall(r"<f>(.*?)</f>", sheets)
    assert formulas
    assert not [f for f in formulas if "cmd" in f or "1+1" in f]


def test_sheets_are_drawn_and_text_stays_on_its_page(pack: Path) -> None:
    document = pypdfium2.PdfDocument(pack / "sheets.pdf")
    for page in document:
        width, height = page.get_size()
        text = page.get_textpage()
        boxes = np.array([text.get_charbox(i) for i in range(text.count_chars())])
        shown = boxes[(boxes[:, 2] > boxes[:, 0]) & (boxes[:, 3] > boxes[:, 1])]
        assert (shown[:, :2] >= 0).all()
        assert (shown[:, 2] <= width).all()
        assert (shown[:, 3] <= height).all()
    document.close()


@pytest.mark.browser
def test_nothing_runs_on_the_page_to_follow(phone: Any, pack: Path) -> None:
    phone.goto((pack / "follow.html").as_uri())
    phone.wait_for_function("document.body.innerText.length > 100")
    assert "run" not in phone.title().split()
    assert phone.evaluate("document.title") != "run"
    assert phone.locator("img[src='x']").count() == 0
    assert phone.evaluate("document.documentElement.scrollWidth") <= 390
