"""The worktable in a real Chromium, served by the real command."""

from __future__ import annotations

import io
import signal
import socket
import subprocess
import zipfile
from pathlib import Path
from typing import Any

import pytest
from command import good, one_line, run
from support import SAMPLES
from worktable import browsing, command, drop, go, served, until

pytestmark = pytest.mark.browser
PUFFIN = SAMPLES / "puffin.png"


def test_from_a_dropped_picture_to_the_downloaded_pack(
    chromium: Any, address: str, tmp_path: Path
) -> None:
    with browsing(chromium, address) as page:
        drop(page, PUFFIN)
        go(page, "proofs")
        page.click("button[aria-label='Take this one: quay-24, flat']")
        page.wait_for_selector("#command:has-text('--palette quay-24')")
        page.get_by_label("beads wide").fill("50")
        page.keyboard.press("Enter")
        page.wait_for_selector("#numbers:has-text('50 x 62')")
        page.click("summary")
        page.check("text=trim")
        page.wait_for_selector("#command:has-text('--trim')")
        assert command(page) == "img2plate make puffin.png --palette quay-24 --trim --width 50"
        page.wait_for_selector("#making", state="hidden")
        go(page, "sheets")
        with page.expect_download() as waited:
            page.click("#all-of-it")
        downloaded = zipfile.ZipFile(io.BytesIO(Path(waited.value.path()).read_bytes()))
        words = command(page).split()[3:]
    good("make", PUFFIN, *words, "--out", tmp_path, "--zip")
    theirs = zipfile.ZipFile(tmp_path / "puffin.zip")
    assert {n: downloaded.read(n) for n in downloaded.namelist()} == {
        n: theirs.read(n) for n in theirs.namelist()
    }


def test_what_cannot_be_is_said_beside_its_field(chromium: Any, address: str) -> None:
    with browsing(chromium, address) as page:
        page.context.wrong = quiet = []
        drop(page, PUFFIN)
        page.get_by_label("beads wide").fill("many")
        page.keyboard.press("Enter")
        page.wait_for_selector("text=--width: 'many' is not a valid integer")
        assert page.get_by_label("beads wide").get_attribute("aria-invalid") == "true"
        assert command(page) == "img2plate make puffin.png"
        # The browser itself notes the refusal on the console; nothing else may stand there.
        assert all("400 (Bad Request)" in words for words in quiet)
        quiet.clear()


def test_another_kind_is_one_click(chromium: Any, address: str) -> None:
    with browsing(chromium, address) as page:
        drop(page, PUFFIN)
        page.wait_for_selector("text=Taken for a sprite at its own size: 25 x 31 pixels")
        page.click("#sentence label:has-text('drawing')")
        page.wait_for_selector("text=Taken for a drawing: as you said")
        assert command(page) == "img2plate make puffin.png --source drawing"
        go(page, "proofs")
        page.wait_for_selector("#proofs li.taken h3:has-text('harbour-48')")


def test_undo_across_a_reload_by_keys_too(chromium: Any, address: str) -> None:
    with browsing(chromium, address) as page:
        drop(page, PUFFIN)
        assert page.is_disabled("#undo")
        for palette in ("quay-24", "sea-96"):
            page.check(f".palettes input[value={palette}]")
            page.wait_for_selector(f"#command:has-text('{palette}')")
        page.reload()
        page.wait_for_selector("#command:has-text('sea-96')")
        page.click("#undo")
        page.wait_for_selector("#command:has-text('quay-24')")
        page.keyboard.press("Control+z")
        page.wait_for_selector("#command:not(:has-text('--palette'))")
        assert page.is_disabled("#undo")
        page.reload()
        page.wait_for_selector("#redo:enabled")
        page.keyboard.press("Control+Shift+Z")
        page.wait_for_selector("#command:has-text('quay-24')")
        assert page.is_checked(".palettes input[value=quay-24]")


def test_a_second_tab_says_that_it_is_older_and_takes_over(chromium: Any, address: str) -> None:
    with browsing(chromium, address) as page:
        drop(page, PUFFIN)
        second = page.context.new_page()
        second.goto(page.url)
        go(second, "plate")
        second.wait_for_selector("#near[src]")
        page.check(".palettes input[value=quay-24]")
        second.wait_for_selector("#stale:visible")
        second.click("#take-over")
        second.wait_for_selector("#command:has-text('quay-24')")
        assert second.is_hidden("#stale")
        second.check(".palettes input[value=sea-96]")
        page.wait_for_selector("#stale:visible")
        assert "quay-24" in command(page)


