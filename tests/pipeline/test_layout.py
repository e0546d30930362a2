"""Several plates become one pack, bead for bead."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from command import run

from img2plate.base.errors import OptionError
from img2plate.colour.palette import Bead, Palette
from img2plate.colour.palette_file import find_palette
from img2plate.pipeline.layout import LayoutOptions
from img2plate.pipeline.layout import run as lay
from img2plate.pipeline.options import PackOptions
from img2plate.plate.document import read_plate, write_plate
from img2plate.plate.plate import Plate

PALETTE, OTHER = find_palette("quay-24"), find_palette("harbour-48")


def test_nine_small_plates_take_three_boards(tmp_path: Path) -> None:
    paths = []
    for number in range(9):
        cells = np.full((16, 16), -1, np.int16)
        cells[1:15, 1:15] = number  # the empty side is cut off
        paths.append(tmp_path / f"{number}.png")
        write_plate(paths[-1], Plate(cells, PALETTE if number else OTHER, f"small-{number}"))
    done = run("layout", *paths, "--out", tmp_path, "--json")
    assert done.returncode == 0, done.stderr
    told = json.loads(done.stdout)
    assert (told["sets"], told["least_sets"]) == (3, 3)
    assert told["beads"] == 9 * 14 * 14
    assert told["strength"]["loose"] == []
    assert "9 plates on 3 boards of 29x29 pegs (fewer cannot do)" in done.stderr
    assert "from board A1: small-0, small-1, small-2, small-3" in done.stderr
    plate = read_plate(tmp_path / "layout" / "plate.png")
    assert plate.size == (58, 58)
    for number, each in enumerate(told["layout"]):
        row, column = divmod(each["set"] - 1, 2)
        top, left = row * 29 + each["row"] - 1, column * 29 + each["column"] - 1
        code = (PALETTE if number else OTHER).beads[number].code
        part = plate.cells[top : top + 14, left : left + 14]
        assert {plate.palette.beads[bead].code for bead in np.unique(part)} == {code}


def test_plates_that_do_not_go_together_are_refused(tmp_path: Path) -> None:
    first = PALETTE.beads[0]
    strange = Palette("mine", (Bead(first.code, "other", (1, 2, 3), "solid"),), PALETTE.pitch_mm)
    for name, palette in (("a", PALETTE), ("b", strange), ("c", PALETTE.with_pitch(2.6))):
        write_plate(tmp_path / f"{name}.png", Plate(np.zeros((2, 2), np.int16), palette, name))
    for other, told in (("b", "is another colour"), ("c", "5 and 2.6 mm do not go")):
        with pytest.raises(OptionError, match=told):
            lay([tmp_path / "a.png", tmp_path / f"{other}.png"], LayoutOptions(), PackOptions())
