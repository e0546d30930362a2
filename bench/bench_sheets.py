"""Sheets of large plates: seconds and peak memory of the process, kilobytes a page; follow.html.

    python bench/bench_sheets.py

Plates are the harbour photo, somewhat noisy, at 10, 100 and 1,000 tiles of 29 x 29, and noise in 48
colours (no two neighbours alike: the worst case). Wanted: 1,000 tiles in 60 s, under 1.5 GB, at
most 60 KB a tile page, the time per tile constant within 1.3; a tap on follow.html of 290 x 290
answered in 100 ms in Chromium, and the page of 116 x 116 under 1.5 MB.
"""

from __future__ import annotations

import os
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from functools import partial
from pathlib import Path

from bench_make import IMG2PLATE, SAMPLES

BOARD = 29
MAPS = ((5, 2), (20, 5), (40, 25))


def measure(command: list[str]) -> tuple[float, float, float]:
    """Seconds on the clock, seconds of processor, and peak megabytes of one process."""
    start = time.perf_counter()
    process = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE)
    errors = process.stderr.read() if process.stderr else b""
    _, status, usage = os.wait4(process.pid, 0)
    if status:
        sys.exit(f"{command}: {errors.decode()}")
    seconds = time.perf_counter() - start
    return seconds, usage.ru_utime + usage.ru_stime, usage.ru_maxrss / 1024


def tile_seconds(document: Path) -> float:
    """Processor seconds a tile page, between the first and the last, in this process."""
    from img2plate.base.lengths import PAPERS
    from img2plate.plate.document import read_plate
    from img2plate.split.tiles import split
    from img2plate.tally.counts import count
    from img2plate.typeset.sheets import write_sheets
    from img2plate.typeset.sheets.printing import Printing

    plate = read_plate(document, None)
    cut, best = split(plate, (BOARD, BOARD)), float("inf")
    for _ in range(5 if len(cut.tiles) <= 100 else 1):
        clock: list[float] = []
        printing, pdf = Printing(PAPERS["A4"]), document.with_suffix(".pdf")
        told = partial(_note_time, clock)
        write_sheets(pdf, plate, cut, count(plate, cut), printing, progress=told)
        best = min(best, (clock[-1] - clock[0]) / (len(clock) - 1))
    return best


def _note_time(clock: list[float], _: float) -> None:
    """Note the processor's time."""
    clock.append(time.process_time())


def draw_plates(folder: Path) -> None:
    """Plate documents; in a process of its own, as a child's peak counts that of its parent."""
    import numpy as np
    from PIL import Image

    from img2plate.colour.palette_file import find_palette
    from img2plate.plate.document import write_plate
    from img2plate.plate.plate import Plate

    palette, rng = find_palette("harbour-48"), np.random.default_rng(0)
    with Image.open(SAMPLES / "harbour.jpg") as image:
        photo = image.convert("RGB")
    for columns, rows in MAPS:
        size = columns * BOARD, rows * BOARD
        pixels = np.asarray(photo.resize(size), np.int32).reshape(-1, 3)
        pixels = pixels + rng.integers(-24, 25, pixels.shape)
        cells = np.concatenate([
            ((part[:, None] - palette.srgb.astype(np.int32)) ** 2).sum(axis=2).argmin(axis=1)
            for part in np.array_split(pixels, max(1, len(pixels) // 20_000))
        ]).astype(np.int16).reshape(size[::-1])  # fmt: skip
        name = f"photo-{columns * rows}"
        write_plate(folder / f"{name}.png", Plate(cells, palette, name))
    steps = rng.integers(1, 48, size[::-1])
    noise = (np.cumsum(steps, axis=1) + np.arange(size[1])[:, None] * 7) % 48
    for columns, rows in MAPS:
        part, name = noise[: rows * BOARD, : columns * BOARD], f"noise-{columns * rows}"
        write_plate(folder / f"{name}.png", Plate(part.astype(np.int16), palette, name))
    for side in (116, 290):
        cells = rng.integers(0, 48, (side, side)).astype(np.int16)
        write_plate(folder / f"page-{side}.png", Plate(cells, palette, f"page-{side}"))


def main() -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        subprocess.run([sys.executable, __file__, name], check=True)
        write = [*IMG2PLATE, "sheets", "--out", f"{name}/packs", "--seams", "quiet"]
        measure([*write, f"{name}/photo-10.png"])
        for plate in ("photo-10", "photo-100", "photo-1000", "noise-1000"):
            tiles = int(plate.split("-")[1])
            times = 5 if tiles < 1000 else 1
            figures = [measure([*write, f"{name}/{plate}.png"]) for _ in range(times)]
            clock, peak = min(f[0] for f in figures), max(f[2] for f in figures)
            spent = min(f[1] for f in figures)
            size = (folder / "packs" / plate / "sheets.pdf").stat().st_size / 1000 / tiles
            print(
                f"{plate}: {clock:.1f} s ({spent:.1f} s of processor),"
                f" peak {peak:.0f} MB, sheets.pdf {size:.1f} KB a tile"
            )
        each = [tile_seconds(folder / f"noise-{n}.png") for n in (10, 100, 1000)]
        print(
            "processor time a tile page of noise, at 10, 100 and 1,000 tiles:"
            f" {', '.join(f'{1000 * t:.1f}' for t in each)} ms,"
            f" {max(each) / min(each):.2f} times at most (wanted 1.3)"
        )
        for side in (116, 290):
            measure([*write, f"{name}/page-{side}.png"])
            page = folder / "packs" / f"page-{side}" / "follow.html"
            print(f"follow.html, {side} x {side}: {page.stat().st_size / 1e6:.2f} MB")
        tap(page)


def tap(page: Path) -> None:
    """Time from a tap to the next painted frame, with most of the plate done already."""
    from playwright.sync_api import sync_playwright

    chromium = shutil.which("chromium") or shutil.which("google-chrome")
    if not chromium:
        print("no Chromium here: taps are not timed")
        return
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium, args=["--no-sandbox"])
        tab = browser.new_page(viewport={"width": 390, "height": 844})
        tab.goto(page.as_uri())
        opened = tab.evaluate(
            "performance.timing.loadEventEnd - performance.timing.navigationStart"
        )
        tab.evaluate(
            "() => { for (let t = 0; t < tiles.length - 1; t++) tiles[t].rows.forEach((row, r) =>"
            " { for (const c of row.keys()) mark(t, r, c, true); });"
            " keep(...tiles.keys()); show(); }"
        )
        waits = tab.evaluate(
            """async () => {
                const waits = [];
                for (let i = 0; i < 25; i++) {
                    const button = document.getElementById(i % 2 ? "down" : "tick");
                    const start = performance.now();
                    button.click();
                    await new Promise((go) => requestAnimationFrame(() => setTimeout(go)));
                    waits.push(performance.now() - start);
                }
                return waits;
            }"""
        )
        tab.reload()
        again = tab.evaluate("performance.timing.loadEventEnd - performance.timing.navigationStart")
        browser.close()
    print(
        f"follow.html opens in {opened:.0f} ms, with its progress in {again:.0f} ms; a tap is"
        f" painted after {statistics.median(waits):.0f} ms, at most {max(waits):.0f} (wanted 100)"
    )


if __name__ == "__main__":
    if len(sys.argv) > 1:
        draw_plates(Path(sys.argv[1]))
    else:
        main()
