"""One true-scale page: the cells of a tile, what touches it, which way is up, its legend."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np

from img2plate.base.arrays import Cells
from img2plate.base.printer import RULER_MM
from img2plate.plate.plate import Plate
from img2plate.split.tiles import Split, Tile
from img2plate.typeset.look import ACCENT, INK, QUIET
from img2plate.typeset.sheets.edges import draw_edges
from img2plate.typeset.sheets.geometry import BAND, HEAD, RULER, Page, Part
from img2plate.typeset.sheets.printing import Printing
from img2plate.typeset.sheets.sheet import Cell, Sheet
from img2plate.typeset.symbols import CHIP, MOST_OF_CELL, sign_on

_LEGENDS = ((6.4, 62.0), (5.7, 48.0))
"""Row height and column width of the legend, mm; the closer one is taken when it is needed."""
_SYMBOL_POINTS_PER_MM = 1.9
"""Size of a symbol for each mm of pitch: capitals are then 0.45 of a cell high."""


@dataclass(frozen=True, eq=False)
class Job:
    """What all tile pages share."""

    plate: Plate
    split: Split
    symbols: dict[int, str]
    page: Page
    printing: Printing
    rounds: dict[Tile, int] = field(default_factory=dict)
    """Number of the round in which a tile is built; empty when all boards are at hand."""
    empty: frozenset[str] = frozenset()
    """Names of the tiles without beads."""
    title: str = ""
    """Large name of the plate, when it is one of several; tiles of one board then need no name."""
    more: Callable[[Sheet, Part, str], None] | None = None
    """Draws what belongs on each page besides, such as letters of joints; told the large name."""

    def name_of(self, tile: Tile) -> str:
        """Large name on a tile's page."""
        if self.title and len(self.split.tiles) == 1:
            return self.title
        return f"{self.title} {tile.name}".strip()


def draw_tile_page(sheet: Sheet, job: Job, part: Part) -> None:
    """Draw a page, and further ones when its legend does not fit on it."""
    page = job.page
    sheet.start(page.width, page.height, page.stretch)
    of = f", page {part.number} of {part.count}" if part.count > 1 else ""
    sheet.bookmark(f"{part.tile.name}{of}")
    draw_head(sheet, job, part)
    cells = part.cells(job.plate.cells)
    _draw_cells(sheet, job, cells)
    draw_edges(sheet, page, part, job.split, job.printing, empty=job.empty)
    if job.more:
        job.more(sheet, part, job.name_of(part.tile))
    # A small plate is shorter than the ruler beside it.
    top = page.top + max(part.height * page.pitch + BAND + RULER, RULER_MM) + 3
    _draw_legend(sheet, job, part, cells, top)
    sheet.end()


def draw_head(sheet: Sheet, job: Job, part: Part) -> None:
    """Tile name large on the left; way up and seen side on the right, with the small map."""
    tile, plate, margin = part.tile, job.plate, job.page.margin
    name = job.name_of(tile)
    sheet.text(margin, margin + 11, name, 32, bold=True)
    left = margin + max(24.0, sheet.text_width(name, 32, bold=True) + 6)
    room = job.page.width - margin - 80 - left - 28
    sheet.text(left, margin + 5, sheet.shorten(plate.name, 14, room), 14, bold=True)
    where = (
        f"columns {part.x + 1} to {part.x + part.width},"
        f" rows {part.y + 1} to {part.y + part.height}"
    )
    sheet.text(left, margin + 11, where, 10)
    if part.count > 1:
        words = f"page {part.number} of {part.count}"
        sheet.text(margin, margin + 16, words, 10, bold=True)
    sheet.text(left, margin + 16, _board_words(job, tile), 10, colour=QUIET)
    _draw_map(sheet, job, part)
    _draw_way_up(sheet, job)


def _board_words(job: Job, tile: Tile) -> str:
    """Say how many beads lie on the board, how much of it is used, and when it is built."""
    beads = int(np.count_nonzero(tile.of(job.plate.cells) >= 0))
    words = f"{beads} {'bead' if beads == 1 else 'beads'}"
    if (tile.width, tile.height) != job.split.board:
        words += f" on {tile.width} x {tile.height} pegs"
    return words + (f", round {job.rounds[tile]}" if tile in job.rounds else "")


def _draw_way_up(sheet: Sheet, job: Job) -> None:
    """An arrow, and whether the sheet is mirrored."""
    margin, width = job.page.margin, job.page.width
    x, y = width - margin - 4, margin
    sheet.polygon([(x, y), (x + 4, y + 6), (x - 4, y + 6)], ACCENT)
    sheet.boxes([(x - 1.4, y + 5.9, 2.8, 6)], ACCENT)
    sheet.text(x - 6, y + 5, "this way up", 14, bold=True, colour=ACCENT, align="right")
    if job.printing.mirrored:
        sheet.text(x - 6, y + 10.5, "MIRRORED:", 10, bold=True, align="right")
        sheet.text(x - 6, y + 15, "front faces down", 10, bold=True, align="right")
    else:
        sheet.text(x - 6, y + 10.5, "not mirrored:", 10, align="right")
        sheet.text(x - 6, y + 15, "front faces up", 10, align="right")


