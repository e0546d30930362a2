"""The places "Boards" and "Sheets" in a real Chromium: seams moved, sheets printed and followed."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pypdfium2
import pytest
from reader import find_ruler, page_words, render
from support import SAMPLES
from worktable import browsing, command, drop, go

pytestmark = pytest.mark.browser
DPI = 300
PUFFIN = SAMPLES / "puffin.png"


@pytest.fixture(scope="module")
def project(chromium: Any, address: str) -> str:
    """The page of a project, 25 x 31 beads on 1 x 2 boards."""
    with browsing(chromium, address) as page:
        drop(page, PUFFIN)
        return str(page.url.split("#")[0])


@pytest.fixture
def page(chromium: Any, address: str, project: str) -> Iterator[Any]:
    how = {"bypass_csp": False, "viewport": {"width": 1280, "height": 900}}
    with browsing(chromium, address, **how) as page:
        page.goto(project)
        yield page


def moved(page: Any, row: int) -> None:
    """Wait for the seam to be in the command, and on the plate."""
    page.wait_for_selector(f"#command:has-text('--seams /{row}')", state="attached")
    page.wait_for_selector(f"#seam-1-0[aria-valuenow='{row}']")


def test_a_seam_is_dragged_and_moved_by_keys(page: Any) -> None:
    go(page, "boards")
    bar = page.locator("#seam-1-0")
    bar.wait_for()
    assert bar.get_attribute("aria-valuenow") == "29"
    assert (bar.get_attribute("aria-valuemin"), bar.get_attribute("aria-valuemax")) == ("2", "29")
    box, plate = bar.bounding_box(), page.locator("#board-map").bounding_box()
    x, y, peg = box["x"] + 90, box["y"] + box["height"] / 2, plate["height"] / 31
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x, y - 6.2 * peg, steps=3)
    assert page.inner_text("#seam-said").startswith("After row 23: boards 23 and 8 pegs high;")
    assert "--seams" not in command(page)  # nothing is asked before it is let go
    page.mouse.up()
    moved(page, 23)
    assert page.is_checked("#seam-ways input[value='by hand']")
    bar.focus()
    for key in ("ArrowDown", "ArrowDown", "PageUp"):
        page.keyboard.press(key)
    moved(page, 20)
    for key, row in (("Home", 2), ("End", 29)):  # no tile is larger than a board
        page.keyboard.press(key)
        assert bar.get_attribute("aria-valuenow") == str(row)
    page.keyboard.press("Escape")
    assert bar.get_attribute("aria-valuenow") == "20"
    page.click("#undo")
    moved(page, 23)
    page.check("#seam-ways input[value='full']", force=True)
    page.wait_for_selector("#command:not(:has-text('--seams'))", state="attached")


def test_rounds_are_shown_and_what_cannot_be_is_said(page: Any) -> None:
    page.context.wrong = []  # the browser notes a refusal on the console
    go(page, "boards")
    owned = page.get_by_label("boards you own")
    owned.fill("0")
    page.keyboard.press("Tab")
    page.wait_for_selector("#boards-owned .wrong:has-text('--boards-owned: 0 is not a number')")
    owned.fill("1")
    page.keyboard.press("Tab")
    page.wait_for_selector("#rounds li:has-text('Round 2')")
    page.click("#rounds button:has-text('Round 1')")
    assert page.locator(".tile.other").count() == 1
    owned.fill("2")
    page.keyboard.press("Tab")
    page.wait_for_selector("#rounds li", state="detached")
    for _ in range(2):
        page.click("#undo")
    page.wait_for_selector("body[data-pending='0']")
    page.wait_for_selector("#rounds li", state="detached")
    page.context.wrong = []


def test_boards_are_dragged_to_other_rounds(page: Any) -> None:
    page.context.wrong = []  # the browser notes a refusal on the console
    go(page, "plate")
    page.get_by_label("beads wide").fill("50")
    page.keyboard.press("Enter")
    page.wait_for_selector("#numbers:has-text('50 x 62')")
    go(page, "boards")
    owned = page.get_by_label("boards you own")
    owned.fill("3")
    page.keyboard.press("Tab")
    page.wait_for_selector("#rounds > li.one-more:nth-child(3)")
    board = page.locator("[data-board='A1']")
    rounds = page.locator("#rounds > li:not(.one-more)")
    target = page.locator("#rounds > .one-more").bounding_box()
    box = board.bounding_box()
    page.mouse.move(box["x"] + 10, box["y"] + 10)
    page.mouse.down()
    page.mouse.move(target["x"] + 20, target["y"] + 20, steps=4)
    page.mouse.up()
    page.wait_for_selector("#command:has-text('/A1')", state="attached")
    assert rounds.count() == 3
    assert rounds.nth(2).inner_text().split() == ["Round", "3", "A1"]
    page.focus("[data-board='A1']")
    page.keyboard.press("ArrowUp")  # over a round that is full
    page.wait_for_selector("#command:not(:has-text('/A1'))", state="attached")
    assert rounds.count() == 2
    assert page.evaluate("document.activeElement.dataset.board") == "A1"
    board, full = board.bounding_box(), rounds.nth(1).bounding_box()
    page.mouse.move(board["x"] + 10, board["y"] + 10)
    page.mouse.down()
    page.mouse.move(full["x"] + 10, full["y"] + full["height"] - 4, steps=4)
    page.mouse.up()
    page.wait_for_selector(
        "#rounds-wrong:has-text('--rounds: round 2 takes 4 boards, and you own')"
    )
    assert "A1" in rounds.nth(0).inner_text()
    page.click("#rounds-again")
    page.wait_for_selector("#command:not(:has-text('--rounds'))", state="attached")
    page.context.wrong = []


def test_printed_sheets_are_true(page: Any, tmp_path: Path) -> None:
    """What Chromium prints is measured as a person would, with the rulers on the page."""
    go(page, "sheets")
    page.wait_for_selector("#sheet-pages img")
    with page.expect_download() as download:
        page.click("#pack-files a:has-text('sheets.pdf')")
    with page.context.expect_page() as opened:
        page.click("#print")
    sheets = opened.value
    sheets.wait_for_selector("#print:enabled")
    sheets.pdf(path=tmp_path / "printed.pdf", prefer_css_page_size=True)
    words = page_words(Path(download.value.path()))
    with pypdfium2.PdfDocument(tmp_path / "printed.pdf") as printed:
        sizes = [page.get_size() for page in printed]
    assert len(sizes) == len(words) >= 3
    assert all(abs(w - 595.28) < 1 and abs(h - 841.89) < 1 for w, h in sizes)
    number = next(n for n, text in enumerate(words) if "this way up" in text)
    near = DPI / 25.4
    picture = render(tmp_path / "printed.pdf", number, DPI)
    across = find_ruler(picture, near)
    down = find_ruler(picture.transpose(1, 0, 2), near, towards=-1)
    for ruler in (across, down):
        assert (ruler[-1] - ruler[0]) / near == pytest.approx(100, abs=0.2)


def test_a_page_is_looked_at_large(page: Any) -> None:
    go(page, "sheets")
    page.click("#sheet-pages button >> nth=0")
    page.wait_for_selector("#leaf[open] #leaf-picture[src$='1/large.png']")
    page.keyboard.press("ArrowRight")
    page.wait_for_selector("#leaf-words:has-text('Page 2 of')")
    page.keyboard.press("Escape")
    page.wait_for_selector("#leaf", state="hidden")


REACH = """async () => {
  try { return (await fetch("/api/start")).status; } catch (error) { return error.name; }
}"""
RUN = """() => {
  const script = document.createElement("script");
  script.textContent = "window.ran = true";
  document.body.append(script);
  return window.ran === true;
}"""


def test_beads_are_followed_and_nothing_else_is_reached(page: Any) -> None:
    go(page, "sheets")
    page.wait_for_selector("#sheet-ways:visible")
    with page.context.expect_page() as opened:
        page.click("#follow")
    follow = opened.value
    follow.wait_for_selector("#board")
    assert follow.evaluate("document.fonts.check('16px Hyperlegible')")
    before = follow.inner_text("#far")
    follow.click("#tick")
    ticked = follow.inner_text("#far")
    assert ticked != before
    follow.reload()
    follow.wait_for_selector("#board")
    assert follow.inner_text("#far") == ticked
    assert page.context.wrong == []
    assert follow.evaluate(REACH) == "TypeError"
    assert follow.evaluate(RUN) is False
    assert follow.evaluate("window.opener") is None
    page.context.wrong = []  # both refusals are noted on the console


def test_boards_and_sheets_can_be_read_by_all(chromium: Any, address: str, project: str) -> None:
    """axe-core finds nothing on a phone, by day and by night; nothing sticks out at the side."""
    from axe_playwright_python.sync_playwright import Axe

    how = {"bypass_csp": True, "viewport": {"width": 390, "height": 844}}
    with browsing(chromium, address, **how) as page:
        page.goto(f"{project}#boards")
        for seen in ("#seam-1-0", "#sheet-pages img", "#leaf[open]"):
            if seen == "#sheet-pages img":
                go(page, "sheets")
            elif seen == "#leaf[open]":
                page.click("#sheet-pages button >> nth=0")
            page.wait_for_selector(seen)
            assert page.evaluate("document.documentElement.scrollWidth") <= 390
            for scheme in ("light", "dark"):
                page.emulate_media(color_scheme=scheme)
                found = Axe().run(page)
                assert found.violations_count == 0, found.generate_report()
