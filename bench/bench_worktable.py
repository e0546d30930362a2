"""How long a person at the worktable waits, in a real Chromium.

    python bench/bench_worktable.py [--few] [--no-drop]

Starts the command, and measures in the page, from what a hand does to the new plate decoded and
drawn: a picture dropped, a setting changed (by its field), a board seam moved. Prints the median
and the 95th percentile, and the processor time that all of it took: server, workers and browser. On
a machine that others use, judge by that.

Peers, in the same run: the plate alone, made and drawn by the worker's own function in this process
(every change), and a round trip of the server that does nothing (all).
"""

from __future__ import annotations

import argparse
import base64
import contextlib
import os
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path

os.environ["NUMBA_NUM_THREADS"] = "1"  # as in a worker that answers at once

from playwright.sync_api import Page, TimeoutError, sync_playwright

from img2plate.base.errors import Img2PlateError
from img2plate.ui.worktable.wishes.files import Files
from img2plate.ui.worktable.wishes.settings import Settings, tidied
from img2plate.ui.worktable.work.plates import make_plate
from img2plate.ui.worktable.work.tasks import warm_up

SAMPLES = Path(__file__).parents[1] / "sample_inputs"
PICTURES = {"sprite": "trawler.png", "drawing": "lighthouse.png", "photo": "harbour.jpg"}
WANTED_MS = {"dropped": 1000, "moved": 50, 58: 150, 116: 500}
PHOTO = SAMPLES / "harbour.jpg"
FLAT: Settings = {"shading": "none"}
"""What is not searched for: a search refines in the background."""
CHANGES = [
    ("without", "klp"), ("without", "klp, shl"), ("difference", "cielab"), ("colours", "9"),
    ("without", "slt"), ("difference", "oklab"), ("colours", "14"), ("without", "slt, sky"),
]  # fmt: skip
OTHERS = ("tar", "gul", "stb")
"""Another colour that each round is without, so that all of its plates are new."""
WATCH = """
window.shownAt = {};
document.addEventListener("load", async ({ target }) => {
  if (!target.matches?.("#near, #proofs img")) return;
  await target.decode().catch(() => {});
  requestAnimationFrame(() => setTimeout(() => {
    const [, key, name] = target.src.match(/plates\\/(\\w+)\\/(\\w+)/) ?? [];
    if (name === "near") window.shownAt[key] ??= performance.timeOrigin + performance.now();
  }));
}, true);
"""
"""Notes when the picture of each plate was loaded, decoded, and a frame with it drawn."""
DROP = """([name, data]) => {
  const bytes = Uint8Array.from(atob(data), (letter) => letter.charCodeAt(0));
  const transfer = new DataTransfer();
  transfer.items.add(new File([bytes], name));
  const how = { dataTransfer: transfer, bubbles: true, cancelable: true };
  const began = performance.timeOrigin + performance.now();
  document.body.dispatchEvent(new DragEvent("drop", how));
  return began;
}"""
CHANGE = """([id, value]) => {
  const field = document.getElementById(id);
  const radio = document.querySelector(`input[name="${id}"][value="${value}"]`);
  const seen = Object.keys(window.shownAt);
  window.began = performance.timeOrigin + performance.now();
  if (radio) radio.click();
  else {
    field.value = value;
    field.dispatchEvent(new Event("change", { bubbles: true }));
  }
  return seen;
}"""
NEWER = "(seen) => Object.entries(window.shownAt).find(([key]) => !seen.includes(key))?.[1]"
STOP = """async () => {
  const at = location.pathname.replace("/p/", "/api/projects/");
  while (true) {
    const state = await (await fetch(at)).json();
    const isOpen = [state.hand, ...state.proofs].some(({ state }) => /waiting|working/.test(state));
    if (!isOpen && !state.proposing) return;
    if (!state.proposing) await fetch(`${at}/stop`, { method: "POST", body: "{}" });
    await new Promise((done) => setTimeout(done, 200));
  }
}"""
SEAM = """() => {
  const now = () => performance.timeOrigin + performance.now();
  const seen = (id, then) => new MutationObserver(() => requestAnimationFrame(then))
    .observe(document.getElementById(id), { childList: true, characterData: true, subtree: true });
  addEventListener("pointermove", () => { window.moved = now(); window.saidAt = 0; }, true);
  addEventListener("pointerup", () => { window.let = now(); window.savedAt = 0; }, true);
  seen("seam-said", () => { window.saidAt ||= now(); });
  seen("command", () => { window.savedAt ||= now(); });
}"""
"""Notes when a seam was moved and let go, when that was said beside it, and when it was saved."""
ROWS = """async () => {
  const at = location.pathname.replace("/p/", "/api/projects/");
  return (await (await fetch(at)).json()).hand.facts.size[1];
}"""
EMPTY = """async () => {
  const began = performance.now();
  await (await fetch("/static/icon.svg", { cache: "no-store" })).text();
  return performance.now() - began;
}"""


