"""The count sheet: beads of each colour, in total, in bags, and per board."""

from __future__ import annotations

from img2plate.base.lengths import Paper
from img2plate.plate.plate import Plate
from img2plate.tally.counts import ColourCount, Counts
from img2plate.typeset.look import QUIET, RULE
from img2plate.typeset.sheets.printing import MARGIN
from img2plate.typeset.sheets.sheet import Sheet
from img2plate.typeset.sheets.tile_page import draw_swatch

_ROW = 7.0
_TOP = 44.0
_COLUMN = 11.0
_MOST_BESIDE = 5
"""Boards that get a column on the first table; more get tables of their own."""
MOST_TABLED = 60
"""Boards that get tables; of more, each board's page and the files of counts tell."""


def draw_count_pages(
    sheet: Sheet, paper: Paper, plate: Plate, counts: Counts, symbols: dict[int, str]
) -> None:
    """One page, or as many as the colours need; then tables per board."""
    pages = _pages(paper, counts)
    for number, lines in enumerate(pages, 1):
        sheet.start(paper.width_mm, paper.height_mm)
        if number == 1:
            sheet.bookmark("Count sheet")
        of = f", {number} of {len(pages)}" if len(pages) > 1 else ""
        sheet.text(MARGIN + 8, MARGIN + 12, f"Count sheet{of}", 20, bold=True)
        sheet.text(MARGIN + 8, MARGIN + 19, _said(counts), 10, colour=QUIET)
        effort = f"about {counts.hours:.1f} {counts.effort.words}"
        sheet.text(MARGIN + 8, MARGIN + 24, effort, 10, colour=QUIET)
        _draw_head(sheet, paper, counts)
        for place, line in enumerate(lines):
            _draw_line(sheet, paper, plate, counts, line, symbols, _TOP + place * _ROW)
        if number == len(pages):
            _draw_total(sheet, paper, counts, _TOP + len(lines) * _ROW)
        sheet.end()
    if _MOST_BESIDE < len(counts.tiles) <= MOST_TABLED:
        _draw_board_tables(sheet, paper, counts, symbols)


def _pages(paper: Paper, counts: Counts) -> list[tuple[ColourCount, ...]]:
    """Lines of each page."""
    rows = int((paper.height_mm - _TOP - MARGIN - 14) / _ROW)
    return [counts.colours[i : i + rows] for i in range(0, len(counts.colours), rows)]


def _said(counts: Counts) -> str:
    """The sums in words."""
    spare = f"with {counts.spare_percent:g}% spare"
    words = f"{counts.beads:,} beads; {spare} {counts.with_spares:,}, {counts.grams:,.0f} g"
    if counts.sold:
        words += f"; {counts.bags} {counts.sold.words}"
        words += f" for {counts.price:,.2f}" if counts.price is not None else ""
        words += f" without {counts.unpriced} colours" if counts.unpriced else ""
    return words


def _figures(counts: Counts) -> list[str]:
    """Names of the number columns."""
    names = ["beads", "with spare", "grams"]
    if counts.sold:
        names += ["bags"] + (["price"] if counts.sold.priced else [])
    return names


def _columns(paper: Paper, counts: Counts) -> tuple[list[float], list[float]]:
    """Right edges of the number columns, and of the boards' columns."""
    tiles = len(counts.tiles) if 1 < len(counts.tiles) <= _MOST_BESIDE else 0
    end = paper.width_mm - MARGIN - 8
    per_tile = [end - _COLUMN * (tiles - 1 - i) for i in range(tiles)]
    x, numbers = end - _COLUMN * tiles, []
    for width in reversed([0.0, 20.0, 16.0, 12.0, 18.0][: len(_figures(counts))]):
        numbers.append(x)
        x -= width
    return numbers[::-1], per_tile


def _draw_head(sheet: Sheet, paper: Paper, counts: Counts) -> None:
    """Names of the columns."""
    numbers, per_tile = _columns(paper, counts)
    for x, name in zip(numbers, _figures(counts), strict=True):
        sheet.text(x, _TOP - 3, name, 8, colour=QUIET, align="right")
    for x, tile in zip(per_tile, counts.tiles, strict=False):
        sheet.text(x, _TOP - 3, tile, 8, colour=QUIET, align="right")


