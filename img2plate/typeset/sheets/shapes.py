"""Lines, discs, boxes and cells on a page of a PDF, in mm from the upper left corner."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache
from typing import Any, NamedTuple

from img2plate.base.lengths import mm2points
from img2plate.typeset.look import INK, PAPER, QUIET, RULE, contrast

POINTS_PER_MM = mm2points(1.0)
_PALE = 1.5
"""Contrast to paper below which a bead has a dark rim."""


@cache
def rgb(colour: str) -> str:
    """Operands of `#rrggbb`, 0 to 1 (ISO 32000-1, 8.6.4.3)."""
    return " ".join(f"{part / 255:.4f}" for part in bytes.fromhex(colour.removeprefix("#")))


class Cell(NamedTuple):
    """The first cell of a grid, in mm."""

    left: float
    top: float
    pitch: float


class Shapes:
    """What is drawn on a page of the PDF writer; all lengths are mm, y grows downwards."""

    def __init__(self, canvas: Any) -> None:
        self.canvas = canvas
        self._height = 0.0

    def at(self, x: float, y: float) -> tuple[float, float]:
        """Points of a place in mm."""
        return x * POINTS_PER_MM, (self._height - y) * POINTS_PER_MM

    def line(
        self, x0: float, y0: float, x1: float, y1: float, width: float = 0.2, colour: str = INK
    ) -> None:
        """Draw a line; all in mm."""
        self.lines([(x0, y0, x1, y1)], width, colour)

    def lines(
        self,
        ends: Iterable[tuple[float, float, float, float]],
        width: float = 0.2,
        colour: str = INK,
    ) -> None:
        """Draw many lines at once; all in mm."""
        scale, top = POINTS_PER_MM, self._height
        code = "".join(
            f"{x0 * scale:.3f} {(top - y0) * scale:.3f} m"
            f" {x1 * scale:.3f} {(top - y1) * scale:.3f} l "
            for x0, y0, x1, y1 in ends
        )
        if code:
            self.canvas.addLiteral(f"{rgb(colour)} RG {width * scale:.3f} w n {code}S")

    def boxes(self, corners: Iterable[tuple[float, float, float, float]], colour: str) -> None:
        """Fill many boxes (x, y, width, height) with one colour."""
        scale, top = POINTS_PER_MM, self._height
        # Written as PDF operators at once: a plate has tens of thousands of boxes and symbols.
        edges = ((x, top - y - high, wide, high) for x, y, wide, high in corners)
        code = "".join(" ".join(f"{mm * scale:.3f}" for mm in box) + " re " for box in edges)
        self.canvas.addLiteral(f"{rgb(colour)} rg")
        self.canvas.addLiteral(f"n {code}f" if code else "")

    def dots(self, places: Iterable[tuple[float, float]], diameter: float, colour: str) -> None:
        """Fill many discs of one size, given their middles."""
        # A line of no length with round ends is a disc (ISO 32000-1, 8.5.3.2): short to write.
        scale, top, canvas = POINTS_PER_MM, self._height, self.canvas
        ends = (f"{x * scale:.3f} {(top - y) * scale:.3f}" for x, y in places)
        code = "".join(f"{end} m {end} l " for end in ends)
        canvas.saveState()
        canvas.setLineCap(1)
        canvas.setLineWidth(diameter * scale)
        canvas.addLiteral(f"{rgb(colour)} RG")
        canvas.addLiteral(f"{code}S")
        canvas.restoreState()

    def cell_runs(self, grid: Cell, runs: Iterable[tuple[int, int, int]], colour: str) -> None:
        """Fill runs of cells (row, first column, column after the last) of a grid."""
        # In units of a cell the numbers are whole: quick to write, short, and exact.
        pitch, (left, top) = grid.pitch * POINTS_PER_MM, self.at(grid.left, grid.top)
        code = "".join(f"{a} {row} {b - a} 1 re " for row, a, b in runs)
        self.canvas.addLiteral(f"{rgb(colour)} rg")
        matrix = f"{pitch:.6f} 0 0 {-pitch:.6f} {left:.4f} {top:.4f}"
        self.canvas.addLiteral(f"q {matrix} cm n {code}f Q" if code else "")

    def polygon(self, places: list[tuple[float, float]], colour: str) -> None:
        """Fill a polygon."""
        path = self.canvas.beginPath()
        path.moveTo(*self.at(*places[0]))
        for place in places[1:]:
            path.lineTo(*self.at(*place))
        path.close()
        self.canvas.addLiteral(f"{rgb(colour)} rg")
        self.canvas.drawPath(path, stroke=0, fill=1)

    def swatch(self, x: float, y: float, diameter: float, colour: str, hole: float = 0.5) -> None:
        """Draw a bead from above, centred at a place; `hole` is its share of the diameter."""
        points = self.at(x, y)
        self.canvas.setLineWidth(0.3)
        # White and pale beads are seen by their rims.
        self.canvas.setStrokeColor(QUIET if contrast(colour, PAPER) < _PALE else RULE)
        self.canvas.addLiteral(f"{rgb(colour)} rg")
        self.canvas.circle(*points, diameter / 2 * POINTS_PER_MM, stroke=1, fill=1)
        self.canvas.setFillColor("#ffffff")
        self.canvas.circle(*points, diameter * hole / 2 * POINTS_PER_MM, stroke=1, fill=1)

    def picture(self, image: Any, x: float, y: float, width: float, height: float) -> None:
        """Place a Pillow picture, its pixels as sharp squares."""
        from reportlab.lib.utils import ImageReader

        left, bottom = self.at(x, y + height)
        size = width * POINTS_PER_MM, height * POINTS_PER_MM
        self.canvas.drawImage(ImageReader(image), left, bottom, *size)
