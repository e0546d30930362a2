"""Pages of run lengths: each row of a tile in words, to be read out."""

from __future__ import annotations

from img2plate.split.tiles import Tile
from img2plate.tally.runs import runs_text
from img2plate.typeset.look import ACCENT, QUIET
from img2plate.typeset.sheets.printing import MARGIN
from img2plate.typeset.sheets.sheet import Sheet
from img2plate.typeset.sheets.tile_page import Job

_TOP = 32.0
_LINE = 4.8
_INDENT = 16.0


def draw_runs_pages(sheet: Sheet, job: Job, tile: Tile) -> None:
    """As many pages as the rows of a tile need."""
    paper, left = job.printing.paper, MARGIN + 8
    width = paper.width_mm - 2 * left - _INDENT
    y = paper.height_mm  # no page is open yet
    for row, words in enumerate(_rows(job, tile), tile.y + 1):
        lines = sheet.wrap(words, 10, width)
        if y + _LINE * len(lines) > paper.height_mm - MARGIN:
            if row > tile.y + 1:
                sheet.end()
            _start_page(sheet, job, tile)
            y = _TOP
        sheet.text(left + _INDENT - 4, y, str(row), 10, bold=True, align="right")
        for line in lines:
            sheet.text(left + _INDENT, y, line, 10)
            y += _LINE
        y += 1.2
    sheet.end()


def _rows(job: Job, tile: Tile) -> list[str]:
    """Each row's runs, from the left as it lies on the board."""
    cells = tile.of(job.plate.cells)
    cells = cells[:, ::-1] if job.printing.mirrored else cells
    return [runs_text(row, job.plate.palette) for row in cells]


def _start_page(sheet: Sheet, job: Job, tile: Tile) -> None:
    """Title of a page."""
    paper, left = job.printing.paper, MARGIN + 8
    sheet.start(paper.width_mm, paper.height_mm)
    sheet.text(left, MARGIN + 11, tile.name, 32, bold=True)
    indent = left + max(24.0, sheet.text_width(tile.name, 32, bold=True) + 6)
    first, last = tile.x + 1, tile.x + tile.width
    if job.printing.mirrored:
        first, last = last, first
    sheet.text(indent, MARGIN + 5, "Rows to read out", 14, bold=True)
    sheet.text(indent, MARGIN + 11, f"from the left: column {first} to {last}", 10, colour=QUIET)
    right = paper.width_mm - left
    side = "MIRRORED: front faces down" if job.printing.mirrored else "front faces up"
    sheet.text(right, MARGIN + 5, "row by row, from the top", 14, bold=True, colour=ACCENT,
               align="right")  # fmt: skip
    sheet.text(right, MARGIN + 11, side, 10, bold=job.printing.mirrored, align="right")