def _draw_line(
    sheet: Sheet,
    paper: Paper,
    plate: Plate,
    counts: Counts,
    line: ColourCount,
    symbols: dict[int, str],
    y: float,
) -> None:
    """Symbol, swatch, code, name, numbers."""
    left, bead, size = MARGIN + 8, line.bead, plate.palette.bead_size
    sheet.line(left, y + _ROW, paper.width_mm - left, y + _ROW, 0.1, RULE)
    draw_swatch(sheet, bead.hex, symbols[line.index], left, y + 0.8)
    sheet.swatch(left + 10.5, y + 3.5, 5.4, bead.hex, size.hole_mm / size.outer_mm)
    numbers, per_tile = _columns(paper, counts)
    room = numbers[0] - left - 16 - 11
    code = sheet.shorten(bead.code, 10, room)
    sheet.text(left + 16, y + 4.8, code, 10, bold=True)
    indent = max(14.0, sheet.text_width(code, 10, bold=True) + 3)
    name = "" if bead.name == bead.code else bead.name
    sheet.text(left + 16 + indent, y + 4.8, sheet.shorten(name, 10, room - indent), 10)
    figures = _line_figures(counts, line)
    for x, figure in zip(numbers, figures, strict=True):
        sheet.text(x, y + 4.8, figure, 10, bold=x == numbers[0], align="right")
    for x, beads in zip(per_tile, line.per_tile, strict=False):
        sheet.text(x, y + 4.8, str(beads) if beads else "–", 9, align="right")


def _line_figures(counts: Counts, line: ColourCount | Counts) -> list[str]:
    """Numbers of a colour, or of the sum."""
    figures = [f"{line.beads:,}", f"{line.with_spares:,}", f"{line.grams:,.1f}"]
    if counts.sold:
        figures.append(f"{line.bags:,}" if line.bags else "–")
        if counts.sold.priced:
            figures.append("–" if line.price is None else f"{line.price:,.2f}")
    return figures


def _draw_total(sheet: Sheet, paper: Paper, counts: Counts, y: float) -> None:
    """The sums."""
    numbers, per_tile = _columns(paper, counts)
    sheet.text(MARGIN + 24, y + 5.5, "total", 10, bold=True)
    for x, figure in zip(numbers, _line_figures(counts, counts), strict=True):
        sheet.text(x, y + 5.5, figure, 10, bold=True, align="right")
    sums = [sum(column) for column in zip(*(c.per_tile for c in counts.colours), strict=True)]
    for x, beads in zip(per_tile, sums, strict=False):
        sheet.text(x, y + 5.5, str(beads), 9, bold=True, align="right")
    note = "Grams from 0.92 g/cm3 and the palette's bead size (from memory): weigh ten to check."
    sheet.text(MARGIN + 8, y + 11, note, 8, colour=QUIET)
    if len(counts.tiles) > MOST_TABLED:
        note = "Beads per board: on each board's page, and in counts.csv and counts.xlsx."
        sheet.text(MARGIN + 8, y + 14.5, note, 8, colour=QUIET)


def _draw_board_tables(sheet: Sheet, paper: Paper, counts: Counts, symbols: dict[int, str]) -> None:
    """Colours down, boards across, by symbol and code; as many pages as both need."""
    left = MARGIN + 8
    first = left + 30
    across = int((paper.width_mm - MARGIN - 8 - first) / _COLUMN)
    for start in range(0, len(counts.tiles), across):
        tiles = counts.tiles[start : start + across]
        for lines in _pages(paper, counts):
            sheet.start(paper.width_mm, paper.height_mm)
            title = f"Beads per board: {tiles[0]} to {tiles[-1]}"
            sheet.text(left, MARGIN + 12, title, 20, bold=True)
            for i, tile in enumerate(tiles):
                sheet.text(first + (i + 1) * _COLUMN, _TOP - 3, tile, 10, bold=True, align="right")
            if lines[-1] is counts.colours[-1]:
                y = _TOP + len(lines) * _ROW + 5.5
                sheet.text(left + 8, y, "total", 10, bold=True)
                for i in range(len(tiles)):
                    beads = sum(line.per_tile[start + i] for line in counts.colours)
                    sheet.text(first + (i + 1) * _COLUMN, y, str(beads), 10, bold=True,
                               align="right")  # fmt: skip
            for place, line in enumerate(lines):
                y = _TOP + place * _ROW
                sheet.line(left, y + _ROW, paper.width_mm - left, y + _ROW, 0.1, RULE)
                draw_swatch(sheet, line.bead.hex, symbols[line.index], left, y + 0.8)
                sheet.text(left + 8, y + 4.8, sheet.shorten(line.bead.code, 10, 22), 10, bold=True)
                for i, beads in enumerate(line.per_tile[start : start + across]):
                    sheet.text(first + (i + 1) * _COLUMN, y + 4.8, str(beads) if beads else "–",
                               10, align="right")  # fmt: skip
            sheet.end()
