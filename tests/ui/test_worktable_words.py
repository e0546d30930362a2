"""On the worktable: words laid on a plate, and the plate in another palette."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from support import SAMPLES
from worktable import browsing, drop, go, until

from img2plate.base.errors import OptionError
from img2plate.colour.palette_file import find_palette
from img2plate.pipeline.letters import LettersOptions, lettered
from img2plate.pipeline.options import PackOptions
from img2plate.pipeline.rebuild import RebuildOptions, rebuilt_plate
from img2plate.plate.document import read_plate, write_plate
from img2plate.plate.plate import Plate
from img2plate.ui.worktable.table import Table
from img2plate.ui.worktable.web.hand import plate_in_hand
from img2plate.ui.worktable.web.letters import letters_on
from img2plate.ui.worktable.web.rebuild import offered, rebuilt, take_rebuilt
from img2plate.ui.worktable.wishes.of_the_pack import plate_key
from img2plate.ui.worktable.wishes.touched import Touched
from img2plate.ui.worktable.work.kept import PLATE

PALETTE = find_palette("quay-24")
PUFFIN = SAMPLES / "puffin.png"


@given(height=st.sampled_from([5, 7, 9]), place=st.tuples(st.integers(0, 9), st.integers(0, 9)))
def test_words_lie_where_the_command_lays_them(
    tmp_path_factory: pytest.TempPathFactory, height: int, place: tuple[int, int]
) -> None:
    cells = (np.arange(40 * 90).reshape(40, 90) // 7 % 24).astype(np.int16)
    plate = Plate(cells, PALETTE)
    found = letters_on(plate, {"text": "Kö 7€", "height": str(height)})
    (wide, high), (column, row) = found["size"], place
    lies = Touched.nothing((wide, high)).with_stroke({"": found["cells"]}).cells > 0
    mine = cells.copy()
    part = mine[row : row + high, column : column + wide]
    part[lies.reshape(high, wide)] = 3
    document = tmp_path_factory.mktemp("plate") / "plate.png"
    write_plate(document, plate)
    wishes = LettersOptions(height, PALETTE.beads[3].code, on=document, at=(column + 1, row + 1))
    assert (lettered("Kö 7€", wishes, PackOptions()).cells == mine).all()


def test_words_in_the_middle_and_words_that_cannot_be(tmp_path: Path) -> None:
    plate = Plate(np.zeros((12, 60), np.int16), PALETTE)
    write_plate(tmp_path / "plate.png", plate)
    found = letters_on(plate, {"text": "PIER 7", "height": 7})
    column, row = found["at"]
    want = lettered("PIER 7", LettersOptions(7, PALETTE.beads[5].code, on=tmp_path / "plate.png"),
                    PackOptions()).cells  # fmt: skip
    rows, columns = np.nonzero(want == 5)
    assert [columns.min(), rows.min()] == [column, row]
    with pytest.raises(OptionError, match="leaves no room: the letters take"):
        letters_on(plate, {"text": "PIER 7 AND THE OLD MOLE", "height": 7})
    with pytest.raises(OptionError, match="☃"):
        letters_on(plate, {"text": "a ☃", "height": 7})
    with pytest.raises(OptionError, match="height"):
        letters_on(plate, {"text": "a", "height": "high"})


@pytest.fixture(scope="module")
def table(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Table, str]]:
    """A table with a puffin on it, swapped and with rare colours merged."""
    table = Table(tmp_path_factory.mktemp("table"), lambda *_: None, warm=False)
    project = table.begin("puffin.png")
    table.projects.source(project).write_bytes(PUFFIN.read_bytes())
    table.take_in(project)
    version = table.projects.load(project.id).version
    table.choose(project.id, version, {"merge_rare": "6", "width": "40"})
    yield table, project.id
    table.end()


def done(found: Any) -> Any:
    """What is found, once it is done."""
    return found if found["state"] == "done" else None


@pytest.mark.parametrize("apart", [False, True])
def test_a_plate_in_another_palette_is_that_of_the_command(
    table: tuple[Table, str], apart: bool
) -> None:
    here, project = table
    in_hand = lambda: plate_in_hand(here, project)  # noqa: E731
    first = until(in_hand)
    key = plate_key(here.projects.load(project).settings)
    document = read_plate(here.projects.plate(project, key) / PLATE)
    other = "sea-96" if offered(here, project)["now"] != "sea-96" else "quay-24"
    about = until(lambda: done(rebuilt(here, project, other, False, apart)))["about"]
    version = here.projects.load(project).version
    take_rebuilt(here, project, version, other, False, apart)
    got = until(in_hand)
    want = rebuilt_plate(document, find_palette(other), RebuildOptions(other, None, apart), 5.0)
    assert (got.cells == want.plate.cells).all()
    assert got.palette.name == want.plate.palette.name
    assert about["colours"] == np.count_nonzero(got.counts())
    assert sum(each["beads"] for each in about["changed"]) == first.bead_count
    here.step(project, here.projects.load(project).version, -1)
    assert (until(in_hand).cells == first.cells).all()


def test_the_palette_in_hand_gives_nothing_to_take(table: tuple[Table, str]) -> None:
    here, project = table
    until(lambda: plate_in_hand(here, project))
    now = offered(here, project)["now"]
    assert rebuilt(here, project, now, False, False)["state"] == "none"
    with pytest.raises(OptionError):
        rebuilt(here, project, "../secret.csv", False, False)


@pytest.mark.browser
def test_words_and_another_palette_on_the_page(chromium: Any, address: str) -> None:
    """Words are written, moved by hand and by numbers, laid; then the plate in other beads."""
    with browsing(chromium, address) as page:
        drop(page, PUFFIN)
        go(page, "hand")
        page.wait_for_selector("#hand-colours button")
        page.check("input[name=hand-way] >> nth=6")
        page.fill("#words-text", "ab☃")
        page.wait_for_selector("#words-said:has-text('☃')")
        page.fill("#words-text", "Ho")
        page.select_option("#words-height", "5")
        page.wait_for_selector("#words-keep:enabled")
        page.fill("#words-column", "3")
        page.fill("#words-row", "2")
        before = page.input_value("#words-row")
        page.focus("#hand-canvas")
        page.keyboard.press("Enter")  # the words come to the hand of the keys
        assert (before, page.input_value("#words-row")) == ("2", "1")
        page.click("#words-keep")
        page.wait_for_selector("#hand-clean:visible")
        page.wait_for_selector("body[data-pending='0']")
        go(page, "colours")
        page.select_option("#rebuild-palette", "quay-24")
        page.wait_for_selector("#rebuild-list li >> nth=0")
        page.click("#rebuild-do")
        now = "#rebuild-palette option:has-text('quay-24 (as it is)')"
        page.wait_for_selector(now, state="attached")
        go(page, "plate")
        page.wait_for_selector("#command:has-text('--palette quay-24')")
