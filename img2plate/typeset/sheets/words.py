"""Words on a page of a PDF: written, measured, and made to fit."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from img2plate.typeset.look import INK, font_file
from img2plate.typeset.sheets.shapes import POINTS_PER_MM, Cell, Shapes, rgb

REGULAR, BOLD = "Hyperlegible", "Hyperlegible-Bold"
MOST_LETTERS = 600
"""No line of a page holds more."""


class Words(Shapes):
    """Adds type to what is drawn; sizes of type are in points."""

    def __init__(self, canvas: Any) -> None:
        from reportlab.pdfbase import pdfmetrics
        from reportlab.pdfbase.ttfonts import TTFont

        super().__init__(canvas)
        for name, bold in ((REGULAR, False), (BOLD, True)):
            if name not in pdfmetrics.getRegisteredFontNames():
                pdfmetrics.registerFont(TTFont(name, str(font_file(bold=bold))))
        self._shown: dict[tuple[str, str, float], str] = {}
        self._widths: dict[tuple[str, str], float] = {}

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
        self.canvas.addLiteral(f"{rgb(colour)} rg BT 1 0 0 1 {left:.3f} {bottom:.3f} Tm {shown}ET")

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
        canvas.addLiteral(f"{rgb(colour)} rg")
        canvas.drawCentredString(0, 0, words)
        canvas.restoreState()

    def text_width(self, words: str, size: float, *, bold: bool = False) -> float:
        """Width of a line in mm."""
        from reportlab.pdfbase.pdfmetrics import stringWidth

        key = words, BOLD if bold else REGULAR
        if key not in self._widths:
            self._widths[key] = float(stringWidth(*key, 1.0)) / POINTS_PER_MM
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
        pitch = grid.pitch * POINTS_PER_MM
        left, top = self.at(grid.left + offset[0], grid.top + offset[1])
        shown, code, at = self._operators(words, BOLD, size / pitch), [], (0, 0)
        font, _, first_word = shown.partition(" Tf ")
        same_font = " Tf " not in first_word  # one subset of the typeface: chosen once
        shown = first_word if same_font else shown
        for row, column in cells:
            code.append(f"{column - at[1]} {at[0] - row} Td {shown}")
            at = row, column
        self.canvas.addLiteral(f"{rgb(colour)} rg")
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