@contextlib.contextmanager
def served(folder: Path) -> Iterator[str]:
    """The command itself; its address."""
    words = ["worktable", "--port", "0", "--folder", str(folder)]
    process = subprocess.Popen(
        [sys.executable, "-m", "img2plate", *words], stdout=subprocess.PIPE, text=True
    )
    assert process.stdout is not None
    try:
        yield process.stdout.readline().strip()
    finally:
        process.terminate()
        process.wait()


def cpu_seconds() -> float:
    """Processor time of all that this process started, and what those started (Linux)."""
    ticks, parents = {}, {}
    for path in Path("/proc").glob("[0-9]*/stat"):
        with contextlib.suppress(OSError):
            words = path.read_text().rpartition(")")[2].split()
            parents[int(path.parent.name)] = int(words[1])
            ticks[int(path.parent.name)] = sum(map(int, words[11:15]))
    ours = {os.getpid()}
    while more := {pid for pid, parent in parents.items() if parent in ours} - ours:
        ours |= more
    return sum(ticks[pid] for pid in ours - {os.getpid()}) / os.sysconf("SC_CLK_TCK")


def drop(page: Page, home: str, picture: Path) -> tuple[float, float]:
    """Milliseconds from a dropped file to its first plate, and of the processor until then."""
    page.goto(home)
    page.wait_for_selector("#samples img")
    spent = cpu_seconds()
    data = base64.b64encode(picture.read_bytes()).decode()
    began = page.evaluate(DROP, [picture.name, data])
    page.wait_for_url("**/p/*")
    page.wait_for_function("() => Object.keys(window.shownAt ?? {}).length")
    taken = min(page.evaluate("() => Object.values(window.shownAt)")) - began
    return taken, (cpu_seconds() - spent) * 1000


def settle(page: Page) -> None:
    """Let everything that was begun come to its end."""
    page.evaluate(STOP)
    page.wait_for_timeout(500)
    page.goto(page.url.split("#")[0] + "#plate")


def change(page: Page, field: str, value: str) -> tuple[float, float]:
    """The same from a changed field to its new plate."""
    spent = cpu_seconds()
    seen = page.evaluate(CHANGE, [field, value])
    try:
        page.wait_for_function(NEWER, arg=seen, timeout=15_000)
    except TimeoutError:
        sys.exit(f"{field} {value}: no new plate\n{page.inner_text('#place-plate')}")
    taken = page.evaluate(NEWER, seen) - page.evaluate("window.began")
    return taken, (cpu_seconds() - spent) * 1000


def fields(page: Page) -> dict[str, str]:
    """Where each setting is on the page: the id of a control, or the name of its radio buttons."""
    names = page.evaluate(
        """async () => Object.fromEntries((await (await fetch("/api/form")).json()).fields
             .filter(({ kind }) => kind !== "file").map(({ name, label }) => [name, label]))"""
    )
    ids = page.evaluate(
        """() => [...document.querySelectorAll("#form .field")].map((field) => [
             field.querySelector("label, legend").textContent,
             field.querySelector("input[type=radio]")?.name
               ?? field.querySelector("input, select").id])"""
    )
    found = dict(ids)
    return {name: found[label] for name, label in names.items() if label in found}


def alone(side: int, folder: Path) -> Callable[[Settings], float]:
    """Milliseconds of the processor for the plate of some settings, without server or browser."""
    files = Files(folder / "files")
    number = iter(range(1000))

    def run(settings: Settings) -> float:
        start = time.process_time()
        make_plate(PHOTO, tidied(settings), files, folder / f"{side}-{next(number)}", quiet)
        return (time.process_time() - start) * 1000

    run(FLAT | {"width": str(side)})
    return run


def quiet(_stage: str, _share: float) -> None:
    """Tell nobody."""


def told(name: str, found: list[tuple[float, float]], wanted: int, more: str = "") -> None:
    """Print a line."""
    taken = sorted(each[0] for each in found)
    late = taken[min(len(taken) - 1, round(0.95 * (len(taken) - 1)))]
    spent = statistics.median(each[1] for each in found)
    print(
        f"{name:34} median {statistics.median(taken):5.0f} ms (wanted {wanted}),"
        f" 95 of 100 within {late:5.0f} ms, processor {spent:5.0f} ms{more}",
        flush=True,
    )


