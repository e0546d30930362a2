"""How long a hand at the worktable waits, and how smoothly a plate moves under it, in Chromium.

    python bench/bench_worktable_hand.py [--few] [--sides 58,116,290]

Starts the command, lays a photo's plate under the hand, and prints for each size of plate

- from a bead pressed down to all numbers beside it (beads, lone beads, look error, what is missing,
  loose pieces) on the screen, and the same for an area filled and for a colour swapped everywhere
- the time between frames while the plate is dragged and while the wheel brings it nearer and takes
  it farther, with the picture over it; at 60 frames a second it is 16.7 ms
- processor time of the page's main thread for each of these, which other work on the machine
  changes least

Frames are what requestAnimationFrame tells; 'on the screen' is the task after the frame in which
the words changed. Events come from the browser's own input, one after the other. Peer, in the same
run: the same page with nothing to draw.
"""

from __future__ import annotations

import argparse
import contextlib
import os
import random
import shutil
import statistics
import sys
import tempfile
from pathlib import Path
from typing import Any

from bench_worktable import served
from playwright.sync_api import Page, TimeoutError, sync_playwright

WANTED_MS = 50
FRAME_MS = 1000 / 60
OWNED = dict.fromkeys(("klp", "shl", "slt", "sky", "tar", "gul"), "900")
BEGIN = """async ([side, owned]) => {
  const post = async (at, words) => {
    const answer = await fetch(at, { method: "POST", body: JSON.stringify(words) });
    if (!answer.ok) throw new Error(await answer.text());
    return answer.json();
  };
  const { id } = await post("/api/samples/harbour.jpg");
  const at = `/api/projects/${id}`;
  const state = async () => (await fetch(at)).json();
  const settings = { shading: "none", size: `${side}x${side}`, fit: "cover" };
  await post(`${at}/settings`, { settings, version: (await state()).version });
  await post(`${at}/owned`, { owned, version: (await state()).version });
  for (let found = await state(); !found.hand.facts; found = await state()) {
    const asks = found.hand.state === "failed";  // whether so large a plate is wanted
    if (asks) await post(`${at}/again`, { settings: found.settings, yes: true });
    await new Promise((done) => setTimeout(done, 300));
  }
  await post(`${at}/stop`, {});
  return `${location.origin}/p/${id}#hand`;
}"""
WATCH = """() => {
  const seen = () => setTimeout(() => { window.saidAt ||= performance.now(); });
  new MutationObserver(seen)
    .observe(document.getElementById("hand-numbers"), { childList: true, subtree: true });
  for (const name of ["pointerdown", "pointerup"]) {
    addEventListener(name, (event) => { window[name] = event.timeStamp; window.saidAt = 0; }, true);
  }
}"""
FRAMES = """() => {
  const found = window.frames_ = [];
  let last = performance.now();
  window.ended = false;
  const next = (now) => {
    found.push(now - last);
    last = now;
    if (!window.ended) requestAnimationFrame(next);
  };
  requestAnimationFrame(next);
}"""
GL = """() => {
  const gl = document.createElement("canvas").getContext("webgl");
  const more = gl?.getExtension("WEBGL_debug_renderer_info");
  return more ? gl.getParameter(more.UNMASKED_RENDERER_WEBGL) : "no GL";
}"""


