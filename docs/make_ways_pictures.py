"""Draws the README's pictures of colourways, companions, scatter and measured beads.

    python docs/make_ways_pictures.py

From the samples, with the program itself; the photo of the card is a rendered one. Needs the test
extras (a PDF reader, scikit-image).
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

from make_pictures import ROOT, make, page, run, save, side_by_side
from PIL import Image

from img2plate.plate.document import read_plate
from img2plate.plate.plate import Plate
from img2plate.typeset.beads import loose, stamp

sys.path.insert(0, str(ROOT / "tests"))

TOWER = (slice(118, 152), slice(36, 80))
"""A part of the lighthouse at 128 beads, near by."""
RED, WHITE = ("prt", "prt-", "prt+"), ("gul", "slt+", "mst")


def draw_colourways(packs: Path) -> None:
    """The trawler with other reds, and which of them the demo shop's beads cover."""
    make(packs, "sample_inputs/trawler.png")
    plate, stock = str(packs / "trawler" / "plate.png"), "sample_inputs/shop/stock.csv"
    targets = ("prt", "stb", "hbr", "ane", "dsk", "slt", "oak")
    red = ("--base", "prt")
    run("recolour", plate, *targets, *red, "--stock", stock, "--out", str(packs))
    save(Image.open(packs / "trawler-colourways.png"), "colourways.png", 1100, 256)


def draw_figure_colourways(packs: Path) -> None:
    """The harbour lamp with other reds."""
    targets = ("buo", "stb", "sky", "hbr", "dsk", "ane", "oak")
    lamp = "sample_inputs/figures/harbour-lamp.toml"
    run("recolour", lamp, *targets, "--base", "prt", "--out", str(packs))
    save(Image.open(packs / "harbour-lamp-colourways.png"), "figure-colourways.png", 1000, 256)


def draw_rebuild(packs: Path) -> None:
    """The puffin in a palette of half its colours."""
    make(packs, "sample_inputs/puffin.png")
    run("rebuild", str(packs / "puffin" / "plate.png"), "--palette", "quay-24", "--out", str(packs))
    save(Image.open(packs / "puffin-quay-24-before-after.png"), "rebuild.png", 1000, 256)


def draw_scatter(packs: Path) -> None:
    """A tower near by: flat, scattered, scattered with light from the left."""
    make(packs, "sample_inputs/lighthouse.png", "--width", "128")
    plate = packs / "lighthouse" / "plate.png"
    wishes = [word for code in RED + WHITE for word in ("--scatter", f"{code}::14")]
    pictures = [near_by(read_plate(plate))]
    for name, light in {"even": (), "lit": ("--light", "180")}.items():
        run("scatter", str(plate), *wishes, *light, "--name", name, "--out", str(packs))
        pictures.append(near_by(read_plate(packs / name / "plate.png")))
    save(side_by_side(pictures, pictures[0].height), "scatter.png", 1200, 256)


def near_by(plate: Plate) -> Image.Image:
    """Loose beads of a part of a plate."""
    return Image.fromarray(stamp(plate.cells[TOWER], loose(plate.palette, 24)))


def draw_card(folder: Path) -> None:
    """The card, a photo of it, and what was looked at."""
    from card_photos import photo

    card, beads, looked = (folder / n for n in ("card.pdf", "mine.csv", "mine-photo-looked.png"))
    run("palette", "card", "--out", str(card))
    taken = Image.fromarray(photo(7).srgb)
    taken.save(folder / "photo.jpg", quality=92)
    run("palette", "measure", str(folder / "photo.jpg"), "--out", str(beads))
    part = Image.open(looked).crop((150, 120, 930, 920))
    save(side_by_side([page(card, 0), taken, part], 760), "card.png", 1200, 256)


def main() -> None:
    """Draw all of them."""
    with tempfile.TemporaryDirectory() as name:
        packs = Path(name)
        draw_colourways(packs)
        draw_figure_colourways(packs)
        draw_rebuild(packs)
        run("palette", "show", "quay-24", "--companions", "--out", str(packs / "c.png"))
        save(Image.open(packs / "c.png"), "companions.png", 860, 256)
        draw_scatter(packs)
        draw_card(packs)


if __name__ == "__main__":
    main()
