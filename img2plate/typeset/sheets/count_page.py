"""The count sheet: beads of each colour, in all and per board."""

from __future__ import annotations

from img2plate.base.lengths import Paper
from img2plate.plate.plate import Plate
from img2plate.tally.counts import ColourCount, Counts
from img2plate.typeset.look import QUIET, RULE, text_on
from img2plate.typeset.sheets.geometry import MARGIN
from img2plate.typeset.sheets.sheet import Sheet

_ROW = 7.0
_TOP = 44.0
_MOST_TILES = 6
"""Boards that get a column; of more, each board's page and counts.csv tell."""


def draw_count_pages(
    sheet: Sheet, paper: Paper, plate: Plate, counts: Counts, symbols: dict[int, str]
) -> None:
    """One page, or as many as the colours need."""
    rows = int((paper.height_mm - _TOP - MARGIN - 12) / _ROW)
    pages = [counts.colours[i : i + rows] for i in range(0, len(counts.colours), rows)]
    for number, lines in enumerate(pages, 1):
        sheet.start(paper.width_mm, paper.height_mm)
        of = f", {number} of {len(pages)}" if len(pages) > 1 else ""
        sheet.text(MARGIN + 8, MARGIN + 12, f"Count sheet{of}", 20, bold=True)
        said = f"{counts.beads:,} beads; with {counts.spare_percent:g} % to spare"
        sheet.text(MARGIN + 8, MARGIN + 19, f"{said} {counts.with_spares:,}", 10, colour=QUIET)
        _draw_head(sheet, paper, counts)
        for place, line in enumerate(lines):
            _draw_line(sheet, paper, plate, counts, line, symbols, _TOP + place * _ROW)
        if number == len(pages):
            _draw_total(sheet, paper, counts, _TOP + len(lines) * _ROW)
        sheet.end()


def _columns(paper: Paper, counts: Counts) -> tuple[list[float], list[float]]:
    """Right edges of the number columns, and of the boards' columns."""
    tiles = len(counts.tiles) if 1 < len(counts.tiles) <= _MOST_TILES else 0
    end = paper.width_mm - MARGIN - 8
    per_tile = [end - 11.0 * (tiles - 1 - i) for i in range(tiles)]
    numbers_end = end - 11.0 * tiles
    return [numbers_end - 36, numbers_end - 16, numbers_end], per_tile


def _draw_head(sheet: Sheet, paper: Paper, counts: Counts) -> None:
    """Names of the columns."""
    numbers, per_tile = _columns(paper, counts)
    for x, name in zip(numbers, ("beads", "with spare", "grams"), strict=True):
        sheet.text(x, _TOP - 3, name, 8, colour=QUIET, align="right")
    for x, tile in zip(per_tile, counts.tiles, strict=False):
        sheet.text(x, _TOP - 3, tile.name, 8, colour=QUIET, align="right")


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
    sheet.boxes([(left, y + 0.8, 5.4, 5.4)], bead.hex)
    sheet.text(left + 2.7, y + 4.7, symbols[line.index], 9, bold=True, colour=text_on(bead.hex),
               align="middle")  # fmt: skip
    sheet.swatch(left + 10.5, y + 3.5, 5.4, bead.hex, size.hole_mm / size.outer_mm)
    numbers, per_tile = _columns(paper, counts)
    sheet.text(left + 16, y + 4.8, bead.code, 10, bold=True)
    indent = max(14.0, sheet.text_width(bead.code, 10, bold=True) + 3)
    name = "" if bead.name == bead.code else bead.name
    while sheet.text_width(name, 10) > numbers[0] - left - 16 - indent - 12:
        name = name[:-2].rstrip() + "…"
    sheet.text(left + 16 + indent, y + 4.8, name, 10)
    figures = (f"{line.beads:,}", f"{line.with_spares:,}", f"{line.grams:.1f}")
    for x, figure in zip(numbers, figures, strict=True):
        sheet.text(x, y + 4.8, figure, 10, bold=x == numbers[0], align="right")
    for x, beads in zip(per_tile, line.per_tile, strict=False):
        sheet.text(x, y + 4.8, str(beads) if beads else "–", 9, align="right")


def _draw_total(sheet: Sheet, paper: Paper, counts: Counts, y: float) -> None:
    """The sums."""
    numbers, _ = _columns(paper, counts)
    sheet.text(MARGIN + 24, y + 5.5, "in all", 10, bold=True)
    figures = (f"{counts.beads:,}", f"{counts.with_spares:,}", f"{counts.grams:.1f}")
    for x, figure in zip(numbers, figures, strict=True):
        sheet.text(x, y + 5.5, figure, 10, bold=True, align="right")
    note = "Grams from 0.92 g/cm3 and the palette's bead size (from memory): weigh ten to check."
    sheet.text(MARGIN + 8, y + 11, note, 8, colour=QUIET)