class Hand:
    """A page with a plate under the hand."""

    def __init__(self, page: Page, side: int) -> None:
        self.page, self.side = page, side
        self.devtools = page.context.new_cdp_session(page)
        self.devtools.send("Performance.enable", {"timeDomain": "threadTicks"})
        page.goto(page.evaluate(BEGIN, [side, OWNED]))
        page.reload()
        page.wait_for_selector("#hand-numbers:has-text('look error')")
        page.wait_for_selector("#hand-short:has-text('short')")
        page.locator("#hand-canvas").scroll_into_view_if_needed()
        page.evaluate(WATCH)

    def spent(self) -> float:
        """Milliseconds of the main thread's processor time until now."""
        metrics = self.devtools.send("Performance.getMetrics")["metrics"]
        return 1000 * float(next(m["value"] for m in metrics if m["name"] == "TaskDuration"))

    def place(self, column: int, row: int) -> tuple[float, float]:
        """Where a cell is in the window, with all of the plate in view."""
        box = self.page.locator("#hand-canvas").bounding_box()
        assert box is not None
        zoom = max(1, min(box["width"], box["height"]) / self.side)
        left = box["x"] + (box["width"] - zoom * self.side) / 2
        top = box["y"] + (box["height"] - zoom * self.side) / 2
        return left + (column + 0.5) * zoom, top + (row + 0.5) * zoom

    def strokes(self, way: str, times: int, since: str) -> list[tuple[float, float]]:
        """Waits and processor times of strokes anywhere; `since`: the event that changes beads."""
        page, chance, found = self.page, random.Random(way), []
        page.check(f"#hand-ways label:has-text('{way}')")
        colours = page.locator(".of-hand")
        for number in range(times):
            colours.nth(number % 12).click()
            part = range(self.side // 4, 3 * self.side // 4)
            page.mouse.move(*self.place(chance.choice(part), chance.choice(part)))
            page.wait_for_timeout(150)
            before = self.spent()
            page.mouse.down()
            if since == "pointerup":
                page.mouse.up()
            with contextlib.suppress(TimeoutError):  # the bead lay there already
                page.wait_for_function("() => window.saidAt", timeout=2000)
                found.append(
                    (page.evaluate(f"window.saidAt - window.{since}"), self.spent() - before)
                )
            if since == "pointerdown":
                page.mouse.up()
            page.wait_for_selector("body[data-pending='0']")
        return found

    def frames(self, what: str, count: int) -> tuple[list[float], float]:
        """Times between frames in which the view moves, and the main thread's for each."""
        page = self.page
        page.locator("#hand-given").fill("0" if what == "nothing" else "50")
        page.wait_for_timeout(300)
        page.click("#hand-whole")
        x, y = self.place(self.side // 2, self.side // 2)
        page.mouse.move(x, y)
        if what == "drag":
            page.mouse.down(button="right")
        page.evaluate(FRAMES)
        before = self.spent()
        for number in range(count):
            if what == "drag":
                page.mouse.move(x + 90 * (number % 40 / 20 - 1), y + 60 * (number % 24 / 12 - 1))
            elif what == "wheel":
                page.mouse.wheel(0, -120 if number // 12 % 2 == 0 else 120)
            else:
                page.evaluate("() => new Promise(requestAnimationFrame)")
        found = page.evaluate("() => { window.ended = true; return window.frames_; }")[1:]
        spent = (self.spent() - before) / max(1, len(found))
        if what == "drag":
            page.mouse.up(button="right")
        return found, spent


def late(numbers: list[float]) -> float:
    """Within which 95 of 100 are."""
    return sorted(numbers)[round(0.95 * (len(numbers) - 1))]


def measured(hand: Hand, few: bool) -> None:
    """Print all figures of a plate."""
    name = f"{hand.side}x{hand.side}"
    for way, since, times in (
        ("put beads", "pointerdown", 40),
        ("fill an area", "pointerup", 12),
        ("swap a colour", "pointerup", 12),
    ):
        found = hand.strokes(way, max(4, times // 4) if few else times, since)
        waits, spent = ([each[i] for each in found] for i in (0, 1))
        print(
            f"{name}, {way}: to all numbers on the screen median {statistics.median(waits):.0f} ms"
            f" (wanted {WANTED_MS}), 95 of 100 within {late(waits):.0f} ms,"
            f" main thread {statistics.median(spent):.0f} ms",
            flush=True,
        )
    for what in ("nothing", "drag", "wheel"):
        frames, each = hand.frames(what, 60 if few else 240)
        print(
            f"{name}, {what}: between frames median {statistics.median(frames):.1f} ms (wanted"
            f" {FRAME_MS:.1f}), 95 of 100 within {late(frames):.1f} ms, main thread {each:.1f} ms"
            f" a frame",
            flush=True,
        )


def main() -> None:
    ask: Any = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawTextHelpFormatter
    )
    ask.add_argument("--few", action="store_true", help="fewer of each, for a quick look")
    ask.add_argument("--sides", default="58,116,290", help="of the plates, in beads")
    asked = ask.parse_args()
    chromium = next(filter(None, map(shutil.which, ("chromium", "google-chrome"))))
    with (
        tempfile.TemporaryDirectory() as folder,
        served(Path(folder) / "projects") as address,
        sync_playwright() as playwright,
    ):
        browser = playwright.chromium.launch(executable_path=chromium, args=["--no-sandbox"])
        for side in map(int, asked.sides.split(",")):
            page = browser.new_page(viewport={"width": 1280, "height": 900})
            page.set_default_timeout(300_000)
            page.on("pageerror", lambda error: sys.exit(str(error)))
            page.goto(address)
            if side == int(asked.sides.split(",")[0]):
                print(f"drawn by {page.evaluate(GL)}; {os.cpu_count()} cores")
            print(f"load {os.getloadavg()[0]:.1f}")
            measured(Hand(page, side), asked.few)
            page.close()
        browser.close()


if __name__ == "__main__":
    main()
