"""Draws the README's pictures from the samples, with the program itself.

    python docs/make_pictures.py

Needs the test extras (a PDF reader, and a Chromium for the page).
"""

from __future__ import annotations

import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

import pypdfium2
from PIL import Image, ImageDraw, ImageFilter

ROOT = Path(__file__).parents[1]
PICTURES = ROOT / "docs" / "pictures"
SPRITES = ("lighthouse", "puffin", "trawler")
FIGURES = ("boathouse", "harbour-lamp", "seabird", "trawler-box")


def run(*arguments: str) -> None:
    """Run the command as a user would."""
    command = [sys.executable, "-m", "img2plate", *arguments]
    subprocess.run(command, check=True, cwd=ROOT)


def make(folder: Path, *arguments: str) -> None:
    """Make packs."""
    run("make", *arguments, "--out", str(folder))


def save(image: Image.Image, name: str, width: int, colours: int = 128) -> None:
    """Shrink to a width and keep the file small."""
    height = round(image.height * width / image.width)
    small = image.convert("RGB").resize((width, height), Image.Resampling.LANCZOS)
    few = small.quantize(colours, method=Image.Quantize.MEDIANCUT, kmeans=1 if colours > 128 else 0)
    few.save(PICTURES / name, optimize=True)


def page(pdf: Path, number: int) -> Image.Image:
    """One page of a PDF as a picture."""
    document = pypdfium2.PdfDocument(pdf)
    image = document[number].render(scale=1.6).to_pil()
    document.close()
    return image


