"""The follow-along page in a real Chromium."""

from __future__ import annotations

import json
from importlib.resources import files
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from support import make_palette, make_plate

from img2plate.plate.plate import Plate
from img2plate.split.rounds import plan_rounds
from img2plate.split.tiles import split
from img2plate.tally.counts import count
from img2plate.tally.runs import runs_text
from img2plate.typeset.follow import write_follow_page


def write(path: Path, plate: Plate, owned: int = 0, *, mirrored: bool = False) -> Path:
    cut = split(plate, (29, 29))
    rounds = plan_rounds(plate, cut, owned) if owned else ()
    write_follow_page(path, plate, cut, count(plate, cut), mirrored=mirrored, rounds=rounds)
    return path


def progress(page: Any) -> str:
    return str(page.inner_text("#far"))


@pytest.mark.browser
def test_tick_reload_still_ticked(phone: Any, tmp_path: Path) -> None:
    plate = make_plate(58, 40)
    page_file = write(tmp_path / "follow.html", plate)
    phone.goto(page_file.as_uri())
    first_row = int((plate.cells[0, :29] >= 0).sum())
    assert progress(phone).startswith(f"0 of {plate.bead_count:,} beads")
    phone.click("#tick")
    assert progress(phone).startswith(f"{first_row} of")
    phone.click("#map button:nth-child(2)")
    assert phone.inner_text("#tile-name") == "B1"
    phone.click("#tick")
    both = first_row + int((plate.cells[0, 29:] >= 0).sum())
    phone.reload()
    assert progress(phone).startswith(f"{both} of")
    assert phone.inner_text("#tile-name") == "B1"
    assert "Row 2" in phone.inner_text("#row-text")


@pytest.mark.browser
def test_a_lit_colour_counts_and_ticks_only_its_beads(phone: Any, tmp_path: Path) -> None:
    plate = make_plate(29, 29, colours=5)
    phone.goto(write(tmp_path / "follow.html", plate).as_uri())
    counts = np.bincount(plate.cells[plate.cells >= 0], minlength=5)
    colour = int(counts.argmax())
    phone.click("#colours button:nth-child(2)")
    assert phone.get_attribute("#colours button:nth-child(2)", "aria-pressed") == "true"
    row = int(np.flatnonzero((plate.cells == colour).any(axis=1))[0])
    beads = int((plate.cells[row] == colour).sum())
    assert f"Row {row + 1}: {beads} bead" in phone.inner_text("#row-text")
    phone.click("#tick")
    assert progress(phone).startswith(f"{beads} of")
    assert f"{counts[colour] - beads} left" in phone.inner_text("#colours button:nth-child(2)")


@pytest.mark.browser
def test_lighting_a_colour_dims_the_others_on_the_board(phone: Any, tmp_path: Path) -> None:
    """Pixels of the canvas: the lit bead keeps its colour, another one fades to the ground."""
    palette = make_palette(2)
    cells = np.array([[0, 1], [0, 1], [0, 0]], np.int16)
    phone.goto(write(tmp_path / "follow.html", Plate(cells, palette)).as_uri())
    assert phone.evaluate(PROBE, [2, 1, 2])[:3] == list(palette.beads[0].srgb)
    phone.click("#colours button:nth-child(3)")  # the second colour
    assert phone.evaluate(PROBE, [2, 1, 2])[3] < 60
    assert phone.evaluate(PROBE, [0, 1, 2])[:3] == list(palette.beads[1].srgb)


@pytest.mark.browser
def test_the_keyboard_does_it_all(phone: Any, tmp_path: Path) -> None:
    plate = make_plate(10, 10, colours=3)
    plate.cells[:] = np.arange(10)[:, None] % 3
    phone.goto(write(tmp_path / "follow.html", plate).as_uri())
    phone.focus("#board")
    phone.keyboard.press("Space")
    assert progress(phone).startswith("10 of 100")
    phone.keyboard.press("ArrowRight")
    assert phone.get_attribute("#colours button:nth-child(2)", "aria-pressed") == "true"
    phone.keyboard.press("Escape")
    assert phone.get_attribute("#colours button:nth-child(1)", "aria-pressed") == "true"
    phone.keyboard.press("ArrowUp")
    phone.keyboard.press("ArrowUp")
    phone.keyboard.press("ArrowUp")
    assert "Row 1:" in phone.inner_text("#row-text")
    phone.keyboard.press("Space")
    assert progress(phone).startswith("0 of 100")


