"""The table of counts: a line a colour, and as many columns as hold something."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from img2plate.plate.plate import Plate
from img2plate.tally.counts import ColourCount, Counts
from img2plate.typeset.look import QUIET, RULE
from img2plate.typeset.sheets.legend import draw_swatch
from img2plate.typeset.sheets.sheet import Sheet

ROW = 6.4
HEAD, TOTAL = 6.0, 8.0
"""Above the first line and below the last one, mm."""
_SWATCHES = 16.0
_GAP = 4.0
"""Between columns, mm."""
_BETWEEN = 10.0
"""Between two tables side by side, mm."""


@dataclass(frozen=True)
class _Column:
    """Numbers below each other, aligned to the right."""

    head: str
    cells: tuple[str, ...]
    total: str
    is_main: bool = False
    """Whether it is what most people look for."""
    is_board: bool = False

    @property
    def says_something(self) -> bool:
        """Whether any line holds a number."""
        return any(cell != "–" for cell in self.cells)


@dataclass(frozen=True)
class CountTable:
    """Where everything stands; made by `plan_table`."""

    columns: tuple[_Column, ...]
    widths: tuple[float, ...]
    code: float
    name: float
    """Widths of these columns, mm; names are cut to theirs."""

    @property
    def width(self) -> float:
        """In mm."""
        return _SWATCHES + self.code + self.name + sum(self.widths) + _GAP * (len(self.widths) + 1)

    @property
    def has_boards(self) -> bool:
        """Whether boards have columns."""
        return any(column.is_board for column in self.columns)


def plan_table(sheet: Sheet, counts: Counts, width: float, boards: int) -> CountTable:
    """Choose the columns: those of boards, when there are no more than `boards` and no name is cut.

    width: what there is, mm. Columns that say nothing, or the same as another, are left out.
    """
    columns = _columns(counts)
    code = max(_width(sheet, line.bead.code, bold=True) for line in counts.colours)
    name = max(_width(sheet, _name(line)) for line in counts.colours)
    if 1 < len(counts.tiles) <= boards:
        full = _table(sheet, (*columns, *_boards(counts)), code, name)
        if full.width <= width:
            return full
    table = _table(sheet, columns, min(code, 24.0), name)
    over = max(0.0, table.width - width)
    return CountTable(table.columns, table.widths, table.code, table.name - over)


def _table(sheet: Sheet, columns: tuple[_Column, ...], code: float, name: float) -> CountTable:
    """Each column as wide as its widest words."""
    widths = tuple(
        max(
            sheet.text_width(column.head, 8),
            *(_width(sheet, cell, bold=True) for cell in (*column.cells, column.total)),
        )
        for column in columns
    )
    return CountTable(columns, widths, code, name)


def _columns(counts: Counts) -> tuple[_Column, ...]:
    """What is told of each colour."""
    lines = counts.colours
    columns = [
        _Column("beads", tuple(f"{c.beads:,}" for c in lines), f"{counts.beads:,}", is_main=True)
    ]
    if counts.with_spares != counts.beads:
        spares = tuple(f"{line.with_spares:,}" for line in lines)
        columns.append(_Column("with spare", spares, f"{counts.with_spares:,}"))
    grams = tuple(f"{line.grams:,.1f}" for line in lines)
    columns.append(_Column("grams", grams, f"{counts.grams:,.1f}"))
    if counts.sold:
        bags = tuple(f"{line.bags:,}" if line.bags else "–" for line in lines)
        columns.append(_Column("bags", bags, f"{counts.bags:,}"))
        if counts.price is not None:
            prices = tuple("–" if c.price is None else f"{c.price:,.2f}" for c in lines)
            columns.append(_Column("price", prices, f"{counts.price:,.2f}"))
    return tuple(column for column in columns if column.says_something)


def _boards(counts: Counts) -> tuple[_Column, ...]:
    """A column for each board."""
    found = []
    for number, name in enumerate(counts.tiles):
        beads = [line.per_tile[number] for line in counts.colours]
        cells = tuple(f"{n:,}" if n else "–" for n in beads)
        found.append(_Column(name, cells, f"{sum(beads):,}", is_board=True))
    return tuple(column for column in found if column.says_something)


def _name(line: ColourCount) -> str:
    """A bead's name, when it says more than its code."""
    return "" if line.bead.name == line.bead.code else line.bead.name


