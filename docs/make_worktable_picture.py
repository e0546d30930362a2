"""Draws docs/pictures/worktable.png: the worktable with the harbour on it.

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

from PIL import Image
from playwright.sync_api import sync_playwright

PICTURE = Path(__file__).parent / "pictures" / "worktable.png"
SIZE = {"width": 1280, "height": 1010}
SHOWN = 1000
"""Pixels of the picture's width."""


def look(address: str) -> bytes:
    """A screenshot of a project once all proofs are there."""
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
        page.goto(page.url.split("#")[0] + "#proofs")
        page.mouse.move(2, 2)
        page.evaluate("document.activeElement.blur()")
        page.evaluate("scrollTo(0, 0)")
        page.wait_for_timeout(1000)  # pictures are being decoded
        shot = page.screenshot()
        browser.close()
    return shot


def main() -> None:
    """Draw it."""
    with tempfile.TemporaryDirectory() as folder:
        command = [
            sys.executable,
            "-m",
            "img2plate",
            "worktable",
            "--port",
            "0",
            "--folder",
            folder,
        ]
        with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as process:
            assert process.stdout is not None
            try:
                shot = look(process.stdout.readline().strip())
            finally:
                process.terminate()
    image = Image.open(io.BytesIO(shot)).convert("RGB")
    image = image.resize((SHOWN, image.height * SHOWN // image.width), Image.Resampling.LANCZOS)
    image.quantize(256, dither=Image.Dither.NONE).save(PICTURE, optimize=True)
    print(f"{PICTURE}: {PICTURE.stat().st_size / 1000:.0f} kB")


if __name__ == "__main__":
    main()
