"""The place of the beads in a real Chromium: colours off and on, a stock, files, undo."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from support import SAMPLES
from worktable import browsing, command, drop, go

pytestmark = pytest.mark.browser
MARKUP = "<img src=x onerror=alert(1)>"
LAMPS = f"code,name,hex\nred,{MARKUP},#B01E28\nwht,gull white,#F1F1F1\nnvy,night sea,#1C2A4A\n"


def test_colours_stock_and_palette_are_chosen_and_undone(
    chromium: Any, address: str, tmp_path: Path
) -> None:
    with browsing(chromium, address) as page:
        page.context.wrong = wrong = []
        drop(page, SAMPLES / "puffin.png")
        go(page, "beads")
        said = page.locator("#beads-said")
        tar = page.locator("#colours li", has_text="tar black")
        tar.get_by_text("109").wait_for()
        tar.get_by_role("button").press("Enter")
        page.wait_for_selector("#beads-said:has-text('47 of 48 colours, any number of beads.')")
        assert tar.get_by_role("button").get_attribute("aria-pressed") == "false"
        assert "off" in tar.inner_text()
        assert command(page) == "img2plate make puffin.png --without tar"
        gull = page.get_by_label("gul gull white: beads you own")
        gull.fill("a lot")
        gull.press("Enter")
        page.wait_for_selector("text=gul: 'a lot' is not a whole number of beads")
        gull.fill("30")
        gull.press("Enter")
        page.wait_for_selector("#beads-said:has-text('stock of 1 colour')")
        page.wait_for_selector("#to-buy li:has-text('gull white'):has-text('54 beads')")
        page.check("#keep-to")
        page.wait_for_selector("#beads-trouble:has-text('the colours that may be used have 30')")
        assert command(page) == "img2plate make puffin.png --without tar --stock stock.csv"
        page.click("#undo")
        page.wait_for_selector("#beads-said:has-text('colours are short by')")
        assert command(page) == "img2plate make puffin.png --without tar"
        page.click("#undo")
        page.wait_for_selector("#beads-said:has-text('any number')")
        page.click("#all-on")
        tar.get_by_text("109").wait_for()
        lamps = tmp_path / f"{MARKUP.replace('<', '').replace('>', '')}.csv"
        lamps.write_text(LAMPS)
        page.set_input_files("#add-palette", lamps)
        page.wait_for_selector("#beads-said:has-text('3 colours')")
        assert MARKUP in page.locator("#colours").inner_text()
        assert page.locator("#colours img, #shelf img").count() == 0
        broken = tmp_path / "broken.csv"
        broken.write_text("code,hex\nred,#12\n")
        page.set_input_files("#add-palette", broken)
        page.wait_for_selector("text=broken.csv, row 2, column hex")
        page.click("#undo")
        page.wait_for_selector("#beads-said:has-text('harbour-48, 48 colours')")
        assert said.inner_text() == "harbour-48, 48 colours, any number of beads."
        # The browser itself notes refusals on the console; nothing else may stand there.
        assert all("400 (Bad Request)" in words for words in wrong)
        wrong.clear()