def _width(sheet: Sheet, words: str, *, bold: bool = False) -> float:
    """Width at the table's size."""
    return sheet.text_width(words, 10, bold=bold)


def table_height(lines: int) -> float:
    """Height with head and total, mm."""
    return HEAD + lines * ROW + TOTAL


def draw_table(
    sheet: Sheet,
    table: CountTable,
    plate: Plate,
    symbols: dict[int, str],
    lines: Sequence[tuple[int, ColourCount]],
    place: tuple[float, float, float],
    *,
    total: bool,
) -> None:
    """Draw lines (number in the counts, colour) from a place: left, right and upper edge, mm."""
    left, right, y = place
    edges = [
        right - sum(table.widths[number + 1 :]) - _GAP * (len(table.widths) - 1 - number)
        for number in range(len(table.widths))
    ]
    for edge, column in zip(edges, table.columns, strict=True):
        sheet.text(edge, y + HEAD - 3, column.head, 8, colour=QUIET, align="right")
    y += HEAD
    size = plate.palette.bead_size
    for number, line in lines:
        bead = line.bead
        sheet.line(left, y + ROW, right, y + ROW, 0.1, RULE)
        draw_swatch(sheet, bead.hex, symbols[line.index], left, y + 0.5)
        sheet.swatch(left + 10.5, y + 3.2, 5.4, bead.hex, size.hole_mm / size.outer_mm)
        code = sheet.shorten(bead.code, 10, table.code, bold=True)
        sheet.text(left + _SWATCHES, y + 4.5, code, 10, bold=True)
        name = sheet.shorten(_name(line), 10, table.name)
        sheet.text(left + _SWATCHES + table.code + _GAP, y + 4.5, name, 10)
        for edge, column in zip(edges, table.columns, strict=True):
            sheet.text(edge, y + 4.5, column.cells[number], 10, bold=column.is_main,
                       align="right")  # fmt: skip
        y += ROW
    if total:
        sheet.text(left + _SWATCHES, y + 5.5, "total", 10, bold=True)
        for edge, column in zip(edges, table.columns, strict=True):
            sheet.text(edge, y + 5.5, column.total, 10, bold=True, align="right")


@dataclass(frozen=True)
class Blocks:
    """How the lines of a table stand beside each other, in one block or two."""

    table: CountTable
    across: int
    rows: int

    @property
    def height(self) -> float:
        """With head and total, mm."""
        return table_height(self.rows)


def plan_blocks(
    sheet: Sheet, counts: Counts, width: float, height: float, boards: int
) -> Blocks | None:
    """One block in a height in mm, else two; None when neither has room for all names."""
    number = len(counts.colours)
    for across in (1, 2):
        each = (width - _BETWEEN * (across - 1)) / across
        table = plan_table(sheet, counts, each, boards)
        blocks = Blocks(table, across, -(-number // across))
        if table.width <= each + 1e-6 and blocks.height <= height:
            cut = table.name < max(_width(sheet, _name(line)) for line in counts.colours) - 1e-6
            if not cut or across == 1:
                return blocks
    return None


def draw_blocks(
    sheet: Sheet,
    blocks: Blocks,
    plate: Plate,
    counts: Counts,
    symbols: dict[int, str],
    place: tuple[float, float, float],
) -> None:
    """Draw the whole table from a place: left, right and upper edge, mm."""
    left, right, top = place
    each = (right - left - _BETWEEN * (blocks.across - 1)) / blocks.across
    numbered = list(enumerate(counts.colours))
    for number in range(blocks.across):
        lines = numbered[number * blocks.rows : (number + 1) * blocks.rows]
        x = left + number * (each + _BETWEEN)
        last = number == blocks.across - 1
        draw_table(sheet, blocks.table, plate, symbols, lines, (x, x + each, top), total=last)
