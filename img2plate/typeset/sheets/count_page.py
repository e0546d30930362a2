"""The count sheet: beads of each colour, in total, in bags, and per board."""

from __future__ import annotations

from img2plate.base.lengths import Paper
from img2plate.plate.plate import Plate
from img2plate.tally.counts import ColourCount, Counts
from img2plate.typeset.look import HEADING, QUIET, RULE
from img2plate.typeset.sheets.count_table import (
    HEAD,
    ROW,
    CountTable,
    draw_blocks,
    draw_table,
    plan_blocks,
    plan_table,
)
from img2plate.typeset.sheets.geometry import FOOT
from img2plate.typeset.sheets.legend import draw_swatch
from img2plate.typeset.sheets.printing import MARGIN
from img2plate.typeset.sheets.remarks import draw_remarks
from img2plate.typeset.sheets.sheet import Sheet
from img2plate.typeset.sheets.tile_page import Below

_TOP = 44.0
_COLUMN = 11.0
_MOST_BESIDE = 12
"""Boards that may get columns on the first table; more get tables of their own."""
MOST_TABLED = 60
"""Boards that get tables; of more, each board's page and the files of counts tell."""


def draw_count_pages(
    sheet: Sheet,
    paper: Paper,
    plate: Plate,
    counts: Counts,
    symbols: dict[int, str],
    remarks: tuple[str, ...] = (),
) -> None:
    """One page, or as many as the colours need; then tables per board."""
    if not counts.colours:
        return
    left, right = MARGIN + 8, paper.width_mm - MARGIN - 8
    table = plan_table(sheet, counts, right - left, _MOST_BESIDE)
    pages = _pages(paper, counts)
    for number, lines in enumerate(pages, 1):
        sheet.start(paper.width_mm, paper.height_mm)
        if number == 1:
            sheet.bookmark("Count sheet")
        of = f", {number} of {len(pages)}" if len(pages) > 1 else ""
        sheet.text(left, MARGIN + 12, f"Count sheet{of}", 20, bold=True, colour=HEADING)
        for place, words in enumerate(_said(counts)):
            sheet.text(left, MARGIN + 19 + 5 * place, words, 10, colour=QUIET)
        last = number == len(pages)
        draw_table(sheet, table, plate, symbols, lines, (left, right, _TOP - HEAD), total=last)
        if last:
            _draw_notes(sheet, counts, left, _TOP + len(lines) * ROW + 11)
            room = left, right, paper.height_mm - MARGIN
            draw_remarks(sheet, remarks, _TOP + len(lines) * ROW + 20, room)
        sheet.end()
    if needs_board_tables(counts, table):
        _draw_board_tables(sheet, paper, counts, symbols)


def needs_board_tables(counts: Counts, table: CountTable) -> bool:
    """Whether boards have tables of their own."""
    return 1 < len(counts.tiles) <= MOST_TABLED and not table.has_boards


def count_below(
    sheet: Sheet,
    plate: Plate,
    counts: Counts,
    symbols: dict[int, str],
    *,
    place: tuple[float, float],
    height: float,
    is_legend: bool = False,
    is_told: bool = False,
) -> Below | None:
    """The count sheet as something for the lower part of a page; None when it is too large.

    place: left and right edge; height: what there is, mm. is_legend: whether it stands for the
    legend, as all colours are on that page; is_told: whether the page tells the sums besides.
    """
    left, right = place
    if not counts.colours:
        return None
    if len(counts.tiles) > _MOST_BESIDE:
        return None  # tables per board are pages of their own, after the count sheet
    said = [*([] if is_told else _said(counts)), _WEIGHED]
    said += [_ELSEWHERE] if len(counts.tiles) > 1 else []
    words = 5.0 + 4.5 * (len(said) - 1)
    blocks = plan_blocks(sheet, counts, right - left, height - words, _MOST_BESIDE)
    if blocks is None:
        return None

    if blocks.across == 1:  # numbers are not far from their names
        right = min(right, left + blocks.table.width + 24)

    def draw(top: float) -> None:
        if not is_legend:
            sheet.text(left, top + 3, "Count sheet", 14, bold=True, colour=HEADING)
        draw_blocks(sheet, blocks, plate, counts, symbols, (left, right, top))
        for number, line in enumerate(said):
            sheet.text(left, top + blocks.height + 3 + 4.5 * number, line, 8, colour=QUIET)

    return Below(blocks.height + words, draw, is_legend)


