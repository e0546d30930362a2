"""One true-scale page: the cells of a tile, what touches it, which way is up, its legend."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from img2plate.base.arrays import Cells
from img2plate.plate.plate import Plate
from img2plate.split.marks import Mark, marks_of
from img2plate.split.tiles import Split, Tile
from img2plate.typeset.look import ACCENT, INK, QUIET, RULE, text_on
from img2plate.typeset.sheets.geometry import BAND, HEAD, MARGIN, RULER, RULER_MM, Page, Part
from img2plate.typeset.sheets.sheet import Sheet

HEAVY_EVERY = 10
"""Pegs between heavier lines, counted from the plate's corner."""
NUMBER_EVERY = 5
_LEGEND_ROW = 6.4
_LEGEND_COLUMN = 62.0


@dataclass(frozen=True, eq=False)
class Job:
    """What all tile pages share."""

    plate: Plate
    split: Split
    symbols: dict[int, str]
    page: Page
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
    sheet.start(page.width, page.height)
    _draw_head(sheet, job, part)
    cells = job.plate.cells[part.y : part.y + part.height, part.x : part.x + part.width]
    _draw_cells(sheet, job, cells)
    _draw_grid(sheet, job, part)
    _draw_numbers(sheet, page, part)
    _draw_marks(sheet, page, part, marks_of(job.split, part.tile))
    _draw_rulers(sheet, page, part)
    if job.more:
        job.more(sheet, part, job.name_of(part.tile))
    # A small plate is shorter than the ruler beside it.
    top = page.top + max(part.height * page.pitch + BAND + RULER + 3, RULER_MM + 6)
    _draw_legend(sheet, job, part, cells, top)
    sheet.end()


def _draw_head(sheet: Sheet, job: Job, part: Part) -> None:
    """Tile name large on the left; way up and seen side on the right, with the small map."""
    tile, plate = part.tile, job.plate
    name = job.name_of(tile)
    sheet.text(MARGIN, MARGIN + 11, name, 32, bold=True)
    right = MARGIN + max(24.0, sheet.text_width(name, 32, bold=True) + 6)
    sheet.text(right, MARGIN + 5, plate.name, 14, bold=True)
    where = (
        f"columns {part.x + 1} to {part.x + part.width},"
        f" rows {part.y + 1} to {part.y + part.height}"
    )
    sheet.text(right, MARGIN + 11, where, 10)
    said = f"part {part.number} of {part.count}: " if part.count > 1 else ""
    beads = np.count_nonzero(tile.of(plate.cells) >= 0)
    sheet.text(right, MARGIN + 16, f"{said}{beads} beads on this board", 10, colour=QUIET)
    _draw_map(sheet, job, part)
    _draw_way_up(sheet, job.page)


def _draw_way_up(sheet: Sheet, page: Page) -> None:
    """An arrow, and from which side one looks."""
    x, y = page.width - MARGIN - 4, MARGIN
    sheet.polygon([(x, y), (x + 4, y + 6), (x - 4, y + 6)], ACCENT)
    sheet.boxes([(x - 1.4, y + 5.9, 2.8, 6)], ACCENT)
    sheet.text(x - 6, y + 5, "this way up", 14, bold=True, colour=ACCENT, align="right")
    sheet.text(x - 6, y + 10.5, "seen from above, on the board", 10, align="right")


def _draw_map(sheet: Sheet, job: Job, part: Part) -> None:
    """All tiles small, this one filled."""
    columns, rows = job.split.map_size
    box = min(5.0, 26.0 / columns, 14.0 / rows)
    left, top = job.page.width - MARGIN - 76 - columns * box, MARGIN
    sheet.lines(
        [(left, top + r * box, left + columns * box, top + r * box) for r in range(rows + 1)]
        + [(left + c * box, top, left + c * box, top + rows * box) for c in range(columns + 1)],
        0.15,
        QUIET,
    )
    tile = part.tile
    sheet.boxes([(left + tile.column * box, top + tile.row * box, box, box)], INK)


def _draw_cells(sheet: Sheet, job: Job, cells: Cells) -> None:
    """Fill cells by runs, colour by colour, and set the symbols."""
    page, palette = job.page, job.plate.palette
    left, top, pitch = page.left, page.top, page.pitch
    for index in (int(i) for i in np.unique(cells) if i >= 0):
        colour = palette.beads[index].hex
        mask = cells == index
        padded = np.pad(mask, ((0, 0), (1, 1))).astype(np.int8)
        edges = np.diff(padded, axis=1)
        rows, starts = np.nonzero(edges == 1)
        stops = np.nonzero(edges == -1)[1]
        sheet.boxes(
            [
                (left + a * pitch, top + r * pitch, (b - a) * pitch, pitch)
                for r, a, b in zip(rows.tolist(), starts.tolist(), stops.tolist(), strict=True)
            ],
            colour,
        )
        _draw_symbols(sheet, page, np.argwhere(mask), job.symbols[index], text_on(colour))


