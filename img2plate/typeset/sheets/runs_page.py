"""Pages of run lengths: each row of a tile in words, to be read out."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from img2plate.split.tiles import Tile
from img2plate.tally.runs import runs_text
from img2plate.typeset.look import HEADING, QUIET
from img2plate.typeset.sheets.geometry import FOOT
from img2plate.typeset.sheets.job import Job
from img2plate.typeset.sheets.printing import MARGIN
from img2plate.typeset.sheets.sheet import Sheet

_TOP = 32.0
_INDENT = 16.0
_TITLE = 9.0
"""Above the rows of a further tile on a page, mm."""


class _Type(NamedTuple):
    """How closely rows are set."""

    points: float
    line: float
    gap: float
    """After a row, mm."""


_TYPES = (_Type(10, 4.8, 1.2), _Type(9, 4.3, 0.9), _Type(8, 3.9, 0.6))
"""The closer ones are taken when they save a page: a last row gets none for itself."""


class _Block(NamedTuple):
    """A row, or the title of a tile."""

    tile: Tile
    row: int | None
    lines: list[str]
    height: float


def draw_runs_pages(sheet: Sheet, job: Job, tiles: Sequence[Tile]) -> None:
    """The rows of tiles one after the other, on as few pages as they need."""
    ways = [(kind, _paged(sheet, job, tiles, kind)) for kind in _TYPES]
    kind, pages = min(ways, key=lambda way: len(way[1]))
    for blocks in pages:
        _start_page(sheet, job, blocks[0].tile)
        y = _TOP
        for number, block in enumerate(blocks):
            if block.row is None:
                if number:
                    _title(sheet, job, block.tile, y)
                    y += block.height
                continue
            _draw_row(sheet, block, kind, y)
            y += block.height
        sheet.end()


def _paged(sheet: Sheet, job: Job, tiles: Sequence[Tile], kind: _Type) -> list[list[_Block]]:
    """What stands on each page. A title is never the last line of one."""
    paper, left = job.printing.paper, MARGIN + 8
    width = paper.width_mm - 2 * left - _INDENT
    room = paper.height_mm - MARGIN - FOOT - _TOP
    pages: list[list[_Block]] = []
    used = room
    for tile in tiles:
        title: list[_Block] = [_Block(tile, None, [], _TITLE)]
        for row, words in enumerate(_rows(job, tile), tile.y + 1):
            lines = sheet.wrap(words, kind.points, width)
            block = _Block(tile, row, lines, len(lines) * kind.line + kind.gap)
            before = sum(each.height for each in title) if used else 0.0
            if used + before + block.height - kind.gap > room:
                pages.append([*title, block] if title else [block])
                used = block.height
            else:
                pages[-1] += [*title, block]
                used += before + block.height
            title = []
    return pages


def _draw_row(sheet: Sheet, block: _Block, kind: _Type, y: float) -> None:
    """Number and words of one row."""
    left = MARGIN + 8 + _INDENT
    sheet.text(left - 4, y, str(block.row), kind.points, bold=True, align="right")
    for number, line in enumerate(block.lines):
        sheet.text(left, y + number * kind.line, line, kind.points)


def _title(sheet: Sheet, job: Job, tile: Tile, y: float) -> None:
    """The name of a tile that does not start a page."""
    left = MARGIN + 8
    name = job.name_of(tile)
    sheet.text(left, y + 3, name, 14, bold=True, colour=HEADING)
    left += sheet.text_width(name, 14, bold=True) + 4
    sheet.text(left, y + 3, _columns(job, tile), 8, colour=QUIET)


def _columns(job: Job, tile: Tile) -> str:
    """In which order a row is read."""
    first, last = tile.x + 1, tile.x + tile.width
    if job.is_mirrored:
        first, last = last, first
    return f"from the left: column {first} to {last}"


def _rows(job: Job, tile: Tile) -> list[str]:
    """Each row's runs, from the left as it lies on the board."""
    cells = tile.of(job.plate.cells)
    cells = cells[:, ::-1] if job.is_mirrored else cells
    return [runs_text(row, job.plate.palette) for row in cells]


def _start_page(sheet: Sheet, job: Job, tile: Tile) -> None:
    """Title of a page."""
    paper, left = job.printing.paper, MARGIN + 8
    sheet.start(paper.width_mm, paper.height_mm)
    name = sheet.shorten(job.name_of(tile), 32, 70, bold=True)
    sheet.text(left, MARGIN + 11, name, 32, bold=True)
    indent = left + max(24.0, sheet.text_width(name, 32, bold=True) + 6)
    sheet.text(indent, MARGIN + 5, "Rows to read out", 14, bold=True, colour=HEADING)
    sheet.text(indent, MARGIN + 11, _columns(job, tile), 10, colour=QUIET)
    right = paper.width_mm - left
    side = "MIRRORED: front faces down" if job.printing.mirrored else "front faces up"
    sheet.text(right, MARGIN + 5, "row by row, from the top", 14, bold=True, align="right")
    sheet.text(right, MARGIN + 11, side, 10, bold=job.printing.mirrored, align="right")