def _pages(paper: Paper, counts: Counts) -> list[list[tuple[int, ColourCount]]]:
    """Lines of each page, with their number."""
    rows = int((paper.height_mm - _TOP - MARGIN - FOOT - 14) / ROW)
    lines = list(enumerate(counts.colours))
    return [lines[i : i + rows] for i in range(0, len(lines), rows)]


def _said(counts: Counts) -> tuple[str, str]:
    """The sums in words."""
    words = f"{counts.beads:,} beads"
    if counts.spare_percent:
        words += f"; with {counts.spare_percent:g}% spare {counts.with_spares:,}"
    words += f", {counts.grams:,.0f} g"
    if counts.sold:
        words += f"; {counts.bags} {counts.sold.words}"
        words += f" for {counts.price:,.2f}" if counts.price is not None else ""
        words += f" without {counts.unpriced} colours" if counts.unpriced else ""
    return words, f"about {counts.effort.number} {counts.effort.words}"


_WEIGHED = "Grams from 0.92 g/cm3 and the palette's bead size (from memory): weigh ten to check."
_ELSEWHERE = "Beads per board: on each board's page, in counts.csv and counts.xlsx."


def _draw_notes(sheet: Sheet, counts: Counts, left: float, y: float) -> None:
    """Where grams come from, and where more is told."""
    sheet.text(left, y, _WEIGHED, 8, colour=QUIET)
    if len(counts.tiles) > MOST_TABLED:
        sheet.text(left, y + 3.5, _ELSEWHERE, 8, colour=QUIET)


def _draw_board_tables(sheet: Sheet, paper: Paper, counts: Counts, symbols: dict[int, str]) -> None:
    """Colours down, boards across, by symbol and code; as many pages as both need."""
    left = MARGIN + 8
    first = left + 30
    across = int((paper.width_mm - MARGIN - 8 - first) / _COLUMN)
    for start in range(0, len(counts.tiles), across):
        tiles = counts.tiles[start : start + across]
        for numbered in _pages(paper, counts):
            lines = [line for _, line in numbered]
            sheet.start(paper.width_mm, paper.height_mm)
            title = f"Beads per board: {tiles[0]} to {tiles[-1]}"
            sheet.text(left, MARGIN + 12, title, 20, bold=True, colour=HEADING)
            for i, tile in enumerate(tiles):
                sheet.text(first + (i + 1) * _COLUMN, _TOP - 3, tile, 10, bold=True, align="right")
            if lines[-1] is counts.colours[-1]:
                y = _TOP + len(lines) * ROW + 5.5
                sheet.text(left + 8, y, "total", 10, bold=True)
                for i in range(len(tiles)):
                    beads = sum(line.per_tile[start + i] for line in counts.colours)
                    sheet.text(first + (i + 1) * _COLUMN, y, str(beads), 10, bold=True,
                               align="right")  # fmt: skip
            for place, line in enumerate(lines):
                y = _TOP + place * ROW
                sheet.line(left, y + ROW, paper.width_mm - left, y + ROW, 0.1, RULE)
                draw_swatch(sheet, line.bead.hex, symbols[line.index], left, y + 0.5)
                sheet.text(left + 8, y + 4.5, sheet.shorten(line.bead.code, 10, 22), 10, bold=True)
                for i, beads in enumerate(line.per_tile[start : start + across]):
                    sheet.text(first + (i + 1) * _COLUMN, y + 4.5, str(beads) if beads else "–",
                               10, align="right")  # fmt: skip
            sheet.end()