PROBE = """([row, column, wide]) => {
    const canvas = document.getElementById("board"), cell = canvas.width / (wide + 2);
    const x = (column + 1.5) * cell - cell * 0.36, y = (row + 1.5) * cell;
    return [...canvas.getContext("2d").getImageData(x, y, 1, 1).data];
}"""


@pytest.mark.browser
def test_a_mirrored_page_shows_what_the_board_shows(phone: Any, tmp_path: Path) -> None:
    """The first column is drawn at the right, runs are read from the left as they lie."""
    palette = make_palette(3)
    cells = np.full((4, 5), 2, np.int16)
    cells[:, 0] = 0
    cells[:, 1] = -1
    plate = Plate(cells, palette)
    for mirrored, column in ((False, 0), (True, 4)):
        phone.goto(write(tmp_path / "follow.html", plate, mirrored=mirrored).as_uri())
        seen = phone.evaluate(PROBE, [1, column, 5])[:3]
        assert np.abs(np.array(seen) - palette.beads[0].srgb).max() < 12
        shown = cells[0, ::-1] if mirrored else cells[0]
        assert phone.inner_text("#runs") == runs_text(shown, palette)
        assert ("Mirrored" in phone.inner_text("#way")) == mirrored
        box = phone.locator("#board").bounding_box()
        phone.mouse.click(
            box["x"] + box["width"] * (column + 1.5) / 7, box["y"] + box["height"] / 2
        )
        lit = phone.get_attribute("#colours button[data-colour='2']", "aria-pressed")
        assert lit == "true"
        phone.evaluate("localStorage.clear()")


@pytest.mark.browser
def test_rounds_and_boards_without_beads(phone: Any, tmp_path: Path) -> None:
    plate = make_plate(87, 29)
    plate.cells[:, 29:58] = -1
    phone.goto(write(tmp_path / "follow.html", plate, owned=1).as_uri())
    assert "round 1" in phone.inner_text("#tile-far")
    assert phone.is_disabled("#map button:nth-child(2)")
    phone.click("#map button:nth-child(3)")
    assert "round 2" in phone.inner_text("#tile-far")


@pytest.mark.browser
def test_each_board_keeps_its_own_ticks(phone: Any, tmp_path: Path) -> None:
    """A tick writes the tile it is on, and forgetting a board leaves the other alone."""
    plate = make_plate(58, 29)
    phone.goto(write(tmp_path / "follow.html", plate).as_uri())
    phone.click("#tick")
    phone.click("#map button:nth-child(2)")
    phone.click("#tick")
    keys = phone.evaluate("Object.keys(localStorage).map(k => k.split(':').pop()).sort()")
    assert {"A1", "B1"} < set(keys)
    phone.on("dialog", lambda dialog: dialog.accept())
    phone.click("#restart")
    left = int((plate.cells[0, :29] >= 0).sum())
    assert progress(phone).startswith(f"{left} of")
    phone.reload()
    assert progress(phone).startswith(f"{left} of")


@pytest.mark.browser
def test_progress_goes_to_a_file_and_comes_back(phone: Any, tmp_path: Path) -> None:
    from playwright.sync_api import expect

    page_file = write(tmp_path / "follow.html", make_plate(20, 20))
    phone.goto(page_file.as_uri())
    phone.click("#tick")
    before = progress(phone)
    with phone.expect_download() as download:
        phone.click("#save")
    download.value.save_as(tmp_path / "p.json")
    assert json.loads((tmp_path / "p.json").read_text())["done"]["A1"]
    phone.evaluate("localStorage.clear()")
    phone.reload()
    assert progress(phone).startswith("0 of")
    phone.set_input_files("#load", tmp_path / "p.json")
    said = phone.locator("#said")  # waited for from outside: the page's policy forbids eval
    expect(said).to_have_text("Progress loaded.")
    assert progress(phone) == before
    (tmp_path / "other.json").write_text('{"plate": "x", "done": {}}')
    phone.set_input_files("#load", tmp_path / "other.json")
    expect(said).to_contain_text("another plate")
    assert progress(phone) == before


