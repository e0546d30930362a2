"""Drawings with soft edges, drawn for tests of what becomes of drawings."""

from __future__ import annotations

from collections.abc import Callable
from math import cos, radians, sin

import numpy as np
from PIL import Image, ImageDraw, ImageFilter, ImageFont

from img2plate.image.drawing.drawn import Drawn, draw_cells
from img2plate.image.sizing import Framing

FINER = 4
EACH = 10
"""Pixels a cell."""


def softly(size: tuple[int, int], paper: str, draw: Callable[[ImageDraw.ImageDraw, float], None]
           ) -> np.ndarray:  # fmt: skip
    """(h, w, 4) a drawing of (width, height) cells; `draw` is told how long a cell is."""
    large = (size[0] * EACH * FINER, size[1] * EACH * FINER)
    image = Image.new("RGBA", large, paper)
    draw(ImageDraw.Draw(image), EACH * FINER)
    small = (size[0] * EACH, size[1] * EACH)
    return np.array(
        image.convert("RGBa").resize(small, Image.Resampling.BOX).convert("RGBA"), np.uint8
    )


def on_cells(pixels: np.ndarray) -> Drawn:
    """A drawing of `softly` on its cells."""
    height, width = pixels.shape[:2]
    whole = (0.0, 0.0, float(width), float(height))
    drawn = draw_cells(pixels, Framing((width // EACH, height // EACH), whole), source="")
    assert drawn is not None
    return drawn


def line(width: float, degrees: float, shift: float) -> np.ndarray:
    """A black line so many cells wide through 24 x 24 cells of white."""
    x, y = cos(radians(degrees)), sin(radians(degrees))
    middle = 12 + shift

    def draw(pen: ImageDraw.ImageDraw, cell: float) -> None:
        ends = [((middle + s * 9 * x) * cell, (middle + s * 9 * y) * cell) for s in (-1, 1)]
        pen.line(ends, fill="black", width=round(width * cell))

    return softly((24, 24), "white", draw)


def letter(sign: str, high: float) -> np.ndarray:
    """A capital so many cells high, in thin strokes, on 12 x 12 cells."""

    def draw(pen: ImageDraw.ImageDraw, cell: float) -> None:
        font = ImageFont.load_default(high * cell / 0.71)
        pen.text((6 * cell, 6 * cell), sign, font=font, fill="#173a6b", anchor="mm")

    return softly((12, 12), "#f2f2ee", draw)


def anchor(middle: float) -> np.ndarray:
    """A symmetric anchor on see-through ground, 30 x 30 cells, its middle at so many cells."""

    def draw(pen: ImageDraw.ImageDraw, cell: float) -> None:
        def at(*points: tuple[float, float]) -> list[tuple[float, float]]:
            return [((middle + x) * cell, y * cell) for x, y in points]

        pen.ellipse(at((-2.6, 2), (2.6, 7.2)), outline="#16324f", width=round(1.1 * cell))
        pen.rectangle(at((-0.7, 7), (0.7, 26)), fill="#16324f")
        pen.rectangle(at((-5, 10), (5, 11.3)), fill="#16324f")
        pen.arc(at((-10, 6), (10, 26)), 10, 170, fill="#16324f", width=round(1.3 * cell))
        for way in (-1, 1):
            pen.polygon(at((way * 7, 17), (way * 12, 17), (way * 10.5, 12.5)), fill="#b8352b")

    return softly((30, 30), "#00000000", draw)


def _lines(cells: int, pitch: float, rng: np.random.Generator, adding_up: bool) -> np.ndarray:
    """(cells + 1,) places of lines."""
    if adding_up:
        return np.rint(np.cumsum([0, *(pitch * rng.uniform(0.78, 1.22, cells))])).astype(int)
    places = np.arange(cells + 1) * pitch + rng.uniform(-0.24, 0.24, cells + 1) * pitch
    return np.rint(places - places[0]).astype(int)


def uneven_cells(
    seed: int, adding_up: bool
) -> tuple[np.ndarray, np.ndarray, tuple[np.ndarray, ...]]:
    """A blurred, noisy picture (h, w, 4) of 14 x 12 strong colours; these; its lines x and y."""
    rng = np.random.default_rng(seed)
    palette = np.array(
        [[20, 30, 60], [230, 220, 190], [200, 60, 40], [60, 150, 170], [250, 190, 60]]
    )
    cells = palette[rng.integers(0, 5, (12, 14))].astype(np.uint8)
    y, x = _lines(12, 9, rng, adding_up), _lines(14, 9, rng, adding_up)
    big = cells.repeat(np.diff(y), axis=0).repeat(np.diff(x), axis=1)
    noisy = np.clip(big + rng.normal(0, 3, big.shape), 0, 255).astype(np.uint8)
    soft = np.asarray(Image.fromarray(noisy).filter(ImageFilter.GaussianBlur(0.6)))
    return np.dstack([soft, np.full(soft.shape[:2], 255, np.uint8)]), cells, (x, y)
