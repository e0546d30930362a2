"""Write the sprites of this folder from their character maps in `maps/`.

    python sample_inputs/make_sprites.py [FOLDER]

A row of characters is a row of pixels, a full stop is transparent, and every other character is
a colour of the key below: one key for all sprites, so that they look well side by side. Light
comes from the upper left: the first tone of a material is its lit side, the last its shade.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import Image

HERE = Path(__file__).resolve().parent
KEY = {
    "K": "#1B2430",  # outline ink
    "k": "#2F3D4C",  # black plumage
    **{"W": "#F8F4EA", "w": "#D3DADD", "v": "#9AACB8"},  # white paint and feathers, to their shade
    **{"g": "#6A7D8C", "G": "#42515F"},  # iron and rock
    **{"p": "#F2B5A4", "P": "#F0735C", "R": "#D4352C", "r": "#96203A"},  # red paint, shell
    **{"L": "#FFF2B3", "Y": "#FFD447", "y": "#E59A22"},  # lamplight, brass
    **{"O": "#F07A2A", "o": "#B44D22"},  # flame, beak, rust
    **{"s": "#B4E0F0", "S": "#69B2DF", "B": "#2F6CB3", "b": "#1D3F75"},  # water, glass, blue paint
    **{"E": "#E9D3A2", "D": "#D09556", "C": "#9C5F38", "c": "#643B2A"},  # canvas, rope, timber
}


def read_map(path: Path) -> NDArray[np.uint8]:
    """Read a character map as RGBA pixels, shape (h, w, 4)."""
    rows = path.read_text("ascii").split()
    if len({len(row) for row in rows}) != 1:
        raise ValueError(f"{path.name}: the rows are not all of one length")
    rgba = {char: (*bytes.fromhex(colour[1:]), 255) for char, colour in KEY.items()}
    rgba["."] = (0, 0, 0, 0)
    return np.array([[rgba[char] for char in row] for row in rows], dtype=np.uint8)


def main(folder: Path) -> None:
    """Write each map as a PNG of one pixel per cell."""
    for path in sorted((HERE / "maps").glob("*.txt")):
        Image.fromarray(read_map(path)).save(folder / f"{path.stem}.png", optimize=True)


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else HERE)