def _draw_symbols(sheet: Sheet, page: Page, places: np.ndarray, symbol: str, colour: str) -> None:
    """Centre a symbol in each cell (row, column): at most two thirds of the cell's width."""
    size = page.pitch * (1.55 if len(symbol) == 1 else 1.2)
    wide = sheet.text_width(symbol, size, bold=True)
    drop = page.pitch / 2 + size * 0.3528 * 0.34  # cap height of the typeface is 0.67 em
    left, top = page.left + page.pitch / 2 - wide / 2, page.top + drop
    sheet.stamps(
        [(left + c * page.pitch, top + r * page.pitch) for r, c in places.tolist()],
        symbol,
        size,
        colour,
    )


def _draw_grid(sheet: Sheet, job: Job, part: Part) -> None:
    """Hairlines round cells; heavier every ten pegs of the whole plate, and round the part."""
    page = job.page
    right = page.left + part.width * page.pitch
    bottom = page.top + part.height * page.pitch
    across = [(page.left + i * page.pitch, part.x + i) for i in range(part.width + 1)]
    down = [(page.top + i * page.pitch, part.y + i) for i in range(part.height + 1)]
    sheet.lines(
        [(x, page.top, x, bottom) for x, _ in across] + [(page.left, y, right, y) for y, _ in down],
        0.1,
        RULE,
    )
    heavy = [(x, page.top, x, bottom) for x, peg in across if peg % HEAVY_EVERY == 0]
    heavy += [(page.left, y, right, y) for y, peg in down if peg % HEAVY_EVERY == 0]
    heavy += [(x, page.top, x, bottom) for x in (page.left, right)]
    heavy += [(page.left, y, right, y) for y in (page.top, bottom)]
    sheet.lines(heavy, 0.35, INK)


def _draw_numbers(sheet: Sheet, page: Page, part: Part) -> None:
    """Whole-plate peg numbers on all four sides."""
    bottom = page.top + part.height * page.pitch
    right = page.left + part.width * page.pitch
    for i in _numbered(part.x, part.width):
        x = page.left + (i + 0.5) * page.pitch
        for y in (page.top - 1.2, bottom + 3.6):
            sheet.text(x, y, str(part.x + i + 1), 8, align="middle")
    for i in _numbered(part.y, part.height):
        y = page.top + (i + 0.5) * page.pitch + 1.0
        sheet.text(page.left - 1.2, y, str(part.y + i + 1), 8, align="right")
        sheet.text(right + 1.2, y, str(part.y + i + 1), 8)


def _numbered(first: int, count: int) -> list[int]:
    """Offsets that carry a number: every fifth peg of the plate, and the first of the part."""
    fifth = [i for i in range(count) if (first + i + 1) % NUMBER_EVERY == 0]
    return fifth if fifth and fifth[0] < 2 else [0, *fifth]


def _draw_marks(sheet: Sheet, page: Page, part: Part, marks: tuple[Mark, ...]) -> None:
    """Ticks with the seam's number where other tiles touch, and angles at the corners."""
    right = page.left + part.width * page.pitch
    bottom = page.top + part.height * page.pitch
    for mark in marks:
        if not part.touches(mark.edge):
            continue
        if mark.edge in ("left", "right"):
            i = mark.peg - part.y
            if not 0 <= i < part.height:
                continue
            y = page.top + (i + 0.5) * page.pitch
            x, out = (page.left, -1) if mark.edge == "left" else (right, 1)
            sheet.line(x, y, x + out * 8.5, y, 0.35, ACCENT)
            words = _mark_words(mark)
            align = "right" if out < 0 else "left"
            sheet.text(x + out * 5.6, y - 0.9, words, 10, bold=True, colour=ACCENT, align=align)
        else:
            i = mark.peg - part.x
            if not 0 <= i < part.width:
                continue
            x = page.left + (i + 0.5) * page.pitch
            y, out = (page.top, -1) if mark.edge == "top" else (bottom, 1)
            sheet.line(x, y, x, y + out * 8.5, 0.35, ACCENT)
            at = y - 5.4 if out < 0 else y + 8.0
            sheet.text(x + 0.9, at, _mark_words(mark), 10, bold=True, colour=ACCENT)
    _name_neighbours(sheet, page, part, marks)
    corners = [(page.left, page.top, -1, -1), (right, page.top, 1, -1),
               (page.left, bottom, -1, 1), (right, bottom, 1, 1)]  # fmt: skip
    for x, y, dx, dy in corners:
        sheet.lines([(x, y, x + dx * 5, y), (x, y, x, y + dy * 5)], 0.25, INK)


