"""`img2plate fit` as people use it."""

from __future__ import annotations

import json
import re
from functools import partial
from pathlib import Path

import pypdfium2
import pytest
from command import one_line, run
from PIL import Image

from img2plate.base.files import USUAL_FILES

fit = partial(run, "fit")


def test_every_figure_has_its_unit_and_assumptions_are_listed() -> None:
    said = fit("--thickness", "3.5", "--beads", "4", "--opening", "28x1.8").stdout
    for number in re.findall(r"\d+\.\d+", said):
        assert re.search(rf"{re.escape(number)}( x [\d.]+)* ?(mm|%)|{re.escape(number)} x|"
                         rf"from {re.escape(number)}", said), number  # fmt: skip
    assert "from memory" in said
    assert "assumed" in said
    assert "no source" in said
    assert "6 x 1 empty cells" in said
    assert "play" in said


def test_json_plot_and_measurements(tmp_path: Path) -> None:
    done = fit("--json", "--plot", tmp_path / "fit.png", "--measured", "3.9:75.3:25.25:tight",
               "--thickness", "3.9", "--bead", "5x2.6x5")  # fmt: skip
    facts = json.loads(done.stdout)
    assert facts["verdict"] == "tight"
    assert facts["measured"]
    assert facts["tab_mm"][0] > facts["slot_mm"][0]
    with Image.open(tmp_path / "fit.png") as image:
        assert len(image.convert("RGB").getcolors(1 << 24)) > 50


def test_the_test_piece_comes_with_sheets_and_form(tmp_path: Path) -> None:
    assert fit("--test-piece", "--out", tmp_path).returncode == 0
    assert {p.name for p in (tmp_path / "test-piece").iterdir()} == USUAL_FILES | {"form.pdf"}
    document = pypdfium2.PdfDocument(tmp_path / "test-piece" / "form.pdf")
    text = document[0].get_textpage().get_text_bounded()
    document.close()
    assert "--measured" in text
    assert "15 beads" in text
    assert "Follow local rules" in text


@pytest.mark.parametrize(
    ("arguments", "word"),
    [
        (["--thickness", "9"], "--thickness"),
        (["--bead", "5x6x5"], "--bead"),
        (["--pitch", "9", "--bead", "5x2.6x5"], "--bead"),
        (["--opening", "28"], "--opening"),
        (["--opening", "9000x2"], "--opening"),
        (["--coin", "2 groats"], "coin"),
        (["--coin", "2 euro", "--opening", "2x2"], "only one of --opening and --coin"),
    ],
)
def test_wrong_input_is_one_line(arguments: list[str], word: str) -> None:
    one_line(fit(*arguments), 2, word)


def test_coins_are_listed_with_their_source() -> None:
    said = fit("--coins").stdout
    assert "EU 2 euro" in said
    assert "25.75 mm across, 2.20 mm thick" in said
    assert all("(" in line for line in said.splitlines())
