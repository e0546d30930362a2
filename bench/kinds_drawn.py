"""Drawings of our own for the set of kinds: boats, anchors, lamps, lettering, line art.

Drawn four times as large and averaged, so that edges are soft, as a drawing program makes them.
"""

from __future__ import annotations

from collections.abc import Callable
from math import cos, pi, sin

import numpy as np
from kinds_files import cleared
from PIL import Image, ImageDraw, ImageFont

FINER = 4
INKS = ("#1d3b5a", "#b23a2e", "#2d6b4f", "#e0a81c", "#23232b", "#6f3f86")
PAPERS = ("#00000000", "#ffffff", "#f4efe2", "#00000000", "#d8e6ee", "#1b2a38")


class Pen:
    """Draws in hundredths of the picture's side."""

    def __init__(self, image: Image.Image, line: float) -> None:
        self._draw, self._unit, self.line = ImageDraw.Draw(image), image.width / 100, line

    def _at(self, *points: tuple[float, float]) -> list[tuple[float, float]]:
        return [(x * self._unit, y * self._unit) for x, y in points]

    def path(self, colour: str, *points: tuple[float, float], line: float | None = None) -> None:
        """A line through points."""
        width = max(1, round((line or self.line) * self._unit))
        self._draw.line(self._at(*points), fill=colour, width=width, joint="curve")

    def area(self, colour: str, *points: tuple[float, float]) -> None:
        """A filled polygon."""
        self._draw.polygon(self._at(*points), fill=colour)

    def disc(
        self, colour: str | None, x: float, y: float, r: float, rim: str | None = None
    ) -> None:
        """A disc, or a ring."""
        box = self._at((x - r, y - r), (x + r, y + r))
        self._draw.ellipse(box, fill=colour, outline=rim, width=round(self.line * self._unit))

    def arc(self, colour: str, x: float, y: float, r: float, start: float, end: float) -> None:
        """A part of a circle, in degrees."""
        box = self._at((x - r, y - r), (x + r, y + r))
        width = max(1, round(self.line * self._unit))
        self._draw.arc(box, start, end, fill=colour, width=width)

    def word(self, colour: str, text: str, x: float, y: float, high: float) -> None:
        """Lettering round a point."""
        font = ImageFont.load_default(high * self._unit)
        self._draw.text(self._at((x, y))[0], text, font=font, fill=colour, anchor="mm")


def _boat(pen: Pen, one: str, two: str, three: str) -> None:
    pen.area(one, (12, 66), (88, 66), (74, 84), (26, 84))
    pen.area(two, (48, 10), (48, 60), (18, 60))
    pen.area(three, (54, 22), (54, 60), (82, 60))
    pen.path(one, (51, 8), (51, 66))


def _anchor(pen: Pen, one: str, two: str, three: str) -> None:
    pen.disc(None, 50, 16, 8, rim=one)
    pen.path(one, (50, 24), (50, 86))
    pen.path(two, (32, 36), (68, 36))
    pen.disc(three, 50, 16, 4)
    pen.arc(one, 50, 54, 34, 20, 160)


def _lamp(pen: Pen, one: str, two: str, three: str) -> None:
    pen.disc(three, 50, 30, 20)
    for turn in range(8):
        x, y = cos(turn * pi / 4), sin(turn * pi / 4)
        pen.path(three, (50 + 24 * x, 30 + 24 * y), (50 + 34 * x, 30 + 34 * y))
    pen.area(one, (40, 40), (60, 40), (68, 92), (32, 92))
    pen.area(two, (37, 58), (63, 58), (65, 72), (35, 72))


def _gull_lines(pen: Pen, one: str, two: str, three: str) -> None:
    for x, y, r in ((30, 40, 18), (66, 40, 18), (22, 76, 10), (42, 76, 10)):
        pen.arc(one, x, y, r, 200, 340)
    pen.disc(three, 84, 18, 10)
    pen.path(two, (4, 92), (30, 88), (60, 94), (96, 88))


def _badge(pen: Pen, one: str, two: str, three: str) -> None:
    pen.disc(one, 50, 50, 44)
    pen.disc(two, 50, 50, 36)
    pen.word(three, "BAY 7", 50, 50, 22)


def _lettering(pen: Pen, one: str, two: str, three: str) -> None:
    pen.word(one, "Harbour", 50, 30, 22)
    pen.word(two, "lamps & oars", 50, 58, 14)
    pen.path(three, (10, 74), (90, 74))


def _card(pen: Pen, one: str, two: str, three: str) -> None:
    pen.area(two, (6, 12), (94, 12), (94, 88), (6, 88))
    pen.area(one, (6, 60), (94, 60), (94, 88), (6, 88))
    pen.disc(three, 74, 34, 12)
    pen.area("#f2f2ee", (20, 60), (50, 22), (50, 60))


DRAWINGS: dict[str, Callable[[Pen, str, str, str], None]] = {
    "boat": _boat, "anchor": _anchor, "lamp": _lamp, "gulls": _gull_lines, "badge": _badge,
    "lettering": _lettering, "card": _card,
}  # fmt: skip


def drawn(name: str, side: int, number: int) -> np.ndarray:
    """A drawing (side, side, 4), in colours and of a line width that its number gives."""
    paper = PAPERS[number % len(PAPERS)]
    image = Image.new("RGBA", (side * FINER, side * FINER), paper)
    inks = [INKS[(number + i * (1 + number // 6 % 4)) % len(INKS)] for i in range(3)]
    DRAWINGS[name](Pen(image, (1.2, 2.5, 5)[number % 3]), *inks)
    small = image.convert("RGBa").resize((side, side), Image.Resampling.BOX).convert("RGBA")
    return cleared(np.array(small))