def _draw_map(sheet: Sheet, job: Job, part: Part) -> None:
    """All tiles small, this one filled."""
    columns, rows = job.split.map_size
    box = min(5.0, 26.0 / columns, 16.0 / rows)
    margin = job.page.margin
    left, top = job.page.width - margin - 68 - columns * box, margin
    # Lines closer than a millimetre would be grey mush: a large map is its frame alone.
    across, down = (1, 1) if box >= 1 else (columns, rows)
    sheet.lines(
        [(left, top + r * box, left + columns * box, top + r * box)
         for r in range(0, rows + 1, down)]
        + [(left + c * box, top, left + c * box, top + rows * box)
           for c in range(0, columns + 1, across)],
        0.15,
        QUIET,
    )  # fmt: skip
    tile = part.tile
    column = columns - 1 - tile.column if part.mirrored else tile.column
    dot = max(box, 1.6)
    x, y = left + (column + 0.5) * box - dot / 2, top + (tile.row + 0.5) * box - dot / 2
    sheet.boxes([(x, y, dot, dot)], INK if box >= dot else ACCENT)


def _draw_cells(sheet: Sheet, job: Job, cells: Cells) -> None:
    """Fill cells by runs, colour by colour, and set the symbols."""
    page, palette = job.page, job.plate.palette
    grid = Cell(page.left, page.top, page.pitch)
    for index in (int(i) for i in np.unique(cells) if i >= 0):
        colour = palette.beads[index].hex
        mask = cells == index
        starts = mask.copy()
        starts[:, 1:] &= ~mask[:, :-1]
        stops = mask.copy()
        stops[:, :-1] &= ~mask[:, 1:]
        rows, first = np.nonzero(starts)
        after = np.nonzero(stops)[1] + 1
        runs = zip(rows.tolist(), first.tolist(), after.tolist(), strict=True)
        sheet.cell_runs(grid, runs, colour)
        places = zip(*(axis.tolist() for axis in np.nonzero(mask)), strict=True)
        draw_symbols(sheet, grid, list(places), job.symbols[index], colour)


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


def _draw_legend(sheet: Sheet, job: Job, part: Part, cells: Cells, top: float) -> None:
    """Symbol, swatch, code, name and beads of each colour on this page; more pages if needed."""
    page = job.page
    counts = np.bincount(cells[cells >= 0], minlength=len(job.plate.palette))
    order = [index for index in job.symbols if counts[index]]
    (row, column), *closer = _LEGENDS
    if len(order) > _places(page, row, column, top) and closer:
        row, column = closer[0]
    while order:
        fits = _places(page, row, column, top)
        here, order = order[:fits], order[fits:]
        used_rows = -(-len(here) // int((page.width - 2 * page.margin) / column))
        for place, index in enumerate(here):
            x = page.margin + place // used_rows * column
            y = top + place % used_rows * row
            _legend_line(sheet, job, index, int(counts[index]), x, y, column)
        if order:
            sheet.text(page.width - page.margin, page.height - page.margin + 3,
                       "more colours: next page", 8, colour=ACCENT, align="right")  # fmt: skip
            sheet.end()
            sheet.start(page.width, page.height, page.stretch)
            draw_head(sheet, job, part)
            top = page.margin + HEAD + 4


def _places(page: Page, row: float, column: float, top: float) -> int:
    """Lines of the legend that fit below a y, in rows and columns of a size in mm."""
    down = int((page.height - page.margin - top) / row)
    return down * int((page.width - 2 * page.margin) / column)


def _legend_line(
    sheet: Sheet, job: Job, index: int, beads: int, x: float, y: float, column: float
) -> None:
    """One colour."""
    bead = job.plate.palette.beads[index]
    draw_swatch(sheet, bead.hex, job.symbols[index], x, y)
    sheet.text(x + 17, y + 4.0, str(beads), 10, bold=True, align="right")
    name = bead.name if bead.name == bead.code else f"{bead.name} ({bead.code})"
    sheet.text(x + 19, y + 4.0, sheet.shorten(name, 9, column - 21), 9)


def draw_swatch(
    sheet: Sheet, colour: str, symbol: str, x: float, y: float, size: float = 5.4
) -> None:
    """A cell as it is on tile pages, with its symbol, for legends."""
    sheet.boxes([(x, y, size, size)], colour)
    sheet.lines([(x, y, x + size, y), (x, y + size, x + size, y + size),
                 (x, y, x, y + size), (x + size, y, x + size, y + size)], 0.1, QUIET)  # fmt: skip
    draw_symbols(sheet, Cell(x, y, size), [(0, 0)], symbol, colour)