def _mark_words(mark: Mark) -> str:
    """The seam's number; on a short edge the neighbour's name too."""
    return str(mark.seam) if mark.is_long else f"{mark.seam} {mark.neighbour}"


def _name_neighbours(sheet: Sheet, page: Page, part: Part, marks: tuple[Mark, ...]) -> None:
    """Say on each long edge which tile touches it."""
    names = {
        mark.edge: mark.neighbour for mark in marks if mark.is_long and part.touches(mark.edge)
    }
    middle_x = page.left + part.width * page.pitch * 0.32
    middle_y = page.top + part.height * page.pitch * 0.32
    bottom, right = page.top + part.height * page.pitch, page.left + part.width * page.pitch
    places = {"top": (middle_x, page.top - 5.2), "bottom": (middle_x, bottom + 8.0)}
    for edge, (x, y) in places.items():
        if edge in names:
            sheet.text(x, y, f"touches {names[edge]}", 10, colour=ACCENT, align="middle")
    for edge, x, turned in (("left", page.left - 6.2, 90), ("right", right + 6.2, -90)):
        if edge in names:
            canvas = sheet.canvas
            canvas.saveState()
            canvas.translate(*sheet.at(x, middle_y))
            canvas.rotate(turned)
            canvas.setFont("Hyperlegible", 10)
            canvas.setFillColor(ACCENT)
            canvas.drawCentredString(0, 0, f"touches {names[edge]}")
            canvas.restoreState()


def _draw_rulers(sheet: Sheet, page: Page, part: Part) -> None:
    """100 mm both ways, with a tick every 10 mm: print at 100 %, then measure."""
    x, y = page.left, page.top + part.height * page.pitch + BAND + 3
    ticks = [(x + mm, y, x + mm, y + (3 if mm % 50 == 0 else 1.8)) for mm in range(0, 101, 10)]
    sheet.lines([(x, y, x + RULER_MM, y), *ticks], 0.2, INK)
    sheet.text(x + RULER_MM + 2, y + 2.6, "100 mm: measure it. Print at 100 %.", 8, colour=QUIET)
    x, y = MARGIN + 4, page.top
    ticks = [(x, y + mm, x - (3 if mm % 50 == 0 else 1.8), y + mm) for mm in range(0, 101, 10)]
    sheet.lines([(x, y, x, y + RULER_MM), *ticks], 0.2, INK)


def _draw_legend(sheet: Sheet, job: Job, part: Part, cells: Cells, top: float) -> None:
    """Symbol, swatch, code, name and beads of each colour on this page; more pages if needed."""
    page = job.page
    counts = np.bincount(cells[cells >= 0], minlength=len(job.plate.palette))
    order = [index for index in job.symbols if counts[index]]
    columns = max(1, int((page.width - 2 * MARGIN) / _LEGEND_COLUMN))
    while order:
        rows = int((page.height - MARGIN - top) / _LEGEND_ROW)
        here, order = order[: rows * columns], order[rows * columns :]
        used_rows = -(-len(here) // columns)
        for place, index in enumerate(here):
            x = MARGIN + place // used_rows * _LEGEND_COLUMN
            y = top + place % used_rows * _LEGEND_ROW
            _legend_line(sheet, job, index, int(counts[index]), x, y)
        if order:
            sheet.text(page.width - MARGIN, page.height - MARGIN + 3, "legend goes on overleaf", 8,
                       colour=ACCENT, align="right")  # fmt: skip
            sheet.end()
            sheet.start(page.width, page.height)
            _draw_head(sheet, job, part)
            top = MARGIN + HEAD + 4


def _legend_line(sheet: Sheet, job: Job, index: int, beads: int, x: float, y: float) -> None:
    """One colour."""
    bead = job.plate.palette.beads[index]
    sheet.boxes([(x, y, 5.4, 5.4)], bead.hex)
    sheet.lines([(x, y, x + 5.4, y), (x, y + 5.4, x + 5.4, y + 5.4),
                 (x, y, x, y + 5.4), (x + 5.4, y, x + 5.4, y + 5.4)], 0.1, QUIET)  # fmt: skip
    sheet.text(x + 2.7, y + 3.9, job.symbols[index], 9, bold=True, colour=text_on(bead.hex),
               align="middle")  # fmt: skip
    sheet.text(x + 17, y + 4.0, str(beads), 10, bold=True, align="right")
    name = bead.name if bead.name == bead.code else f"{bead.name} ({bead.code})"
    while sheet.text_width(name, 9) > _LEGEND_COLUMN - 21:
        name = name[:-2].rstrip() + "…"
    sheet.text(x + 19, y + 4.0, name, 9)
