"""Plates touched up on the page: by mouse, keys and touch, undone, and taken to the craft table."""

from __future__ import annotations

import io
import zipfile
from pathlib import Path
from typing import Any

import pytest
from command import good
from PIL import Image
from worktable import browsing, go
from worktable_hand import at_hand, drag, place, plate, settle

pytestmark = pytest.mark.browser


def test_strokes_by_mouse_are_saved_undone_and_printed(
    chromium: Any, address: str, tmp_path: Path
) -> None:
    with browsing(chromium, address) as page:
        at_hand(page)
        before = plate(page)
        page.click(".of-hand:has-text('port red') >> nth=0")
        drag(page, (0, 0), (4, 0))
        page.check("#hand-ways label:has-text('straight line')")
        drag(page, (0, 2), (2, 4))
        page.check("#hand-ways label:has-text('take beads away')")
        page.mouse.click(*place(page, 10, 5))
        settle(page)
        after = plate(page)
        red = after[0][0]
        assert red.startswith("prt")
        assert after[0][:5] == [red] * 5
        assert [after[2 + i][i] for i in range(3)] == [red] * 3
        assert (before[5][10] != "", after[5][10]) == (True, "")
        changed = sum(
            a != b for x, y in zip(before, after, strict=True) for a, b in zip(x, y, strict=True)
        )
        assert changed == 9
        page.reload()
        page.wait_for_selector("#hand-clean:visible")
        assert plate(page) == after
        for _ in range(3):
            page.keyboard.press("Control+z")
        settle(page)
        assert plate(page) == before
        for _ in range(3):
            page.keyboard.press("Control+Shift+Z")
        page.wait_for_selector("#redo:disabled")
        settle(page)
        assert plate(page) == after
        go(page, "sheets")
        with page.expect_download() as waited:
            page.click("#all-of-it")
        theirs = zipfile.ZipFile(io.BytesIO(Path(waited.value.path()).read_bytes()))
    document = tmp_path / "plate.png"
    document.write_bytes(theirs.read("puffin/plate.png"))
    with Image.open(document) as image:
        assert image.size == (25, 31)
    good("sheets", document, "--name", "puffin", "--out", tmp_path / "printed", "--zip")
    ours = zipfile.ZipFile(tmp_path / "printed" / "puffin.zip")
    assert {n: theirs.read(n) for n in theirs.namelist()} == {
        n: ours.read(n) for n in ours.namelist()
    }


def test_by_keys_alone(chromium: Any, address: str) -> None:
    with browsing(chromium, address) as page:
        at_hand(page)
        page.focus("#hand-canvas")
        symbol = page.inner_text(".of-hand:has-text('buoy orange') kbd >> nth=0")
        for key in (*symbol, "ArrowRight", "ArrowDown", "Enter"):
            page.keyboard.press(key)
        settle(page)
        assert plate(page)[1][1].startswith("buo")
        page.check("#hand-ways label:has-text('fill an area')")
        page.focus("#hand-canvas")
        page.keyboard.press("Home")
        page.keyboard.press("ArrowLeft")
        page.keyboard.press("Enter")  # the empty corner, but for the bead that was put there
        settle(page)
        assert plate(page)[0][0].startswith("buo")
        assert "column 1, row 2" in page.inner_text("#hand-at")


def test_a_piece_is_moved_and_a_colour_swapped(chromium: Any, address: str) -> None:
    with browsing(chromium, address) as page:
        at_hand(page)
        before = plate(page)
        page.check("#hand-ways label:has-text('move a piece')")
        drag(page, (11, 5), (12, 6))
        drag(page, (11, 5), (1, 0))
        settle(page)
        after = plate(page)
        assert [row[1:3] for row in after[0:2]] == [row[11:13] for row in before[5:7]]
        assert [row[11:13] for row in after[5:7]] == [["", ""], ["", ""]]
        page.keyboard.press("Control+z")
        settle(page)
        page.check("#hand-ways label:has-text('swap a colour')")
        page.click(".of-hand:has-text('port red') >> nth=0")
        page.mouse.click(*place(page, 11, 5))
        settle(page)
        was, now = before[5][11], plate(page)
        assert not any(was in row for row in now)
        assert now[5][11].startswith("prt")


def test_companions_are_strewn_seen_and_kept(chromium: Any, address: str) -> None:
    with browsing(chromium, address) as page:
        at_hand(page)
        before = plate(page)
        page.check("#hand-ways label:has-text('strew companions')")
        page.locator("#strew-share").fill("20")
        page.mouse.click(*place(page, 18, 12))
        page.wait_for_selector("#strew-keep:enabled")
        assert plate(page) == before  # only looked at
        assert "flat cells" in page.inner_text("#strew-said")
        page.click("#strew-keep")
        settle(page)
        after = plate(page)
        cells = [
            (a, b) for x, y in zip(before, after, strict=True) for a, b in zip(x, y, strict=True)
        ]
        changed = [b for a, b in cells if a != b]
        assert {a for a, b in cells if a != b} == {before[12][18]}
        assert 5 < len(changed) < 60
        assert len(set(changed)) == 2


def test_what_was_touched_stays_when_the_plate_is_made_again(chromium: Any, address: str) -> None:
    with browsing(chromium, address) as page:
        at_hand(page)
        page.mouse.click(*place(page, 1, 1))
        settle(page)
        put = plate(page)[1][1]
        assert put
        go(page, "plate")
        page.click("#more summary")
        page.get_by_label("Difference").select_option("ciede2000")
        settle(page)
        assert plate(page)[1][1] == put
        page.get_by_label("beads wide").fill("50")
        page.keyboard.press("Enter")
        page.wait_for_selector("#numbers:has-text('50 x 62')")
        go(page, "hand")
        page.wait_for_selector(
            "#hand-lost:has-text('what was touched by hand (1 cell) was for 25 x 31 beads')"
        )


def test_fingers_and_a_pen(chromium: Any, address: str) -> None:
    """One finger draws, two move the plate and bring it nearer, a pen draws."""
    how = {"viewport": {"width": 390, "height": 844}, "has_touch": True, "is_mobile": True}
    with browsing(chromium, address, **how) as page:
        at_hand(page)
        page.locator("#hand-canvas").scroll_into_view_if_needed()
        devtools = page.context.new_cdp_session(page)

        def touch(kind: str, *places: tuple[float, float]) -> None:
            points = [{"x": x, "y": y, "id": i} for i, (x, y) in enumerate(places)]
            devtools.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})

        before = plate(page)
        touch("touchStart", place(page, 1, 1))
        touch("touchMove", place(page, 3, 1))
        touch("touchEnd")
        settle(page)
        after = plate(page)
        assert before[1][1:4] == ["", "", ""]
        assert "" not in after[1][1:4]
        (x, y), (far, _) = place(page, 12, 15), place(page, 22, 15)
        touch("touchStart", (x - 20, y))
        touch("touchStart", (x - 20, y), (x + 20, y))
        for apart in (30, 40, 60):
            touch("touchMove", (x - apart, y), (x + apart, y))
        touch("touchEnd")
        settle(page)
        assert plate(page) == after  # two fingers put nothing
        pen = {"x": far, "y": y, "button": "left", "clickCount": 1, "pointerType": "pen"}
        for kind in ("mousePressed", "mouseReleased"):
            devtools.send("Input.dispatchMouseEvent", {"type": kind, **pen})
        column = int(page.inner_text("#hand-at").split(",")[0].removeprefix("column "))
        assert 14 <= column <= 17  # three times as near: a third as far from the middle
        settle(page)
        assert plate(page) != after
        assert page.evaluate("document.documentElement.scrollWidth") <= 390
