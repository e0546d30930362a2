"""Lettering on a plate that is there, and as a pack."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from command import run

from img2plate.base.errors import OptionError
from img2plate.colour.palette_file import find_palette
from img2plate.pipeline.letters import LettersOptions, lettered
from img2plate.pipeline.options import PackOptions
from img2plate.plate.document import read_plate, write_plate
from img2plate.plate.lettering.letter import set_letters
from img2plate.plate.plate import Plate

PALETTE = find_palette("quay-24")
DARK = int(np.asarray(PALETTE.lab)[:, 0].argmin())


def test_letters_lie_where_they_are_put_and_nowhere_else(tmp_path: Path) -> None:
    cells = np.full((12, 30), 3, np.int16)
    path = tmp_path / "plate.png"
    write_plate(path, Plate(cells, PALETTE, "sign"))
    letters = set_letters("7a", 5)
    high, wide = letters.shape
    found = lettered("7a", LettersOptions(height=5, on=path, at=(4, 6)), PackOptions())
    laid = cells.copy()
    laid[5 : 5 + high, 3 : 3 + wide][letters] = DARK
    assert (found.cells == laid).all()
    assert found.name == "sign-letters"
    with pytest.raises(OptionError, match="leaves no room"):
        lettered("7a", LettersOptions(height=5, on=path, at=(28, 6)), PackOptions())
    with pytest.raises(OptionError, match="is for `on`"):
        LettersOptions(at=(1, 1)).check()


def test_a_text_becomes_a_pack_in_one_piece(tmp_path: Path) -> None:
    code = find_palette("harbour-48").beads[1].code
    done = run("letters", "Pier 7", "--join", f"outline:{code}", "--out", tmp_path, "--json")
    assert done.returncode == 0, done.stderr
    assert '"pieces": 1' in done.stdout
    assert "pieces joined by an outline of" in done.stderr
    plate = read_plate(tmp_path / "pier-7" / "plate.png")
    assert plate.made["text"] == "Pier 7"
    wrong = run("letters", "Pier ☃", "--out", tmp_path)
    assert wrong.returncode == 2
    assert "U+2603, snowman" in wrong.stderr
