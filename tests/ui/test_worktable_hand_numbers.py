"""What the page says of a plate while hands touch it, beside what the pipeline says of the same."""

from __future__ import annotations

import random
from typing import Any

import pytest
from worktable import browsing, go
from worktable_hand import at_hand, drag, place, plate, settle

pytestmark = pytest.mark.browser
POST = """async ([what, words]) => {
  const at = location.pathname.replace("/p/", "/api/projects/");
  const { version } = await (await fetch(at)).json();
  const body = JSON.stringify({ ...words, version });
  return (await fetch(`${at}/${what}`, { method: "POST", body })).status;
}"""
GET = """async (what) => {
  const at = location.pathname.replace("/p/", "/api/projects/");
  return (await fetch(`${at}/${what}`)).json();
}"""


def said(page: Any, words: str) -> float:
    """The number that stands over some words."""
    return float(page.inner_text(f"#hand-numbers li:has-text('{words}') b").replace(",", ""))


def test_look_error_and_missing_beads_follow_every_stroke(chromium: Any, address: str) -> None:
    chance = random.Random(5)
    with browsing(chromium, address) as page:
        at_hand(page)
        red = page.inner_text(".of-hand:has-text('port red') >> nth=0").split()[0]
        assert page.evaluate(POST, ["owned", {"owned": {red: "20"}}]) == 200
        page.reload()
        page.wait_for_selector("#hand-numbers:has-text('look error')")
        began = said(page, "look error")
        assert began == pytest.approx(page.evaluate(GET, "look/now")["exact"], abs=0.006)
        page.route("**/look/now", lambda route: route.fulfill(body="null"))  # it has to find it
        page.click(f".of-hand:has-text('{red} ') >> nth=0")
        for way in ("put beads", "straight line", "take beads away", "fill an area"):
            page.check(f"#hand-ways label:has-text('{way}')")
            start, end = ((chance.randrange(25), chance.randrange(31)) for _ in range(2))
            drag(page, start, end)
        settle(page)
        cells = plate(page)
        page.wait_for_function(
            "(beads) => document.querySelector('#hand-numbers b').textContent === beads",
            arg=f"{sum(code != '' for row in cells for code in row):,}",
        )
        found = said(page, "look error")
        page.unroute("**/look/now")
        exact = page.evaluate(GET, "look/now")["exact"]
        assert abs(exact - began) > 0.3
        assert found == pytest.approx(exact, abs=0.02 + 0.05 * abs(exact - began))
        short = page.evaluate(GET, "beads")["short"]
        words = page.inner_text("#hand-short")
        assert f"{len(short['colours'])} colours are short by {short['missing']:,} beads" in words
        most = short["colours"][0]
        assert f"{most['code']} {most['missing']}" in words
        wanted = sum(cell == red for row in cells for cell in row)
        assert {red: wanted * 1.05 // 1 + 1 - 20}.items() <= {
            each["code"]: each["missing"] for each in short["colours"]
        }.items() or wanted < 20


def test_loose_pieces_are_told_and_shown(chromium: Any, address: str) -> None:
    with browsing(chromium, address) as page:
        at_hand(page)
        assert page.locator("#hand-loose").is_hidden()
        for corner in ((0, 0), (24, 0)):
            page.mouse.click(*place(page, *corner))
        page.wait_for_selector("#hand-loose-words:has-text('2 pieces are joined')")
        plain = page.locator("#hand-canvas").screenshot()
        page.click("#hand-loose-show")
        page.wait_for_selector("#hand-loose-show[aria-pressed=true]")
        assert page.locator("#hand-canvas").screenshot() != plain
        for _ in range(2):
            page.keyboard.press("Control+z")
        settle(page)
        page.wait_for_selector("#hand-loose", state="hidden")


def test_cells_are_picked_by_hand_for_companions(chromium: Any, address: str) -> None:
    with browsing(chromium, address) as page:
        at_hand(page)
        before = plate(page)
        page.check("#hand-ways label:has-text('strew companions')")
        page.select_option("#strew-where", "brushed")
        page.locator("#strew-share").fill("50")
        rows = range(11, 15)
        for row in rows:
            drag(page, (16, row), (20, row))
        page.mouse.click(*place(page, 16, 11))  # put back
        page.focus("#hand-canvas")
        page.keyboard.press("Shift+ArrowRight")  # from there: picked again, and the one beside it
        page.wait_for_selector("#strew-keep:enabled")
        assert plate(page) == before
        page.wait_for_selector("#strew-said:has-text('flat cells')")
        page.click("#strew-keep")
        settle(page)
        after = plate(page)
        changed = {
            (x, y)
            for y, (old, new) in enumerate(zip(before, after, strict=True))
            for x, (a, b) in enumerate(zip(old, new, strict=True))
            if a != b
        }
        assert changed
        assert changed <= {(x, y) for x in range(16, 21) for y in rows}


def test_lost_cells_are_shown_until_one_says_all_right(chromium: Any, address: str) -> None:
    with browsing(chromium, address) as page:
        at_hand(page)
        page.mouse.click(*place(page, 1, 1))
        page.mouse.click(*place(page, 24, 3))
        settle(page)
        bead = plate(page)[1][1]
        go(page, "plate")
        page.get_by_label("beads wide").fill("20")
        page.keyboard.press("Enter")
        page.wait_for_selector("#numbers:has-text('20 x 25')")
        go(page, "hand")
        page.wait_for_selector("#hand-lost:has-text('(2 cells) was for 25 x 31 beads')")
        page.click("#hand-lost-part summary")
        assert page.locator("#hand-lost-list li").all_inner_texts() == [
            f"column 2, row 2: {bead}",
            f"column 25, row 4: {bead}",
        ]
        marked = page.locator("#hand-canvas").screenshot()
        page.click("#hand-lost-done")
        page.wait_for_selector("#hand-lost-part", state="hidden")
        assert page.locator("#hand-canvas").screenshot() != marked
        page.reload()
        page.wait_for_selector("#hand-numbers:has-text('look error')")
        assert page.locator("#hand-lost-part").is_hidden()