@pytest.mark.browser
def test_undo_and_clear(phone: Any, tmp_path: Path) -> None:
    """What was ticked last goes back, and so does what was cleared; nothing else does."""
    phone.goto(write(tmp_path / "follow.html", make_plate(58, 29)).as_uri())
    assert phone.is_disabled("#undo")
    seen = [progress(phone)]
    for _ in range(2):
        phone.click("#tick")
        seen.append(progress(phone))
    phone.click("#undo")
    assert progress(phone) == seen[1]
    assert "Row 2" in phone.inner_text("#row-text")
    phone.click("#map button:nth-child(2)")
    phone.click("#tick")
    both = progress(phone)
    phone.on("dialog", lambda dialog: dialog.accept())
    phone.click("#clear")
    assert progress(phone) == seen[0]
    phone.click("#undo")
    assert progress(phone) == both
    phone.click("#undo")
    phone.reload()
    assert progress(phone) == seen[1]


@pytest.mark.browser
def test_the_row_can_be_read_at_arms_length(phone: Any, tmp_path: Path) -> None:
    """Beads of 30 px and more, none cut off; a tap on one lights its colour; captions are short."""
    plate = make_plate(58, 40)
    phone.goto(write(tmp_path / "follow.html", plate).as_uri())
    each, cell, left, wide = phone.evaluate(
        "[rowLines.each, rowLines.cell, rowLines.left, $('row').width].map((n, i) => i ? n /"
        " devicePixelRatio : n)"
    )
    assert cell >= 30
    assert left + each * cell <= wide + 1
    line, place = divmod(12, each)
    phone.click("#row", position={"x": left + (place + 0.5) * cell, "y": (line + 0.5) * cell})
    bead = plate.palette.beads[plate.cells[0, 12]].name if plate.cells[0, 12] >= 0 else "all"
    assert bead in phone.inner_text("#colours button[aria-pressed='true']")
    for caption in ("#far", "#tile-far"):
        assert phone.locator(caption).bounding_box()["height"] < 2 * 26
    phone.locator("#whole").click(position={"x": 5, "y": 90})
    assert phone.inner_text("#tile-name") == "A2"


@pytest.mark.browser
def test_targets_are_large_enough_and_nothing_sticks_out(phone: Any, tmp_path: Path) -> None:
    phone.goto(write(tmp_path / "follow.html", make_plate(90, 60)).as_uri())
    for box in phone.evaluate(
        "[...document.querySelectorAll('button:not([hidden]), .button')].map(b => "
        "[b.getBoundingClientRect().width, b.getBoundingClientRect().height])"
    ):
        assert min(box) >= 44
    assert phone.evaluate("document.documentElement.scrollWidth") <= 390


def test_one_file_under_a_megabyte_and_a_half(tmp_path: Path) -> None:
    page = write(tmp_path / "follow.html", make_plate(116, 116, colours=96))
    assert page.stat().st_size < 1_500_000
    text = page.read_text(encoding="utf-8")
    assert "http://" not in text.replace("http://www.w3.org", "")
    assert "https://" not in text


def test_the_typeface_comes_with_its_notice(tmp_path: Path) -> None:
    """The Open Font License 1.1 asks for it (condition 2); the line is that of its own package."""
    licence = files("fontpkg_atkinson_hyperlegible") / "LICENSE"
    line = licence.read_text(encoding="utf-8").splitlines()[0]
    assert line.startswith("Copyright")
    text = write(tmp_path / "follow.html", make_plate(3, 3)).read_text(encoding="utf-8")
    notice = text[: text.index("@font-face")]
    assert line in notice
    assert "SIL Open Font License" in notice


def test_a_name_cannot_break_the_page(tmp_path: Path) -> None:
    plate = make_plate(3, 3)
    plate = Plate(plate.cells, plate.palette, "</script><b>/*SCRIPT*/{TITLE}")
    text = write(tmp_path / "follow.html", plate).read_text(encoding="utf-8")
    assert text.count("</script>") == 2
    assert "<b>" not in text
