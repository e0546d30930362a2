"""Colours of a plate on the worktable: rare ones merged, other ones, few of them."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np
import pytest
from support import SAMPLES
from worktable import browsing, drop, go, until

from img2plate.colour.difference import delta_E_CIE2000
from img2plate.colour.palette_file import find_palette
from img2plate.pipeline.draft import draft_plate
from img2plate.plate.document import read_plate
from img2plate.plate.limits.rare import merge_rare
from img2plate.plate.plate import Plate
from img2plate.plate.recolour import recolour
from img2plate.ui.worktable.table import Table
from img2plate.ui.worktable.web.colours import fewer, merging, take_merged, take_way, ways
from img2plate.ui.worktable.web.hand import plate_in_hand
from img2plate.ui.worktable.wishes.of_the_pack import plate_key
from img2plate.ui.worktable.wishes.settings import read_settings
from img2plate.ui.worktable.work.kept import PLATE

PUFFIN = SAMPLES / "puffin.png"


def speckled() -> Plate:
    """Many cells of a few colours, few of many, and none."""
    palette = find_palette("quay-24")
    chance = np.random.default_rng(18)
    cells = chance.choice(len(palette), (20, 30), p=np.arange(1, 25)[::-1] / 300) - 1
    return Plate(cells.astype(np.int16), palette)


@pytest.mark.parametrize("number", [1, 5, 20, 40])
def test_only_rare_colours_go_each_into_the_nearest_that_stays(number: int) -> None:
    plate = speckled()
    before = plate.counts()
    merged = merge_rare(plate, number)
    after, changed = merged.plate.counts(), merged.plate.cells != plate.cells
    assert set(merged.changed) == {i for i in range(24) if 0 < before[i] < number}
    assert changed.sum() == sum(before[old] for old in merged.changed)
    assert after.sum() == before.sum()
    assert not after[(before < number)].any()
    assert (changed == np.isin(plate.cells, list(merged.changed))).all()
    lab = plate.palette.lab.astype(float)
    stay = np.flatnonzero(before >= number)
    for old, new in merged.changed.items():
        off = delta_E_CIE2000(lab[[old]], lab[stay])
        assert delta_E_CIE2000(lab[[old]], lab[[new]])[0] == off.min()


def test_the_most_used_colour_stays_whatever_is_rare() -> None:
    plate = speckled()
    merged = merge_rare(plate, 10_000)
    assert np.flatnonzero(merged.plate.counts()).tolist() == [plate.counts().argmax()]
    assert ((merged.plate.cells < 0) == (plate.cells < 0)).all()


@pytest.fixture(scope="module")
def table(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Table, str]]:
    """A table with a puffin on it."""
    table = Table(tmp_path_factory.mktemp("table"), lambda *_: None, warm=False)
    project = table.begin("puffin.png")
    table.projects.source(project).write_bytes(PUFFIN.read_bytes())
    table.take_in(project)
    yield table, project.id
    table.end()


def version(table: Table, project: str) -> int:
    return table.projects.load(project).version


def test_merging_and_colourways_are_strokes_that_can_be_undone(table: tuple[Table, str]) -> None:
    """A colourway has the cells that `recolour` gives the plate document."""
    here, project = table
    first = until(lambda: plate_in_hand(here, project))
    told = merging(here, project, 30)
    merged = merge_rare(first, 30)
    assert told["colours"] == np.count_nonzero(merged.plate.counts())
    assert (
        sum(each["beads"] for each in told["changed"]) == (merged.plate.cells != first.cells).sum()
    )
    take_merged(here, project, version(here, project), 30)
    plate = until(lambda: plate_in_hand(here, project))
    assert (plate.cells == merged.plate.cells).all()

    about = until(lambda: ways(here, project).get("about"))
    key = plate_key(here.projects.load(project).settings)
    document = read_plate(here.projects.plate(project, key) / PLATE)
    want = {document.palette.beads[way.target].code: way.plate.cells
            for way in recolour(document, range(len(document.palette)))}  # fmt: skip
    code = about[3]["code"]
    take_way(here, project, version(here, project), code)
    assert (until(lambda: plate_in_hand(here, project)).cells == want[code]).all()
    for _ in range(2):
        here.step(project, version(here, project), -1)
    assert (until(lambda: plate_in_hand(here, project)).cells == first.cells).all()


def test_the_look_error_of_few_colours_is_that_of_the_pipeline(table: tuple[Table, str]) -> None:
    here, project = table
    until(lambda: plate_in_hand(here, project))
    found = until(
        lambda: (
            (few := fewer(here, project, {4, 0})["few"])
            and all(each["state"] == "done" for each in few)
            and few
        )
    )
    assert [each["most"] for each in found] == [4, 0]
    draft = draft_plate(PUFFIN, read_settings({"shading": "none", "colours": "4"}))
    assert found[0]["about"]["colours"] == np.count_nonzero(draft.plate.counts()) <= 4
    assert found[0]["about"]["look_error"] == round(draft.looks().error, 2)
    assert found[0]["about"]["look_error"] > found[1]["about"]["look_error"]


@pytest.mark.browser
def test_colours_are_merged_few_and_others_on_the_page(chromium: Any, address: str) -> None:
    with browsing(chromium, address) as page:
        drop(page, PUFFIN)
        go(page, "colours")
        page.focus("#rare-fewer")
        page.keyboard.press("PageUp")
        for _ in range(15):
            page.keyboard.press("ArrowRight")
        page.wait_for_selector("#rare-list li:has-text('beads of')")
        colours = int(str(page.text_content("#colours-said")).split()[0])
        gone = page.locator("#rare-list li").count()
        page.click("#rare-do")
        page.wait_for_selector(f"#colours-said:has-text('{colours - gone} colours')")
        page.click("#colourways button >> nth=2")
        page.wait_for_function("document.querySelector('#undo').disabled === false")
        page.wait_for_selector("#few button:has-text('look error') >> nth=0")
        page.click("#few button:has-text('look error') >> nth=0")
        page.wait_for_selector("#few button[aria-pressed=true][title*='most 6 ']")
        go(page, "plate")
        page.wait_for_selector("#command:has-text('--colours 6')")
