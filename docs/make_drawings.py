"""Draw docs/pictures/drawings.png: ten drawings of our own, as nearest beads and as drawings.

    python docs/make_drawings.py

Each row is a drawing: the picture, the nearest bead to each cell's mean, and what `make` does, at
58 and at 116 beads. harbour-48. The drawings are those of bench/drawings_set.py.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
from PIL import Image, ImageDraw

from img2plate.colour.palette_file import find_palette
from img2plate.image.grid import Grid
from img2plate.image.kind.kind import Kind, KindTold
from img2plate.image.sample import sample
from img2plate.image.sizing import SizeWish, frame
from img2plate.image.target import averaged_target
from img2plate.plate.shade.match import nearest
from img2plate.plate.shade.shading import shade

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE.parent / "bench"))
from drawings_set import DRAWINGS, drawing  # noqa: E402

SIDES = (58, 116)
LARGE, GAP = 232, 4
GROUND = "#e9ecec"
BEADS = find_palette("harbour-48")


def nearest_plate(pixels: np.ndarray, side: int) -> np.ndarray:
    """Cells of the nearest beads to the means."""
    framing = frame((pixels.shape[1], pixels.shape[0]), SizeWish(side, side))
    grid = sample(pixels, framing, kind=Kind.DRAWING)
    cells = nearest(grid.rgb, BEADS, difference="hyab")
    return np.where(grid.filled, cells, -1)


def drawn_grid(pixels: np.ndarray, side: int) -> Grid:
    """What `make` takes a drawing for."""
    return averaged_target(pixels, SizeWish(side, side), "", KindTold(Kind.DRAWING, "")).grid


def shown(cells: np.ndarray) -> Image.Image:
    """One pixel a bead, enlarged."""
    table = np.vstack([BEADS.srgb, [[233, 236, 236]]]).astype(np.uint8)
    return Image.fromarray(table[cells]).resize((LARGE, LARGE), Image.Resampling.NEAREST)


def row(pixels: np.ndarray) -> list[Image.Image]:
    """The picture and its plates."""
    picture = Image.fromarray(pixels)
    ground = Image.new("RGBA", picture.size, GROUND)
    images = [Image.alpha_composite(ground, picture).convert("RGB").resize((LARGE, LARGE))]
    for side in SIDES:
        images.append(shown(nearest_plate(pixels, side)))
        images.append(shown(shade(drawn_grid(pixels, side), BEADS).cells))
    return images


def main() -> None:
    """Draw the page."""
    names = ["picture"]
    names += [f"{how}, {side}" for side in SIDES for how in ("nearest", "as a drawing")]
    size = (len(names) * (LARGE + GAP), 16 + len(DRAWINGS) * (LARGE + GAP))
    page = Image.new("RGB", size, "#2a2a2a")
    draw = ImageDraw.Draw(page)
    for column, name in enumerate(names):
        draw.text((column * (LARGE + GAP) + 4, 2), name, fill="white")
    for number, name in enumerate(DRAWINGS):
        for column, image in enumerate(row(drawing(name))):
            page.paste(image, (column * (LARGE + GAP), 16 + number * (LARGE + GAP)))
    out = HERE / "pictures" / "drawings.png"
    page.quantize(128, dither=Image.Dither.NONE).save(out, optimize=True)
    print(f"{out}: {out.stat().st_size // 1024} KB")


if __name__ == "__main__":
    main()