def dropped(page: Page, home: str, times: int) -> None:
    """A picture dropped, and its first plate."""
    for kind, name in PICTURES.items():
        found = []
        for _ in range(times):
            found.append(drop(page, home, SAMPLES / name))
            settle(page)
        told(f"{kind} dropped", found, WANTED_MS["dropped"])


def changed(page: Page, home: str, side: int, rounds: int, folder: Path) -> None:
    """A setting changed, and its new plate."""
    drop(page, home, PHOTO)
    settle(page)
    at = fields(page)
    for field, value in (("width", str(side)), ("shading", "none")):
        page.evaluate(CHANGE, [at[field], value])
        page.wait_for_timeout(1000)
    settle(page)
    peer = alone(side, folder)
    found: dict[str, list[tuple[float, float]]] = {"": [], ", few colours": []}
    ratios: dict[str, list[float]] = {how: [] for how in found}
    settings: Settings = FLAT | {"width": str(side)}
    for number in range(rounds):
        for field, value in CHANGES:
            words = f"{value}, {OTHERS[number]}" if field == "without" else value
            listed = words.split(", ") if field == "without" else words
            try:
                alone_ms = peer(settings := settings | {field: listed})
            except Img2PlateError as error:
                sys.exit(f"{field} {value}: {error}")
            how = ", few colours" if "colours" in settings else ""
            found[how].append(change(page, at[field], words))
            ratios[how].append(found[how][-1][0] / max(alone_ms, 1))
            page.wait_for_timeout(200)
    empty = statistics.median(page.evaluate(EMPTY) for _ in range(9))
    for how, some in found.items():
        times = statistics.median(ratios[how])
        more = f"; {times:.1f} times the plate alone, a bare round trip {empty:.0f} ms"
        told(f"a setting at {side}x{side}{how}", some, WANTED_MS[side], more)


def dragged(page: Page, times: int) -> None:
    """A seam dragged: from a move to what is said of it, and from letting go to the saved plate."""
    page.goto(page.url.split("#")[0] + "#boards")
    bar = page.locator("#seam-1-0")
    bar.wait_for()
    page.evaluate(SEAM)
    plate = page.locator("#board-map").bounding_box()
    assert plate is not None
    peg = plate["height"] / page.evaluate(ROWS)
    moves, saves = [], []
    for number in range(times):
        box, spent = bar.bounding_box(), cpu_seconds()
        assert box is not None
        x, y = box["x"] + 90, box["y"] + box["height"] / 2
        page.mouse.move(x, y)
        page.mouse.down()
        page.mouse.move(x, y + peg * (1.2 if number % 2 else -1.2))
        page.wait_for_function("() => window.saidAt")
        moves.append((page.evaluate("window.saidAt - window.moved"), 0.0))
        page.mouse.up()
        page.wait_for_function("() => window.savedAt")
        taken = page.evaluate("window.savedAt - window.let")
        saves.append((taken, (cpu_seconds() - spent) * 1000))
        page.wait_for_timeout(300)
    told("a seam moved by a peg", moves, WANTED_MS["moved"])
    told("a seam let go, and saved", saves, WANTED_MS[58])


def main() -> None:
    ask = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawTextHelpFormatter
    )
    ask.add_argument("--no-drop", action="store_true", help="only settings")
    ask.add_argument("--few", action="store_true", help="fewer of each, for a quick look")
    asked = ask.parse_args()
    few = asked.few
    warm_up("none", quiet)
    chromium = next(filter(None, map(shutil.which, ("chromium", "google-chrome"))))
    with (
        tempfile.TemporaryDirectory() as folder,
        served(Path(folder) / "projects") as address,
        sync_playwright() as playwright,
    ):
        browser = playwright.chromium.launch(executable_path=chromium, args=["--no-sandbox"])
        page = browser.new_page()
        page.set_default_timeout(60_000)
        page.add_init_script(WATCH)
        page.goto(address)
        home = address.split("/open/")[0] + "/"
        page.wait_for_timeout(8000)  # the workers get ready while somebody looks for a picture
        if not asked.no_drop:
            dropped(page, home, 2 if few else 8)
        for side in (58, 116):
            changed(page, home, side, 1 if few else 3, Path(folder))
            if side == 58:  # 116 x 87 are full boards, whose seams have no room
                dragged(page, 8 if few else 24)
        browser.close()


if __name__ == "__main__":
    main()