def screen(html: Path) -> Image.Image:
    """The follow-along page on a phone."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright, tempfile.TemporaryDirectory() as folder:
        browser = playwright.chromium.launch(
            executable_path=shutil.which("chromium"), args=["--no-sandbox", "--disable-gpu"]
        )
        view = browser.new_page(viewport={"width": 390, "height": 844}, device_scale_factor=2)
        view.goto(html.as_uri())
        for _ in range(9):
            view.click("#tick")
        view.click("#colours button:nth-child(4)")
        view.evaluate("scrollTo(0, 0)")
        view.screenshot(path=f"{folder}/s.png")
        browser.close()
        return Image.open(f"{folder}/s.png").copy()


def side_by_side(images: list[Image.Image], height: int) -> Image.Image:
    """Pictures of one height in a row."""
    scaled = [i.resize((round(i.width * height / i.height), height)) for i in images]
    row = Image.new("RGB", (sum(i.width for i in scaled) + 24 * (len(scaled) - 1), height), "#888")
    left = 0
    for image in scaled:
        row.paste(image, (left, 0))
        left += image.width + 24
    return row


def draw_shadings(packs: Path) -> None:
    """One photo in three shadings: bead by bead above, as seen from further off below."""
    plates = []
    for shading in ("none", "floyd-steinberg", "search"):
        make(packs / shading, "sample_inputs/harbour.jpg", "--width", "96", "--shading", shading)
        plates.append(Image.open(packs / shading / "harbour" / "plate.png").convert("RGB"))
    near = [plate.resize((plate.width * 6, plate.height * 6), 0) for plate in plates]
    far = [image.filter(ImageFilter.GaussianBlur(9)) for image in near]
    rows = [side_by_side(images, near[0].height) for images in (near, far)]
    both = Image.new("RGB", (rows[0].width, 2 * rows[0].height + 24), "#888")
    both.paste(rows[0], (0, 0))
    both.paste(rows[1], (0, rows[0].height + 24))
    save(both, "shadings.png", 1200)


def draw_proof(packs: Path) -> None:
    """What is proposed for a photo."""
    bags = ("--bag", "1000", "--bag-price", "2.40", "--out", str(packs))
    run("compare", "sample_inputs/harbour.jpg", *bags)
    save(Image.open(packs / "harbour-proof.png"), "proof.png", 1200, 255)


def draw_figures(packs: Path) -> None:
    """Figures of our own, and the plot of fit."""
    for name in FIGURES:
        run("figure", f"sample_inputs/figures/{name}.toml", "--out", str(packs))
        save(Image.open(packs / name / "assembled.png"), f"{name}.png", 420)
    save(Image.open(packs / "seabird" / "parts.png"), "seabird-parts.png", 720)
    save(Image.open(packs / "harbour-lamp" / "exploded.png"), "harbour-lamp-parts.png", 300)
    run("fit", "--plot", str(packs / "fit.png"))
    save(Image.open(packs / "fit.png"), "fit.png", 720)


def draw_letters(packs: Path) -> None:
    """A word in pieces, with an outline, on a ground, as a tag; and where it would come apart."""
    ways = {
        "loose": (),
        "outline": ("--join", "outline:hbr", "--grow"),
        "ground": ("--ground", "hbr"),
        "tag": ("--join", "outline:hbr", "--loop", "2:hbr", "--grow"),
    }
    for name, words in ways.items():
        text = ["PIER 7", "--height", "9", "--colour", "klp", "--name", name, *words]
        run("letters", *text, "--out", str(packs))
    images = [Image.open(packs / name / "picture.png").convert("RGB") for name in ways]
    wide, high = (max(sides) for sides in zip(*(image.size for image in images), strict=True))
    drawn = Image.new("RGB", (2 * wide, 2 * high), "#e9ecec")
    for number, image in enumerate(images):
        left = number % 2 * wide + (wide - image.width) // 2
        drawn.paste(image, (left, number // 2 * high + (high - image.height) // 2))
    save(drawn, "letters.png", 900)


def draw_layout(packs: Path) -> None:
    """Small plates on boards: words and sprites."""
    words = ("Ahoi", "Boje", "Kai 3", "Pier", "Lee", "Luv", "Tide", "Ebbe", "Flut")
    codes = ("hbr", "klp", "hbr-", "klp-", "hbr", "klp-", "hbr-", "klp", "hbr")
    for word, code in zip(words, codes, strict=True):
        run("letters", word, "--height", "6", "--colour", "hbr+", "--ground", code,
            "--name", f"tag-{word[:2]}", "--out", str(packs))  # fmt: skip
    plates = sorted(str(path / "plate.png") for path in packs.glob("tag-*"))
    sprites = [f"sample_inputs/{name}.png" for name in ("anchor", "buoy")]
    make(packs, *sprites)
    plates += [str(packs / name / "plate.png") for name in ("anchor", "buoy")]
    run("layout", *plates, "--boards", "2x1", "--out", str(packs))
    save(Image.open(packs / "layout" / "picture.png"), "layout.png", 720)


def draw_template(packs: Path) -> None:
    """The page to choose on, and a board with numbers."""
    make(packs, "sample_inputs/trawler.png", "--template")
    pages = [page(packs / "trawler" / "template.pdf", number) for number in (0, 2)]
    save(side_by_side(pages, 900), "template.png", 1000)


def draw_holds(packs: Path) -> None:
    """A lamp on a thin mast, a buoy whose chain does not reach, a gull that touches nothing."""
    drawn = Image.new("RGBA", (38, 26))
    draw = ImageDraw.Draw(drawn)
    blue, red, lamp, ink = "#1F4FA3", "#C8102E", "#F2B705", "#2B2B2B"
    draw.polygon([(2, 18), (23, 18), (20, 24), (5, 24)], fill=blue)
    draw.rectangle((7, 12, 14, 17), fill=red)
    draw.line((10, 5, 10, 11), fill=ink)
    draw.rectangle((8, 2, 12, 5), fill=lamp)
    draw.line((24, 20, 29, 20), fill=ink)
    draw.polygon([(30, 24), (36, 24), (35, 15), (31, 15)], fill=red)
    draw.point((33, 14), fill=ink)
    draw.rectangle((31, 10, 35, 13), fill=lamp)
    draw.line([(22, 6), (24, 4), (26, 6), (28, 4), (30, 6)], fill="#808080")
    drawn.save(packs / "chain.png")
    make(packs, str(packs / "chain.png"), "--source", "sprite", "--background", "keep")
    save(Image.open(packs / "chain" / "strength.png"), "strength.png", 760)


def main() -> None:
    """Make the packs, then the pictures."""
    PICTURES.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as name:
        packs = Path(name)
        make(packs, *(f"sample_inputs/{sprite}.png" for sprite in SPRITES))
        make(packs, "sample_inputs/harbour.jpg", "--boards", "4x3", "--palette", "sea-96")
        for sprite in SPRITES:
            save(Image.open(packs / sprite / "preview.png"), f"{sprite}.png", 620)
        save(Image.open(packs / "harbour" / "preview.png"), "harbour.png", 620)
        sheets = packs / "lighthouse" / "sheets.pdf"
        save(side_by_side([page(sheets, n) for n in (0, 1, 2)], 900), "sheets.png", 1200)
        save(screen(packs / "lighthouse" / "follow.html"), "follow.png", 390)
        draw_template(packs)
        draw_holds(packs)
        draw_letters(packs)
        draw_layout(packs)
        draw_shadings(packs)
        draw_proof(packs)
        draw_figures(packs)


if __name__ == "__main__":
    main()
