"""The follow-along page of a figure: all its plates, in plain data and in a real Chromium."""

from __future__ import annotations

import base64
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from figures_for_tests import figure, part

from img2plate.base.lengths import PAPERS
from img2plate.solid.box.build import Figure
from img2plate.solid.equal import equal_plates
from img2plate.solid.spec import JoinSpec
from img2plate.tally.runs import runs_text
from img2plate.typeset.figure.counts import count_figure
from img2plate.typeset.figure.follow import write_figure_follow
from img2plate.typeset.figure.laying import plan_figure
from img2plate.typeset.follow.shared import described
from img2plate.typeset.sheets.printing import Printing

BOARD = (10, 10)


@pytest.fixture(scope="module")
def made() -> Figure:
    """A hut on a larger one: equal plates, plates of several boards, plates of one."""
    low, high = part(12, 11, 6, name="low"), part(9, 7, 5, name="<b>high", at=(1, 2, 6), colour=2)
    join = JoinSpec("neck", ("low", "top"), ("<b>high", "bottom"), "strip", 3, colour=3)
    return figure(low, high, joins=(join,))


def write(path: Path, made: Figure, *, mirrored: bool = False) -> Path:
    plan = plan_figure(made, Printing(PAPERS["A4"], mirrored=mirrored), board=BOARD)
    write_figure_follow(path, made, count_figure(made), plan)
    return path


def test_each_bead_of_each_plate_is_on_the_page(made: Figure, tmp_path: Path) -> None:
    path = write(tmp_path / "follow.html", made)
    assert path.stat().st_size < 300_000
    assert "<b>high" not in path.read_text(encoding="utf-8")
    page = described(path.read_text(encoding="utf-8"))
    width, height = page["size"]
    raw = np.frombuffer(base64.b64decode(page["cells"]), dtype="<u2").reshape(height, width)
    codes = np.array(["", *(colour[1] for colour in page["colours"])])
    palette = np.array([*(bead.code for bead in made.spec.palette.beads), ""])
    groups = {number: group for group in equal_plates(made.pieces) for number in group}
    seen = np.zeros(len(made.pieces), dtype=int)
    for plate, piece in zip(page["plates"], made.pieces, strict=True):
        shown = raw[plate["top"] : plate["top"] + plate["height"], : plate["width"]]
        ways = [np.rot90(palette[piece.plate.cells], times) for times in range(4)]
        assert any(np.array_equal(codes[shown], way) for way in ways), plate["title"]
        assert plate["group"] == list(groups[int(plate["number"]) - 1])
        met = {joint[0]: int(joint[2]) - 1 for joint in plate["joints"]}
        number = int(plate["number"]) - 1
        for joint in made.joints:
            if number in joint.plates:
                assert met.pop(joint.letter) == sum(joint.plates) - number
        assert not met
    for _, x, y, wide, high, *_, number in page["tiles"]:
        seen[number] += np.count_nonzero(raw[y : y + high, x : x + wide])
    assert seen.tolist() == [piece.plate.bead_count for piece in made.pieces]
    names = [tile[0] for tile in page["tiles"]]
    assert len(set(names)) == len(names) > len(made.pieces)


def row(page: Any) -> str:
    return str(page.inner_text("#row-text")).split(":")[0]


def tick_all(page: Any) -> None:
    """Tick what is left of the board that is looked at."""
    while not page.inner_text("#tick").startswith("Row is"):
        page.click("#tick")


@pytest.mark.browser
def test_plates_are_chosen_ticked_and_kept(phone: Any, made: Figure, tmp_path: Path) -> None:
    groups = equal_plates(made.pieces)
    place = next(i for i, g in enumerate(groups) if len(g) > 1 and made.pieces[g[0]].group != "low")
    copies = groups[place]
    beads = made.pieces[copies[0]].plate.bead_count
    phone.goto(write(tmp_path / "follow.html", made).as_uri())
    entry = phone.locator("#plates button").nth(place)
    assert phone.locator("#plates button").count() == len(groups)
    assert f"make {len(copies)}, 4 mm" in entry.inner_text()
    entry.click()
    assert row(phone) == "Row 1"
    assert phone.inner_text("#tile-name").startswith(f"{copies[0] + 1} ")
    tick_all(phone)
    assert phone.inner_text("#far").startswith(f"{beads} of {count_figure(made).beads:,} beads")
    assert f"1 of {len(made.pieces)} plates placed" in phone.inner_text("#far")
    assert f"1 of {len(copies)} placed" in entry.inner_text()
    phone.click("#copies button:nth-child(2)")
    assert phone.inner_text("#tile-name").startswith(f"{copies[1] + 1} ")
    phone.click("#tick")
    phone.reload()
    assert phone.inner_text("#tile-name").startswith(f"{copies[1] + 1} ")
    assert "1 of" in entry.inner_text()
    tick_all(phone)
    assert "2 of" in phone.inner_text("#far").split(";")[1]

    # A plate of two boards and more: its boards are a map, as on the page of a plate.
    phone.locator("#plates button").first.click()
    assert phone.inner_text("#tile-name").endswith("board A1")
    assert phone.locator("#map button:visible").all_inner_texts()[1].startswith("B1")
    phone.click("#tick")
    phone.keyboard.press("n")
    assert phone.inner_text("#tile-name").startswith("2 ")
    phone.keyboard.press("p")
    phone.on("dialog", lambda dialog: dialog.accept())
    phone.click("#restart")
    assert phone.locator("#plates button").first.inner_text().endswith("0%")
    assert f"{2 * beads} of" in phone.inner_text("#far")
    phone.click("#clear")
    assert phone.inner_text("#far").startswith("0 of")
    phone.click("#undo")
    assert f"{2 * beads} of" in phone.inner_text("#far")

    boxes = phone.evaluate(
        "[...document.querySelectorAll('button, .button')].map(b => b.getBoundingClientRect())"
        ".filter(b => b.width).map(b => [b.width, b.height])"
    )
    assert min(min(box) for box in boxes) >= 44
    assert phone.evaluate("document.documentElement.scrollWidth") <= 390


@pytest.mark.browser
def test_mirrored_rows_are_those_of_the_plate(phone: Any, made: Figure, tmp_path: Path) -> None:
    phone.goto(write(tmp_path / "follow.html", made, mirrored=True).as_uri())
    place, (number, *_) = next(
        (i, g) for i, g in enumerate(equal_plates(made.pieces)) if made.pieces[g[0]].group != "low"
    )
    phone.locator("#plates button").nth(place).click()
    plate = made.pieces[number].plate
    for line in range(plate.size[1]):
        assert row(phone) == f"Row {line + 1}"
        assert phone.inner_text("#runs") == runs_text(plate.cells[line, ::-1], plate.palette)
        phone.click("#down")
    assert "Mirrored" in phone.inner_text("#way")
