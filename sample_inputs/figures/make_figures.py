"""Write the pictures of the figures' faces from their character maps in `maps/`.

    python sample_inputs/figures/make_figures.py [FOLDER]

A row of characters is a row of beads, a full stop is no bead. All colours are those of the
palette harbour-48, so that each pixel is one of its beads exactly.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
from PIL import Image

HERE = Path(__file__).resolve().parent
KEY = {
    "W": "#F1F1F1", "A": "#4D4D4D", "T": "#1F1F1F",  # gull white, anchor grey, tar black
    "R": "#DD1812", "r": "#8D0D25", "Y": "#F8D62A",  # port red, its deep tone, lamp yellow
    "B": "#174588", "b": "#85B3E3", "O": "#7E522E",  # deep and pale harbour blue, oak
    "G": "#9B9B9B",  # pewter
    "s": "#71C8E8", "S": "#3B94BD",  # pale noon sky, noon sky
    "h": "#2C73C3", "U": "#FC8123",  # harbour blue, buoy orange
    "L": "#7290A0", "l": "#425562",  # slate, deep slate
}  # fmt: skip


def main(folder: Path) -> None:
    """Write each map as a PNG of one pixel per bead."""
    rgba = {char: (*bytes.fromhex(colour[1:]), 255) for char, colour in KEY.items()}
    rgba["."] = (0, 0, 0, 0)
    for path in sorted((HERE / "maps").glob("*.txt")):
        rows = path.read_text("ascii").split()
        pixels = np.array([[rgba[char] for char in row] for row in rows], dtype=np.uint8)
        Image.fromarray(pixels).save(folder / f"{path.stem}.png", optimize=True)


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else HERE)
