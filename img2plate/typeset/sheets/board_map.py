"""How the boards lie: names of all boards, numbers of all seams, as seen while building.

A map whose boards would be smaller than a thumbnail is cut over several pages, with one page of the
whole before them.
"""

from __future__ import annotations

from dataclasses import dataclass

from img2plate.plate.plate import Plate
from img2plate.split.tiles import Seam, Split, Tile
from img2plate.typeset.look import ACCENT, INK, PAPER, QUIET
from img2plate.typeset.sheets.cover import fit_into, thumbnail
from img2plate.typeset.sheets.printing import MARGIN, Printing
from img2plate.typeset.sheets.sheet import Sheet

_TOP = 46.0
_LEAST_BOARD = 17.0
"""Side of a board on the map, mm, below which its name and seams could not be read."""


@dataclass(frozen=True)
class _Section:
    """Pegs of the plate that one page shows, and where."""

    x: int
    y: int
    width: int
    height: int
    left: float
    step: float
    """Millimetres a peg."""
    mirrored: bool

    def across(self, peg: float) -> float:
        """Place on the page of a peg column's left edge (of the plate)."""
        at = self.x + self.width - peg if self.mirrored else peg - self.x
        return self.left + self.step * at

    def down(self, peg: float) -> float:
        """Place on the page of a peg row's upper edge."""
        return _TOP + self.step * (peg - self.y)

    def holds(self, tile: Tile) -> bool:
        """Whether a tile lies in it."""
        inside_x = self.x <= tile.x < self.x + self.width
        return inside_x and self.y <= tile.y < self.y + self.height


def draw_board_map(
    sheet: Sheet, printing: Printing, plate: Plate, split: Split, empty: frozenset[str]
) -> None:
    """One page, or one of the whole and further ones of its parts; `empty` tiles have no page."""
    whole = _section(printing, split.tiles, plate)
    if min(split.board) * whole.step >= _LEAST_BOARD:
        _draw_page(sheet, printing, plate, split, whole, "Board map", empty)
        return
    _draw_page(sheet, printing, plate, split, whole, "Board map: the whole", None)
    across = max(1, int((printing.paper.width_mm - 2 * (MARGIN + 8)) / _LEAST_BOARD) - 1)
    down = max(1, int((printing.paper.height_mm - _TOP - MARGIN) / _LEAST_BOARD) - 1)
    columns, rows = split.map_size
    for row in range(0, rows, down):
        for column in range(0, columns, across):
            tiles = tuple(
                tile
                for tile in split.tiles
                if column <= tile.column < column + across and row <= tile.row < row + down
            )
            title = f"Board map: {tiles[0].name} to {tiles[-1].name}"
            section = _section(printing, tiles, plate)
            _draw_page(sheet, printing, plate, split, section, title, empty)


def _section(printing: Printing, tiles: tuple[Tile, ...], plate: Plate) -> _Section:
    """Fit a block of tiles onto the page."""
    first, last, paper = tiles[0], tiles[-1], printing.paper
    width, height = last.x + last.width - first.x, last.y + last.height - first.y
    left = MARGIN + 8
    room = paper.width_mm - 2 * left, paper.height_mm - _TOP - MARGIN
    size = fit_into((width, height), *room)
    # Of a cut map the last block may be small: it is not drawn larger than the others.
    step = min(size[0] / width, max(2.0, room[0] / plate.size[0]))
    return _Section(first.x, first.y, width, height, left, step, printing.mirrored)


