"""Draws docs/pictures/worktable.png, worktable-places.png and worktable-figure.png: the worktable.

    python docs/make_worktable_picture.py

Starts the command itself and looks at it with a Chromium (needs the test extras).
"""

from __future__ import annotations

import io
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Any

from PIL import Image
from playwright.sync_api import sync_playwright

PICTURES = Path(__file__).parent / "pictures"
SIZE = {"width": 1280, "height": 1010}
SHOWN, GAP = 1000, 10
"""Pixels of a picture's width, and between two screens."""
FIGURE = "worktable-figure"
ACROSS = 2
"""Screens beside each other."""


def look(address: str) -> dict[str, bytes]:
    """A screenshot of each place of a project once all proofs are there."""
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path=shutil.which("chromium"), args=["--no-sandbox", "--disable-gpu"]
        )
        page = browser.new_page(viewport=SIZE, device_scale_factor=2, color_scheme="light")
        page.set_default_timeout(300_000)
        page.goto(address)
        page.click("#samples button:has-text('harbour')")
        page.wait_for_selector("#stop-all:visible")
        page.wait_for_selector("#stop-all", state="hidden")
        page.click("button[aria-label='Take this one: sea-96, balanced']")
        page.wait_for_selector("#command:has-text('sea-96')")
        page.wait_for_selector("#making", state="hidden")
        shots = {place: shot(page, place) for place in places(page)}
        page.goto(address)
        shots[FIGURE] = figure(page)
        browser.close()
    return shots


def figure(page: Any) -> bytes:
    """A figure pulled apart beside its text."""
    page.click("#figure-samples button:has-text('lamp')")
    page.wait_for_selector("body[data-drawn]")
    page.fill("#pull", "70")
    page.select_option("#chosen", label="8  body back")
    page.wait_for_timeout(1500)
    page.evaluate("document.activeElement.blur(), scrollTo(0, 0)")
    page.wait_for_selector("body[data-still='yes']")
    return bytes(page.screenshot())


def places(page: Any) -> list[str]:
    """All places on the table, as the strip has them."""
    links = page.locator("#strip a").all()
    return [link.get_attribute("href").removeprefix("#") for link in links]


def shot(page: Any, place: str) -> bytes:
    """One place."""
    page.click(f"#strip a[href='#{place}']")
    page.mouse.move(2, 2)
    page.evaluate("document.activeElement.blur(), scrollTo(0, 0)")
    page.wait_for_load_state("networkidle" if place == "sheets" else "load")
    page.wait_for_timeout(2500)  # pictures are being drawn and decoded
    return bytes(page.screenshot())


def small(screen: bytes, width: int) -> Image.Image:
    """A screenshot made smaller."""
    image = Image.open(io.BytesIO(screen)).convert("RGB")
    return image.resize((width, image.height * width // image.width), Image.Resampling.LANCZOS)


def together(screens: list[bytes]) -> Image.Image:
    """Screens in rows."""
    tiles = [small(screen, (SHOWN - GAP) // ACROSS) for screen in screens]
    width, height = tiles[0].width + GAP, tiles[0].height + GAP
    rows = -(-len(tiles) // ACROSS)
    sheet = Image.new("RGB", (ACROSS * width - GAP, rows * height - GAP), "#c9d1d4")
    for number, tile in enumerate(tiles):
        sheet.paste(tile, (number % ACROSS * width, number // ACROSS * height))
    return sheet


def save(image: Image.Image, name: str) -> None:
    """Write a picture of few colours."""
    path = PICTURES / name
    image.quantize(256, dither=Image.Dither.NONE).save(path, optimize=True)
    print(f"{path}: {path.stat().st_size / 1000:.0f} kB")


def main() -> None:
    """Draw them."""
    with tempfile.TemporaryDirectory() as folder:
        words = ["-m", "img2plate", "worktable", "--port", "0", "--folder", folder]
        with subprocess.Popen(
            [sys.executable, *words], stdout=subprocess.PIPE, text=True
        ) as process:
            assert process.stdout is not None
            try:
                shots = look(process.stdout.readline().strip())
            finally:
                process.terminate()
    save(small(shots["proofs"], SHOWN), "worktable.png")
    save(small(shots.pop(FIGURE), SHOWN), f"{FIGURE}.png")
    save(together([screen for place, screen in shots.items() if place != "proofs"]),
         "worktable-places.png")  # fmt: skip


if __name__ == "__main__":
    main()