def test_proofs_can_be_stopped_and_made_after_all(chromium: Any, address: str) -> None:
    with browsing(chromium, address) as page:
        page.click("#samples button:has-text('harbour')")
        page.wait_for_url("**/p/*")
        page.wait_for_selector("#proofs li:has-text('waits its turn') >> nth=3")
        page.click("#stop-all")
        page.wait_for_selector("#stop-all", state="hidden")
        stopped = page.locator("#proofs li:has-text('stopped')")
        assert stopped.count() >= 4
        page.click("#proofs li:has-text('on 1x1 boards') button:has-text('Make it')")
        page.wait_for_selector("#proofs li:has-text('on 1x1 boards') img")


def test_every_screen_can_be_read_by_all(chromium: Any, address: str) -> None:
    """axe-core finds nothing by day and by night, on a phone too, where nothing sticks out."""
    from axe_playwright_python.sync_playwright import Axe

    screens = []

    def look(page: Any) -> None:
        for scheme in ("light", "dark"):
            page.emulate_media(color_scheme=scheme)
            screens.append(Axe().run(page))

    how = {"bypass_csp": True, "viewport": {"width": 390, "height": 844}}
    with browsing(chromium, address, **how) as page:
        page.wait_for_selector("#samples img")
        look(page)
        drop(page, PUFFIN)
        page.wait_for_selector("#stop-all", state="hidden")
        page.click("summary")
        for link in page.locator("#strip a").all():
            link.click()
            look(page)
            assert page.evaluate("document.documentElement.scrollWidth") <= 390
        page.set_viewport_size({"width": 1400, "height": 900})
        look(page)
    for found in screens:
        assert found.violations_count == 0, found.generate_report()


def test_by_keyboard_alone(chromium: Any, address: str) -> None:
    with browsing(chromium, address) as page:
        page.wait_for_selector("#samples img")
        for _ in range(4):  # the file, then the third sample
            page.keyboard.press("Tab")
        page.keyboard.press("Enter")
        page.wait_for_url("**/p/*")
        page.wait_for_selector("button[aria-label='Take this one: quay-24, flat']")
        page.wait_for_selector("#stop-all", state="hidden")
        for _ in range(40):
            page.keyboard.press("Tab")
            if page.evaluate("document.activeElement.ariaLabel") == "Take this one: quay-24, flat":
                break
        page.keyboard.press("Space")
        page.wait_for_selector("#place-plate:visible")
        page.wait_for_selector("#command:has-text('quay-24')")


def test_two_proofs_lie_under_one_slider(chromium: Any, address: str) -> None:
    with browsing(chromium, address) as page:
        drop(page, PUFFIN)
        go(page, "proofs")
        page.wait_for_selector("#stop-all", state="hidden")
        for name in ("harbour-48, flat", "quay-24, flat"):
            page.click(f"button[aria-label='Compare: {name}']")
        over = page.locator("#two .over")
        assert over.get_attribute("alt") == "harbour-48, flat, from near"
        page.focus("#two-slider")
        page.keyboard.press("End")
        assert over.evaluate("element => element.style.clipPath") == "inset(0px 0% 0px 0px)"
        page.check("#two label:has-text('across the room')")
        assert "/far.png" in over.get_attribute("src")
        page.click("button[aria-label='Compare: quay-24, flat']")
        assert page.is_hidden("#two")


def alive(group: int) -> list[str]:
    """The living processes of a process group."""
    table = subprocess.run(["ps", "-A", "-o", "pgid=,stat="], capture_output=True, text=True)
    rows = [line.split() for line in table.stdout.splitlines()]
    return [stat for number, stat in rows if int(number) == group and not stat.startswith("Z")]


def test_a_killed_server_starts_again_with_the_work_there(chromium: Any, tmp_path: Path) -> None:
    with served(tmp_path) as (address, process):
        with browsing(chromium, address) as page:
            drop(page, PUFFIN)
            page.check(".palettes input[value=quay-24]")
            page.wait_for_selector("#command:has-text('quay-24')")
        process.kill()
    with served(tmp_path) as (address, process):
        with browsing(chromium, address) as page:
            page.click("#projects a:has-text('puffin')")
            page.wait_for_selector("#command:has-text('quay-24')")
            assert page.is_enabled("#undo")
        process.send_signal(signal.SIGINT)
        out, err = process.communicate(timeout=30)
        assert (process.returncode, out, err) == (0, "", "")
        until(lambda: not alive(process.pid))  # the workers are gone, too


def test_a_port_in_use_is_one_line(tmp_path: Path) -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        done = run("worktable", "--port", port, "--folder", tmp_path)
    one_line(done, 7, f"--port: {port} is in use")
    one_line(run("worktable", "--port", 70000, "--folder", tmp_path), 2, "--port")