def _draw_page(
    sheet: Sheet,
    printing: Printing,
    plate: Plate,
    split: Split,
    section: _Section,
    title: str,
    empty: frozenset[str] | None,
) -> None:
    """One page of the map; with names and seams unless `empty` is None."""
    named = empty is not None
    sheet.start(printing.paper.width_mm, printing.paper.height_mm)
    sheet.bookmark(title)
    sheet.text(section.left, MARGIN + 12, title, 20, bold=True)
    seen = "MIRRORED: the front faces down." if printing.mirrored else "As the boards lie."
    rest = (
        "A seam's number is on both boards' pages." if named else "Its parts are on the next pages."
    )
    sheet.text(section.left, MARGIN + 19, f"{seen} {rest}", 10)
    size = section.width * section.step, section.height * section.step
    part = plate.cells[
        section.y : section.y + section.height, section.x : section.x + section.width
    ]
    picture = thumbnail(part, plate, faint=True, mirrored=printing.mirrored)
    sheet.picture(picture, section.left, _TOP, *size)
    tiles = [tile for tile in split.tiles if section.holds(tile)]
    _draw_outlines(sheet, section, tiles, 0.4 if named else 0.2)
    if empty is not None:
        _name_tiles(sheet, section, tiles, empty)
        for seam in split.seams:
            ends = seam.first, seam.second
            if any(map(section.holds, ends)) and not any(tile.name in empty for tile in ends):
                _draw_seam(sheet, section, seam, split.board)
    else:
        _name_lines(sheet, section, tiles)
    sheet.end()


def _draw_outlines(sheet: Sheet, section: _Section, tiles: list[Tile], width: float) -> None:
    """Lines round tiles."""
    lines = []
    for tile in tiles:
        x, x_end = sorted((section.across(tile.x), section.across(tile.x + tile.width)))
        y, y_end = section.down(tile.y), section.down(tile.y + tile.height)
        lines += [(x, y, x_end, y), (x, y_end, x_end, y_end)]
        lines += [(x, y, x, y_end), (x_end, y, x_end, y_end)]
    sheet.lines(lines, width, INK)


def _name_tiles(sheet: Sheet, section: _Section, tiles: list[Tile], empty: frozenset[str]) -> None:
    """Names in the middle of tiles; those without beads quietly."""
    for tile in tiles:
        x = section.across(tile.x + tile.width / 2)
        y = section.down(tile.y + tile.height / 2)
        letters = min(32.0, tile.width * section.step * 1.1, tile.height * section.step * 1.4)
        letters = max(6.0, letters / max(1.0, len(tile.name) / 2.5))
        colour = QUIET if tile.name in empty else INK
        sheet.text(x, y + letters * 0.12, tile.name, letters, bold=True, colour=colour,
                   align="middle")  # fmt: skip
        if tile.name in empty:
            sheet.text(x, y + letters * 0.12 + 4, "empty", min(10.0, letters), colour=QUIET,
                       align="middle")  # fmt: skip


def _draw_seam(sheet: Sheet, section: _Section, seam: Seam, board: tuple[int, int]) -> None:
    """Its number in a disc on the middle of the line."""
    letters = min(14.0, min(board) * section.step * 0.45)
    middle = (sum(seam.span) + 1) / 2
    x = section.across(seam.at if seam.is_vertical else middle)
    y = section.down(middle if seam.is_vertical else seam.at)
    words = str(seam.number)
    most = min(board) * section.step * 0.32  # of the board's side, so that its name stays clear
    letters *= min(1.0, most / sheet.text_width(words, letters, bold=True))
    wide = max(sheet.text_width(words, letters, bold=True) + 1, letters * 0.5)
    sheet.dots([(x, y)], wide, ACCENT)
    sheet.text(x, y + letters * 0.12, words, letters, bold=True, colour=PAPER, align="middle")


def _name_lines(sheet: Sheet, section: _Section, tiles: list[Tile]) -> None:
    """Letters of columns above, numbers of rows on the right, of a map too small for names."""
    points = max(3.0, min(8.0, min(t.width for t in tiles) * section.step * 1.2))
    for tile in tiles:
        if tile.row == 0:
            letters = tile.name.rstrip("0123456789")
            x = section.across(tile.x + tile.width / 2)
            sheet.text(x, _TOP - 1, letters, points, align="middle")
        if tile.column == 0:
            y = section.down(tile.y + tile.height / 2) + points * 0.12
            x = section.left + section.width * section.step + 1
            sheet.text(x, y, str(tile.row + 1), points)
