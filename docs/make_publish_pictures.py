"""Draws the tour's pictures of published pages.

    python docs/make_publish_pictures.py

From the samples, with the program itself. Needs the test extras and a Chromium.
"""

from __future__ import annotations

import shutil
import tempfile
from pathlib import Path
from typing import Any

from make_pictures import make, run, save
from PIL import Image
from playwright.sync_api import sync_playwright

NAMES = ("lighthouse", "puffin", "trawler", "barque", "gull", "crab")
SIGNED = ("--title", "Patterns from the harbour museum", "--author", "Maja Holm",
          "--licence", "CC-BY-SA-4.0")  # fmt: skip


def shown(browser: Any, page: Path, picture: Path, width: int, height: int) -> Image.Image:
    """The top of a page in a window of a size."""
    tab = browser.new_page(viewport={"width": width, "height": height})
    tab.goto(page.as_uri())
    tab.evaluate("document.fonts.ready")
    tab.screenshot(path=str(picture))
    tab.close()
    with Image.open(picture) as image:
        return image.convert("RGB")


def main() -> None:
    """Publish the samples, and look at the pages."""
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as play:
        packs = Path(folder)
        for name in NAMES:
            make(packs, f"sample_inputs/{name}.png")
        site = packs / "site"
        run("publish", *(str(packs / name) for name in NAMES), *SIGNED, "--out", str(site))
        browser = play.chromium.launch(
            executable_path=shutil.which("chromium"), args=["--no-sandbox", "--disable-gpu"]
        )
        shot = packs / "shot.png"
        save(shown(browser, site / "index.html", shot, 1280, 1180), "publish.png", 1000, 256)
        wide = shown(browser, site / "puffin" / "index.html", shot, 1180, 844)
        phone = shown(browser, site / "puffin" / "index.html", shot, 390, 844)
        both = Image.new("RGB", (wide.width + phone.width + 24, wide.height), "#c9d1d4")
        both.paste(wide, (0, 0))
        both.paste(phone, (wide.width + 24, 0))
        save(both, "publish-page.png", 1200, 256)
        browser.close()


if __name__ == "__main__":
    main()
