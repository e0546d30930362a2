"""Pages that ten usual plates, and figures, take on A4: in all, and with cells at true scale.

    python bench/bench_pages.py [--out DIR]

Plates are made with nearest colours of our samples, of an icon of the Tango theme (Debian's
tango-icon-theme, public domain; left out where it is not installed) and of cells written here;
figures are the worked ones, and a bird of 84 plates written for this.
With `--out` the sheets stay there, to be looked at.
"""

from __future__ import annotations

import argparse
import tempfile
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pypdfium2
from bench_make import SAMPLES
from PIL import Image

from img2plate.base.lengths import PAPERS
from img2plate.colour.palette_file import find_palette
from img2plate.plate.plate import Plate
from img2plate.solid.box.build import build
from img2plate.solid.file.figure_file import read_figure
from img2plate.split.tiles import split
from img2plate.tally.counts import count
from img2plate.typeset.figure.counts import count_figure
from img2plate.typeset.figure.drawings import draw_all
from img2plate.typeset.figure.laying import plan_figure
from img2plate.typeset.figure.sheets import write_figure_sheets
from img2plate.typeset.sheets import write_sheets
from img2plate.typeset.sheets.printing import Printing

HEART = (".##..##.", "########", "########", "########", ".######.", "..####..", "...##...")
ICON = Path("/usr/share/icons/Tango/32x32/places/user-home.png")
FIGURES = SAMPLES / "figures"
LARGE_BIRD = Path(__file__).parent / "large-bird.toml"
PALETTE = find_palette("harbour-48")


def nearest(image: Image.Image) -> np.ndarray:
    """(h, w) int16 beads of the nearest sRGB, -1 where the picture is see-through."""
    pixels = np.asarray(image.convert("RGBA"), np.int32)
    off = ((pixels[:, :, None, :3] - PALETTE.srgb.astype(np.int32)) ** 2).sum(axis=3)
    return np.where(pixels[..., 3] < 128, -1, off.argmin(axis=2)).astype(np.int16)


def sprite(name: str, times: int = 1) -> np.ndarray:
    """Cells of a sample, each pixel so many beads wide and high."""
    with Image.open(SAMPLES / f"{name}.png") as image:
        return nearest(image).repeat(times, axis=0).repeat(times, axis=1)


def photo(width: int, height: int) -> np.ndarray:
    """Cells of the harbour photo."""
    with Image.open(SAMPLES / "harbour.jpg") as image:
        return nearest(image.convert("RGB").resize((width, height), Image.Resampling.BOX))


def disc(side: int, inner: int, outer: int) -> np.ndarray:
    """A ring of one colour round a disc of another, empty corners."""
    y, x = np.mgrid[:side, :side] - (side - 1) / 2
    off = np.hypot(x, y)
    return np.where(off < side / 3, inner, np.where(off < side / 2, outer, -1)).astype(np.int16)


def plates() -> Iterator[tuple[str, np.ndarray, tuple[int, int]]]:
    """Name, cells and board of each."""
    greys = np.flatnonzero(np.hypot(PALETTE.lab[:, 1], PALETTE.lab[:, 2]) < 6)
    light = greys[np.argsort(-PALETTE.lab[greys, 0])]
    board, small = (29, 29), (14, 14)
    rows = [[0 if mark == "#" else -1 for mark in line] for line in HEART]
    heart = np.array(rows, np.int16)
    heart[heart == 0] = int(np.argmax(PALETTE.lab[:, 1]))
    yield "heart", heart, board
    yield "coaster 14 x 14", disc(14, 3, 12), small
    yield "puffin", sprite("puffin"), board
    if ICON.is_file():
        with Image.open(ICON) as image:
            yield "icon 32 x 32", nearest(image), board
    yield "nine boards of 14 x 14", photo(42, 42), small
    yield "white plate, 29 x 29", disc(29, int(light[0]), int(light[1])), board
    yield "dark plate, 29 x 29", disc(29, int(light[-1]), int(light[-2])), board
    yield "sprite on 2 x 2 boards", sprite("puffin", 2)[:58, :50], board
    yield "photo on 2 x 2 boards", photo(58, 58), board
    yield "photo on 4 x 3 boards", photo(116, 87), board


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--out", type=Path)
    parser.add_argument("--runs", action="store_true", help="with pages that read out rows")
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as name:
        out = given.out or Path(name)
        out.mkdir(parents=True, exist_ok=True)
        for title, cells, board in plates():
            plate = Plate(cells, PALETTE, title)
            path = out / f"{title.replace(' ', '-').replace(',', '')}.pdf"
            cut = split(plate, board)
            printing = Printing(PAPERS["A4"], runs=given.runs)
            write_sheets(path, plate, cut, count(plate, cut), printing)
            words = said(path)
            tiles = sum("this way up" in page and "100 mm" in page for page in words)
            boards = f"{len(cut.tiles)} boards" if len(cut.tiles) > 1 else "1 board"
            print(f"{title} ({plate.bead_count} beads, {boards}): {len(words)} pages, {tiles} true")
        for path in (*sorted(FIGURES.glob("*.toml")), LARGE_BIRD):
            print_figure(path, out)


def print_figure(description: Path, out: Path) -> None:
    """Pages of a figure's sheets."""
    figure = build(read_figure(description))
    path = out / f"{description.stem}.pdf"
    plan = plan_figure(figure, Printing(PAPERS["A4"]), board=(29, 29))
    write_figure_sheets(path, figure, count_figure(figure), draw_all(figure), plan)
    words = said(path)
    plates = sum("this way up" in page for page in words)
    print(f"{description.stem} ({len(figure.pieces)} plates): {len(words)} pages, {plates} true")


def said(path: Path) -> list[str]:
    """Words of each page."""
    document = pypdfium2.PdfDocument(path)
    try:
        return [page.get_textpage().get_text_range() for page in document]
    finally:
        document.close()


if __name__ == "__main__":
    main()
