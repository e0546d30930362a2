"""How the boards lie: names of all boards, numbers of all seams, as seen while building.

It stands on the cover when its boards are large enough there, else on a page of its own. A map
whose boards would be smaller than a thumbnail even so is cut over several pages, with one page of
the whole before them.
"""

from __future__ import annotations

from img2plate.plate.plate import Plate
from img2plate.split.tiles import Split, Tile
from img2plate.typeset.look import HEADING, INK
from img2plate.typeset.sheets.geometry import FOOT
from img2plate.typeset.sheets.map_names import name_boards, number_seams
from img2plate.typeset.sheets.map_section import Box, Section
from img2plate.typeset.sheets.printing import MARGIN, Printing
from img2plate.typeset.sheets.sheet import Sheet
from img2plate.typeset.sheets.thumbnail import fit_into, thumbnail

_TOP = 46.0
_LEAST_BOARD = 17.0
"""Side of a board on the map, mm, below which its name and seams could not be read."""


def map_in(box: Box, split: Split, *, mirrored: bool) -> Section | None:
    """The whole map in a box; None when its boards would be too small there."""
    section = _section(box, split.tiles, mirrored=mirrored)
    smallest = min(min(board) for board in (split.board, *split.boards))
    return section if smallest * section.step >= _LEAST_BOARD else None


def draw_map(
    sheet: Sheet, section: Section, plate: Plate, split: Split, empty: frozenset[str]
) -> None:
    """Draw a map with names and seams; `empty` names tiles that have no page."""
    _draw_plate(sheet, section, plate)
    tiles = [tile for tile in split.tiles if section.holds(tile)]
    _draw_outlines(sheet, section, tiles, 0.4)
    sizes = {tile: split.board_of(tile) for tile in tiles} if split.has_sizes else {}
    names = name_boards(sheet, section, tiles, empty, sizes)
    number_seams(sheet, section, split, names, empty)


def draw_board_map(
    sheet: Sheet, printing: Printing, plate: Plate, split: Split, empty: frozenset[str]
) -> None:
    """One page, or one of the whole and further ones of its parts."""
    paper, left = printing.paper, MARGIN + 8
    box = left, _TOP, paper.width_mm - 2 * left, paper.height_mm - _TOP - MARGIN - FOOT
    rest = "A seam's number is on both boards' pages."
    whole = map_in(box, split, mirrored=printing.mirrored)
    if not split.is_grid:  # has no columns and rows to be cut along
        whole = whole or _section(box, split.tiles, mirrored=printing.mirrored)
    if whole:
        _start_page(sheet, printing, "Board map", rest)
        draw_map(sheet, whole, plate, split, empty)
        sheet.end()
        return
    _start_page(sheet, printing, "Board map: the whole", "Its parts are on the next pages.")
    whole = _section(box, split.tiles, mirrored=printing.mirrored)
    _draw_plate(sheet, whole, plate)
    _draw_outlines(sheet, whole, list(split.tiles), 0.2)
    _name_lines(sheet, whole, list(split.tiles))
    sheet.end()
    across = max(1, int(box[2] / _LEAST_BOARD) - 1)
    down = max(1, int(box[3] / _LEAST_BOARD) - 1)
    columns, rows = split.map_size
    for row in range(0, rows, down):
        for column in range(0, columns, across):
            tiles = tuple(
                tile
                for tile in split.tiles
                if column <= tile.column < column + across and row <= tile.row < row + down
            )
            _start_page(sheet, printing, f"Board map: {tiles[0].name} to {tiles[-1].name}", rest)
            # The last block may be small: it is not drawn larger than the others.
            most = max(2.0, box[2] / plate.size[0])
            section = _section(box, tiles, mirrored=printing.mirrored, most=most)
            draw_map(sheet, section, plate, split, empty)
            sheet.end()


def _section(
    box: Box, tiles: tuple[Tile, ...], *, mirrored: bool, most: float = float("inf")
) -> Section:
    """Fit a block of tiles into a box, at `most` mm a peg."""
    x, y = min(tile.x for tile in tiles), min(tile.y for tile in tiles)
    width = max(tile.x + tile.width for tile in tiles) - x
    height = max(tile.y + tile.height for tile in tiles) - y
    size = fit_into((width, height), box[2], box[3])
    return Section(x, y, width, height, box[0], box[1], min(size[0] / width, most), mirrored)


def _start_page(sheet: Sheet, printing: Printing, title: str, rest: str) -> None:
    """Title, and which side is seen."""
    sheet.start(printing.paper.width_mm, printing.paper.height_mm)
    sheet.bookmark(title)
    sheet.text(MARGIN + 8, MARGIN + 12, title, 20, bold=True, colour=HEADING)
    sheet.text(MARGIN + 8, MARGIN + 19, f"{map_words(printing)} {rest}", 10)


def map_words(printing: Printing) -> str:
    """Which side a map shows."""
    return "MIRRORED: the front faces down." if printing.mirrored else "As the boards lie."


def _draw_plate(sheet: Sheet, section: Section, plate: Plate) -> None:
    """The plate, pale, behind names and lines."""
    part = plate.cells[
        section.y : section.y + section.height, section.x : section.x + section.width
    ]
    picture = thumbnail(part, plate, faint=True, mirrored=section.mirrored)
    sheet.picture(picture, section.left, section.top, *section.size)


def _draw_outlines(sheet: Sheet, section: Section, tiles: list[Tile], width: float) -> None:
    """Lines round tiles."""
    lines = []
    for tile in tiles:
        x, y, wide, high = section.box(tile)
        lines += [(x, y, x + wide, y), (x, y + high, x + wide, y + high)]
        lines += [(x, y, x, y + high), (x + wide, y, x + wide, y + high)]
    sheet.lines(lines, width, INK)


def _name_lines(sheet: Sheet, section: Section, tiles: list[Tile]) -> None:
    """Letters of columns above, numbers of rows on the right, of a map too small for names."""
    points = max(3.0, min(8.0, min(t.width for t in tiles) * section.step * 1.2))
    for tile in tiles:
        if tile.row == 0:
            letters = tile.name.rstrip("0123456789")
            x = section.across(tile.x + tile.width / 2)
            sheet.text(x, section.top - 1, letters, points, align="middle")
        if tile.column == 0:
            y = section.down(tile.y + tile.height / 2) + points * 0.12
            x = section.left + section.size[0] + 1
            sheet.text(x, y, str(tile.row + 1), points)
