"""The place "Picture" in a real Chromium: the part, the size and the ground as handles."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from PIL import Image, ImageDraw
from worktable import browsing, command, drop, go

pytestmark = pytest.mark.browser
CORNER = ".handle.crop[data-side='-1 -1']"


@pytest.fixture
def lamp(tmp_path: Path) -> Path:
    """A lighthouse drawn on paper, 300 x 400 px."""
    picture = Image.new("RGB", (300, 400), "#f4efe2")
    draw = ImageDraw.Draw(picture)
    draw.polygon([(110, 380), (190, 380), (170, 120), (130, 120)], fill="#b5452e")
    draw.ellipse([115, 50, 185, 120], fill="#e8c15a", outline="#1d2b33", width=8)
    picture.save(tmp_path / "lamp.png")
    return tmp_path / "lamp.png"


def take(page: Any, handle: str) -> tuple[float, float]:
    """Take a handle with the mouse; returns where it is."""
    page.locator(handle).scroll_into_view_if_needed()
    box = page.locator(handle).bounding_box()
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    return x, y


def said(page: Any, words: str) -> None:
    """Wait until the command line has words."""
    page.wait_for_function(
        "words => document.getElementById('command').textContent.includes(words)", arg=words
    )


def test_part_and_size_are_handles_on_the_picture(chromium: Any, address: str, lamp: Path) -> None:
    with browsing(chromium, address, viewport={"width": 1280, "height": 900}) as page:
        drop(page, lamp)
        go(page, "picture")
        page.wait_for_selector("#picture-takes:has-text('44 x 58 beads on 2 x 2 boards')")

        # A corner by hand: what it takes stands beside it while it moves, and is no setting yet.
        sheet = page.locator("#sheet").bounding_box()
        x, y = take(page, CORNER)
        page.mouse.move(x + sheet["width"] / 3, y + sheet["height"] / 4, steps=3)
        page.wait_for_selector("#takes-beside:has-text('39 x 58 beads on 2 x 2 boards')")
        assert command(page) == "img2plate make lamp.png"
        page.mouse.up()
        said(page, "--crop 100,100,200,300")
        assert page.is_hidden("#takes-beside")
        page.wait_for_selector("#making", state="hidden")
        page.wait_for_selector("#numbers li:has-text('39 x 58')", state="attached")

        # Given up, it was nothing; by keys it goes by pixels, and is one step to undo.
        x, y = take(page, CORNER)
        page.mouse.move(x + 40, y + 40, steps=2)
        page.keyboard.press("Escape")
        page.mouse.up()
        page.focus(CORNER)
        for key in ("ArrowRight", "ArrowRight", "Shift+ArrowDown", "Enter"):
            page.keyboard.press(key)
        said(page, "--crop 102,110,198,290")

        # The plate larger: the next size in whole boards, with its seams on the picture.
        x, y = take(page, ".sizer")
        page.mouse.move(x, y + 32, steps=3)
        page.wait_for_selector("#takes-beside:has-text('58 x 85 beads on 2 x 3 boards')")
        seams = page.get_attribute("path.seams", "d")
        assert seams.count("V") == 1
        assert seams.count("H") == 2
        page.mouse.up()
        said(page, "--boards 2x3")
        assert page.get_attribute(".sizer", "aria-valuetext") == "2 x 3 boards, 58 by 85 beads"

        # Two changes at once: the later one builds on the one that is not answered yet.
        page.evaluate("""() => {
          document.querySelector("#ground input[value=clear]").click();
          document.getElementById("crop-whole").click();
        }""")
        said(page, "lamp.png --background clear --boards 2x3")
        page.wait_for_selector("canvas.pegs:visible")  # the pegs that stay empty now
        page.click("#undo")
        said(page, "--crop 102,110,198,290 --background clear --boards 2x3")
        for _ in range(4):
            page.click("#undo")
        page.wait_for_selector("#undo:disabled")
        assert command(page) == "img2plate make lamp.png"
        assert page.is_disabled("#crop-whole")
