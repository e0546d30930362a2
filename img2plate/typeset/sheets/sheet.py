"""A PDF that is written in mm from the upper left corner, at true scale, in our look."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache
from pathlib import Path
from typing import Any

from img2plate.base.lengths import mm2points
from img2plate.typeset.look import INK, RULE, font_file

REGULAR, BOLD = "Hyperlegible", "Hyperlegible-Bold"
_POINTS_PER_MM = mm2points(1.0)


@cache
def _pdf_colour(colour: str) -> Any:
    """The PDF writer's own colour of `#rrggbb`; reading the text each time takes long."""
    from reportlab.lib.colors import HexColor

    return HexColor(colour)


class Sheet:
    """Wraps the PDF writer: units, colours and type in one place."""

    def __init__(self, path: Path, title: str) -> None:
        from reportlab.pdfbase import pdfmetrics
        from reportlab.pdfbase.ttfonts import TTFont
        from reportlab.pdfgen.canvas import Canvas

        for name, bold in ((REGULAR, False), (BOLD, True)):
            if name not in pdfmetrics.getRegisteredFontNames():
                pdfmetrics.registerFont(TTFont(name, str(font_file(bold=bold))))
        # invariant: no date and no random id, so that equal plates give equal bytes.
        self.canvas: Any = Canvas(str(path), invariant=1, pageCompression=1)
        self.canvas.setTitle(title)
        self.canvas.setCreator("img2plate")
        # Keeps print dialogs from shrinking the page (ISO 32000-1, viewer preferences).
        self.canvas.setViewerPreference("PrintScaling", "None")
        self._height = 0.0
        self.width = 0.0

    def start(self, width: float, height: float, stretch: tuple[float, float] = (1.0, 1.0)) -> None:
        """Begin a page of a size in mm; from here all lengths are mm, y grows downwards.

        With a stretch across and down, paper and all that is drawn are so much larger.
        """
        self._height, self.width = height, width
        size = width * stretch[0], height * stretch[1]
        self.canvas.setPageSize((mm2points(size[0]), mm2points(size[1])))
        if stretch != (1.0, 1.0):
            self.canvas.scale(*stretch)

    def end(self) -> None:
        """Finish the page."""
        self.canvas.showPage()

    def save(self) -> None:
        """Write the file."""
        self.canvas.save()

    def at(self, x: float, y: float) -> tuple[float, float]:
        """Points of a place in mm."""
        return x * _POINTS_PER_MM, (self._height - y) * _POINTS_PER_MM

    def text(
        self,
        x: float,
        y: float,
        words: str,
        size: float = 10,
        *,
        bold: bool = False,
        colour: str = INK,
        align: str = "left",
    ) -> None:
        """Write a line with its baseline at y; size in points."""
        self.canvas.setFont(BOLD if bold else REGULAR, size)
        self.canvas.setFillColor(_pdf_colour(colour))
        draw = {
            "left": self.canvas.drawString,
            "middle": self.canvas.drawCentredString,
            "right": self.canvas.drawRightString,
        }[align]
        draw(*self.at(x, y), words)

    def turned_text(
        self,
        x: float,
        y: float,
        words: str,
        size: float = 10,
        *,
        degrees: float = 90,
        colour: str = INK,
    ) -> None:
        """Write a line that is turned about its middle; 90 reads upwards, -90 downwards."""
        canvas = self.canvas
        canvas.saveState()
        canvas.translate(*self.at(x, y))
        canvas.rotate(degrees)
        canvas.setFont(REGULAR, size)
        canvas.setFillColor(_pdf_colour(colour))
        canvas.drawCentredString(0, 0, words)
        canvas.restoreState()

    def text_width(self, words: str, size: float, *, bold: bool = False) -> float:
        """Width of a line in mm."""
        from reportlab.pdfbase.pdfmetrics import stringWidth

        return float(stringWidth(words, BOLD if bold else REGULAR, size)) / _POINTS_PER_MM

    def shorten(self, words: str, size: float, width: float) -> str:
        """Cut a line so that it fits into a width in mm."""
        while words and self.text_width(words, size) > width:
            words = words.rstrip("…")[:-1].rstrip() + "…"
        return words

    def wrap(self, words: str, size: float, width: float) -> list[str]:
        """Break text into lines of at most a width in mm."""
        lines = [""]
        for word in words.split():
            longer = f"{lines[-1]} {word}".strip()
            if lines[-1] and self.text_width(longer, size) > width:
                lines.append(word)
            else:
                lines[-1] = longer
        return lines

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
        path = self.canvas.beginPath()
        for x0, y0, x1, y1 in ends:
            path.moveTo(*self.at(x0, y0))
            path.lineTo(*self.at(x1, y1))
        self.canvas.setLineWidth(width * _POINTS_PER_MM)
        self.canvas.setStrokeColor(_pdf_colour(colour))
        self.canvas.drawPath(path, stroke=1, fill=0)

    def boxes(self, corners: Iterable[tuple[float, float, float, float]], colour: str) -> None:
        """Fill many boxes (x, y, width, height) with one colour."""
        scale, top = _POINTS_PER_MM, self._height
        # Written as PDF operators at once: a plate has tens of thousands of boxes and symbols.
        edges = ((x, top - y - high, wide, high) for x, y, wide, high in corners)
        code = "".join(" ".join(f"{mm * scale:.3f}" for mm in box) + " re " for box in edges)
        self.canvas.setFillColor(_pdf_colour(colour))
        self.canvas.addLiteral(f"n {code}f" if code else "")

    def dots(self, places: Iterable[tuple[float, float]], diameter: float, colour: str) -> None:
        """Fill many discs of one size, given their middles."""
        # A line of no length with round ends is a disc (ISO 32000-1, 8.5.3.2): short to write.
        scale, top, canvas = _POINTS_PER_MM, self._height, self.canvas
        ends = (f"{x * scale:.3f} {(top - y) * scale:.3f}" for x, y in places)
        code = "".join(f"{end} m {end} l " for end in ends)
        canvas.saveState()
        canvas.setLineCap(1)
        canvas.setLineWidth(diameter * scale)
        canvas.setStrokeColor(_pdf_colour(colour))
        canvas.addLiteral(f"{code}S")
        canvas.restoreState()

    def stamps(
        self, places: Iterable[tuple[float, float]], words: str, size: float, colour: str
    ) -> None:
        """Write the same bold words at many places, each the left end of a baseline."""
        from reportlab.pdfbase.pdfmetrics import getFont

        scale, top, canvas = _POINTS_PER_MM, self._height, self.canvas
        font = getFont(BOLD)
        shown = "".join(
            f"{font.getSubsetInternalName(subset, canvas._doc)} {size:.2f} Tf"
            f" ({canvas._escape(codes)}) Tj "
            for subset, codes in font.splitString(words, canvas._doc)
        )
        code = "".join(
            f"1 0 0 1 {x * scale:.3f} {(top - y) * scale:.3f} Tm {shown}" for x, y in places
        )
        canvas.setFillColor(_pdf_colour(colour))
        canvas.addLiteral(f"BT {code}ET")

    def polygon(self, places: list[tuple[float, float]], colour: str) -> None:
        """Fill a polygon."""
        path = self.canvas.beginPath()
        path.moveTo(*self.at(*places[0]))
        for place in places[1:]:
            path.lineTo(*self.at(*place))
        path.close()
        self.canvas.setFillColor(_pdf_colour(colour))
        self.canvas.drawPath(path, stroke=0, fill=1)

    def swatch(self, x: float, y: float, diameter: float, colour: str, hole: float = 0.5) -> None:
        """Draw a bead from above, centred at a place; `hole` is its share of the diameter."""
        points = self.at(x, y)
        self.canvas.setLineWidth(0.3)
        self.canvas.setStrokeColor(RULE)
        self.canvas.setFillColor(_pdf_colour(colour))
        self.canvas.circle(*points, diameter / 2 * _POINTS_PER_MM, stroke=1, fill=1)
        self.canvas.setFillColor("#ffffff")
        self.canvas.circle(*points, diameter * hole / 2 * _POINTS_PER_MM, stroke=1, fill=1)

    def picture(self, image: Any, x: float, y: float, width: float, height: float) -> None:
        """Place a Pillow picture, its pixels as sharp squares."""
        from reportlab.lib.utils import ImageReader

        left, bottom = self.at(x, y + height)
        size = width * _POINTS_PER_MM, height * _POINTS_PER_MM
        self.canvas.drawImage(ImageReader(image), left, bottom, *size)
