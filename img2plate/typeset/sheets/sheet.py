"""A PDF that is written in mm from the upper left corner, at true scale, in our look."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache
from pathlib import Path
from typing import Any, NamedTuple

from img2plate.base.lengths import mm2points
from img2plate.base.printer import USUAL_MARGIN_MM
from img2plate.typeset.look import INK, PAPER, QUIET, RULE, contrast, font_file

REGULAR, BOLD = "Hyperlegible", "Hyperlegible-Bold"
_POINTS_PER_MM = mm2points(1.0)
_NUMBER_OF_PAGES = "pages"
_PALE = 1.5
"""Contrast to paper below which a bead has a dark rim."""


@cache
def _rgb(colour: str) -> str:
    """Operands of `#rrggbb`, 0 to 1 (ISO 32000-1, 8.6.4.3)."""
    return " ".join(f"{part / 255:.4f}" for part in bytes.fromhex(colour.removeprefix("#")))


class Cell(NamedTuple):
    """The first cell of a grid, in mm."""

    left: float
    top: float
    pitch: float


MOST_LETTERS = 600
"""No line of a page holds more."""


class Sheet:
    """Wraps the PDF writer: units, colours and type in one place.

    With `made`, how what the pages show was made, the title, the page's number and these words
    stand at the foot of each page.
    """

    def __init__(self, path: Path, title: str, made: str | None = None) -> None:
        from reportlab import rl_config
        from reportlab.pdfbase import pdfmetrics
        from reportlab.pdfbase.ttfonts import TTFont
        from reportlab.pdfgen.canvas import Canvas

        for name, bold in ((REGULAR, False), (BOLD, True)):
            if name not in pdfmetrics.getRegisteredFontNames():
                pdfmetrics.registerFont(TTFont(name, str(font_file(bold=bold))))
        # Streams as bytes, not as text: a fifth smaller, and a fifth of a large file's time saved.
        rl_config.useA85 = 0
        # invariant: no date and no random id, so that equal plates give equal bytes.
        self.canvas: Any = Canvas(str(path), invariant=1, pageCompression=1)
        self.canvas.setTitle(title)
        self.canvas.setCreator("img2plate")
        # Left alone, the writer calls the author anonymous; the plate's author is whoever made it.
        self.canvas.setAuthor("")
        self.canvas.setSubject("")
        # Keeps print dialogs from shrinking the page (ISO 32000-1, viewer preferences).
        self.canvas.setViewerPreference("PrintScaling", "None")
        self._path, self._title, self._made, self._pages = path, title, made, 0
        self._width = self._height = self._margin = 0.0
        self._shown: dict[tuple[str, str, float], str] = {}
        self._widths: dict[tuple[str, str], float] = {}

    def start(
        self,
        width: float,
        height: float,
        stretch: tuple[float, float] = (1.0, 1.0),
        margin: float = USUAL_MARGIN_MM,
    ) -> None:
        """Begin a page of a size in mm; from here all lengths are mm, y grows downwards.

        With a stretch across and down, paper and all that is drawn are so much larger.
        """
        self._width, self._height, self._margin = width, height, margin
        size = width * stretch[0], height * stretch[1]
        self.canvas.setPageSize((mm2points(size[0]), mm2points(size[1])))
        if stretch != (1.0, 1.0):
            self.canvas.scale(*stretch)

    def bookmark(self, title: str) -> None:
        """Name the page in the reader's list of contents."""
        self.canvas.bookmarkPage(title)
        self.canvas.addOutlineEntry(title, title)

    def end(self) -> None:
        """Finish the page."""
        self._pages += 1
        if self._made is not None:
            self._draw_foot(self._made)
        self.canvas.showPage()

    def _draw_foot(self, made: str) -> None:
        """Whose page this is, which of how many, and how it was made."""
        left, right, y = self._margin, self._width - self._margin, self._height - self._margin - 0.4
        room = (right - left) * 0.45
        self.text(left, y, words := f"page {self._pages} of", 8)
        # How many there are is known at the end: a form that is filled in then, seen on each page.
        left += self.text_width(f"{words} ", 8)
        self.canvas.saveState()
        self.canvas.translate(*self.at(left, y))
        self.canvas.doForm(_NUMBER_OF_PAGES)
        self.canvas.restoreState()
        left += self.text_width("0000", 8)
        title = self.shorten(self._title, 8, room)
        self.text(left, y, title, 8, bold=True)
        left += self.text_width(title, 8, bold=True) + 6
        self.text(right, y, self.shorten(made, 7, right - left), 7, colour=QUIET,
                  align="right")  # fmt: skip

    def save(self) -> None:
        """Write the file."""
        if self._made is not None:
            self._fill_in_pages()
        # Written here: where the disk is full the library would leave its file open.
        self._path.write_bytes(self.canvas.getpdfdata())

    def _fill_in_pages(self) -> None:
        """Say how many pages there are, on all of them."""
        self.canvas.beginForm(_NUMBER_OF_PAGES, 0, -4, 40, 12)
        self._height = 0.0
        self.text(0, 0, str(self._pages), 8)
        self.canvas.endForm()

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
        share = {"left": 0.0, "middle": 0.5, "right": 1.0}[align]
        x -= share * self.text_width(words, size, bold=bold) if share else 0.0
        # Written as PDF operators, as is all that comes in thousands: the library's own way takes
        # several times as long.
        shown = self._operators(words, BOLD if bold else REGULAR, size)
        left, bottom = self.at(x, y)
        self.canvas.addLiteral(f"{_rgb(colour)} rg BT 1 0 0 1 {left:.3f} {bottom:.3f} Tm {shown}ET")

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
        canvas.addLiteral(f"{_rgb(colour)} rg")
        canvas.drawCentredString(0, 0, words)
        canvas.restoreState()

    def text_width(self, words: str, size: float, *, bold: bool = False) -> float:
        """Width of a line in mm."""
        from reportlab.pdfbase.pdfmetrics import stringWidth

        key = words, BOLD if bold else REGULAR
        if key not in self._widths:
            self._widths[key] = float(stringWidth(*key, 1.0)) / _POINTS_PER_MM
        return self._widths[key] * size

    def shorten(self, words: str, size: float, width: float, *, bold: bool = False) -> str:
        """Cut a line so that it fits into a width in mm."""
        words = words if len(words) <= MOST_LETTERS else f"{words[:MOST_LETTERS]}…"
        while words and self.text_width(words, size, bold=bold) > width:
            cut = words.rstrip("…")[:-1].rstrip()
            words = f"{cut}…" if cut else ""
        return words

    def wrap(self, words: str, size: float, width: float) -> list[str]:
        """Break text into lines of at most a width in mm; a word that is wider is cut."""
        lines = [""]
        for word in (self.shorten(word, size, width) for word in words.split()):
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
        scale, top = _POINTS_PER_MM, self._height
        code = "".join(
            f"{x0 * scale:.3f} {(top - y0) * scale:.3f} m"
            f" {x1 * scale:.3f} {(top - y1) * scale:.3f} l "
            for x0, y0, x1, y1 in ends
        )
        if code:
            self.canvas.addLiteral(f"{_rgb(colour)} RG {width * scale:.3f} w n {code}S")

    def boxes(self, corners: Iterable[tuple[float, float, float, float]], colour: str) -> None:
        """Fill many boxes (x, y, width, height) with one colour."""
        scale, top = _POINTS_PER_MM, self._height
        # Written as PDF operators at once: a plate has tens of thousands of boxes and symbols.
        edges = ((x, top - y - high, wide, high) for x, y, wide, high in corners)
        code = "".join(" ".join(f"{mm * scale:.3f}" for mm in box) + " re " for box in edges)
        self.canvas.addLiteral(f"{_rgb(colour)} rg")
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
        canvas.addLiteral(f"{_rgb(colour)} RG")
        canvas.addLiteral(f"{code}S")
        canvas.restoreState()

    def cell_runs(self, grid: Cell, runs: Iterable[tuple[int, int, int]], colour: str) -> None:
        """Fill runs of cells (row, first column, column after the last) of a grid."""
        # In units of a cell the numbers are whole: quick to write, short, and exact.
        pitch, (left, top) = grid.pitch * _POINTS_PER_MM, self.at(grid.left, grid.top)
        code = "".join(f"{a} {row} {b - a} 1 re " for row, a, b in runs)
        self.canvas.addLiteral(f"{_rgb(colour)} rg")
        matrix = f"{pitch:.6f} 0 0 {-pitch:.6f} {left:.4f} {top:.4f}"
        self.canvas.addLiteral(f"q {matrix} cm n {code}f Q" if code else "")

    def cell_words(
        self,
        grid: Cell,
        cells: Iterable[tuple[int, int]],
        offset: tuple[float, float],
        words: str,
        size: float,
        colour: str,
    ) -> None:
        """Write the same bold words in many cells (row, column) of a grid.

        `offset` is the left end of the baseline, mm from the cell's upper left corner.
        """
        pitch = grid.pitch * _POINTS_PER_MM
        left, top = self.at(grid.left + offset[0], grid.top + offset[1])
        shown, code, at = self._operators(words, BOLD, size / pitch), [], (0, 0)
        font, _, first_word = shown.partition(" Tf ")
        same_font = " Tf " not in first_word  # one subset of the typeface: chosen once
        shown = first_word if same_font else shown
        for row, column in cells:
            code.append(f"{column - at[1]} {at[0] - row} Td {shown}")
            at = row, column
        self.canvas.addLiteral(f"{_rgb(colour)} rg")
        chosen = f"{font} Tf " if same_font else ""
        matrix = f"{pitch:.6f} 0 0 {pitch:.6f} {left:.4f} {top:.4f} Tm"
        self.canvas.addLiteral(f"BT {chosen}{matrix} {''.join(code)}ET")

    def _operators(self, words: str, name: str, size: float) -> str:
        """Operators that choose the typeface and show words; its subsets are embedded."""
        from reportlab.pdfbase.pdfmetrics import getFont

        key = words, name, size
        if key not in self._shown:
            font, document = getFont(name), self.canvas._doc
            self._shown[key] = "".join(
                f"{font.getSubsetInternalName(subset, document)} {size:.4f} Tf"
                f" ({self.canvas._escape(codes)}) Tj "
                for subset, codes in font.splitString(words, document)
            )
        return self._shown[key]

    def polygon(self, places: list[tuple[float, float]], colour: str) -> None:
        """Fill a polygon."""
        path = self.canvas.beginPath()
        path.moveTo(*self.at(*places[0]))
        for place in places[1:]:
            path.lineTo(*self.at(*place))
        path.close()
        self.canvas.addLiteral(f"{_rgb(colour)} rg")
        self.canvas.drawPath(path, stroke=0, fill=1)

    def swatch(self, x: float, y: float, diameter: float, colour: str, hole: float = 0.5) -> None:
        """Draw a bead from above, centred at a place; `hole` is its share of the diameter."""
        points = self.at(x, y)
        self.canvas.setLineWidth(0.3)
        # White and pale beads are seen by their rims.
        self.canvas.setStrokeColor(QUIET if contrast(colour, PAPER) < _PALE else RULE)
        self.canvas.addLiteral(f"{_rgb(colour)} rg")
        self.canvas.circle(*points, diameter / 2 * _POINTS_PER_MM, stroke=1, fill=1)
        self.canvas.setFillColor("#ffffff")
        self.canvas.circle(*points, diameter * hole / 2 * _POINTS_PER_MM, stroke=1, fill=1)

    def picture(self, image: Any, x: float, y: float, width: float, height: float) -> None:
        """Place a Pillow picture, its pixels as sharp squares."""
        from reportlab.lib.utils import ImageReader

        left, bottom = self.at(x, y + height)
        size = width * _POINTS_PER_MM, height * _POINTS_PER_MM
        self.canvas.drawImage(ImageReader(image), left, bottom, *size)
