"""Symbol, swatch, beads and name of each colour on a page, and how cells carry their symbols."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from img2plate.base.arrays import Cells
from img2plate.colour.palette import Bead, Palette
from img2plate.typeset.look import QUIET
from img2plate.typeset.sheets.geometry import Page
from img2plate.typeset.sheets.shapes import Cell
from img2plate.typeset.sheets.sheet import Sheet
from img2plate.typeset.symbols import CHIP, MOST_OF_CELL, sign_on

_ROOMY, _CLOSE = (6.4, 62.0), (5.7, 48.0)
"""Row height and column width, mm; the closer one is taken when it is needed."""
_COUNT = 9.0
"""Width of one board's beads, mm."""
_SYMBOL_POINTS_PER_MM = 1.9
"""Size of a symbol for each mm of pitch: capitals are then 0.45 of a cell high."""


@dataclass(frozen=True)
class Layout:
    """Rows and columns of a legend."""

    row: float
    column: float
    """In mm."""
    rows: int
    columns: int
    top: float
    by_part: bool = False
    """Whether each board has a column of beads."""

    @property
    def most(self) -> int:
        """Colours that it holds."""
        return self.rows * self.columns

    def of(self, colours: int) -> Layout:
        """With no more rows than so many colours need, all columns about equal."""
        rows = min(self.rows, -(-colours // self.columns))
        return Layout(self.row, self.column, rows, self.columns, self.top, self.by_part)

    @property
    def end(self) -> float:
        """Where what lies below it starts."""
        return self.top + self.rows * self.row


def lay_out(page: Page, colours: int, parts: int, top: float, end: float) -> Layout:
    """The best legend that holds so many colours between two y; the closest one if none does.

    parts: boards on the page; of several, the beads of each are told where there is room.
    """
    ways = [_layout(page, *size, top, end) for size in (_ROOMY, _CLOSE)]
    if parts > 1:
        wide = _ROOMY[1] + _COUNT * (parts - 1)
        ways.insert(0, _layout(page, _CLOSE[0], wide, top + 4, end, by_part=True))
    return next((way for way in ways if colours <= way.most), ways[-1]).of(colours)


def _layout(
    page: Page, row: float, column: float, top: float, end: float, *, by_part: bool = False
) -> Layout:
    """As many rows and columns as there is room for."""
    columns = int((page.width - 2 * page.margin + 1e-9) / column)
    return Layout(row, column, max(0, int((end - top) / row)), columns, top, by_part)


def fits(page: Page, colours: int, top: float) -> bool:
    """Whether a legend of so many colours has room between a y and the foot."""
    return colours <= _layout(page, *_CLOSE, top, page.lower_end).most


def beads_of(cells: Sequence[Cells], palette: Palette) -> NDArray[np.int64]:
    """(parts, n) beads of each colour on each part."""
    return np.stack([np.bincount(part[part >= 0], minlength=len(palette)) for part in cells])


def draw_legend(
    sheet: Sheet,
    layout: Layout,
    margin: float,
    palette: Palette,
    symbols: Mapping[int, str],
    names: Sequence[str],
    counts: NDArray[np.int64],
    colours: Sequence[int],
) -> None:
    """Draw a line for each of the colours; names (parts,) of boards, counts (parts, n)."""
    if not layout.by_part:
        counts = counts.sum(axis=0, keepdims=True)
    numbers = len(counts) * _COUNT if layout.by_part else 10.0
    for place, index in enumerate(colours):
        x = margin + place // layout.rows * layout.column
        y, bead = layout.top + place % layout.rows * layout.row, palette.beads[index]
        draw_swatch(sheet, bead.hex, symbols[index], x, y)
        for number, beads in enumerate(counts[:, index].tolist()):
            right = x + 7 + numbers * (number + 1) / len(counts)
            if layout.by_part and place % layout.rows == 0:
                sheet.text(right, layout.top - 1.6, names[number], 8, colour=QUIET, align="right")
            sheet.text(right, y + 4.0, str(beads) if beads else "–", 10, bold=True, align="right")
        room = layout.column - numbers - 11
        sheet.text(x + numbers + 9, y + 4.0, sheet.shorten(_name(bead), 9, room), 9)


def _name(bead: Bead) -> str:
    """Name with the code, where they differ."""
    return bead.name if bead.name == bead.code else f"{bead.name} ({bead.code})"


def draw_swatch(
    sheet: Sheet, colour: str, symbol: str, x: float, y: float, size: float = 5.4
) -> None:
    """A cell as it is on tile pages, with its symbol, for legends."""
    sheet.boxes([(x, y, size, size)], colour)
    sheet.lines([(x, y, x + size, y), (x, y + size, x + size, y + size),
                 (x, y, x, y + size), (x + size, y, x + size, y + size)], 0.1, QUIET)  # fmt: skip
    draw_symbols(sheet, Cell(x, y, size), [(0, 0)], symbol, colour)


def draw_symbols(
    sheet: Sheet, grid: Cell, cells: list[tuple[int, int]], symbol: str, colour: str
) -> None:
    """Centre a symbol in cells (row, column) of a grid: at most two thirds of a cell wide."""
    sign, cell = sign_on(colour), grid.pitch
    if sign.chip:
        middles = [(grid.left + (c + 0.5) * cell, grid.top + (r + 0.5) * cell) for r, c in cells]
        sheet.dots(middles, cell * CHIP, sign.chip)
    size = symbol_size(sheet, symbol, cell)
    wide = sheet.text_width(symbol, size, bold=True)
    drop = size * 0.3528 * 0.335  # half the typeface's cap height of 0.67 em, in mm
    offset = (cell - wide) / 2, cell / 2 + drop
    sheet.cell_words(grid, cells, offset, symbol, size, sign.ink)


def symbol_size(sheet: Sheet, symbol: str, cell: float) -> float:
    """Points of a symbol on a cell of a size in mm."""
    size = cell * _SYMBOL_POINTS_PER_MM
    wide = sheet.text_width(symbol, size, bold=True)
    return size * min(1.0, cell * MOST_OF_CELL / wide)
