"""`sheets.pdf`: cover, board map, a true-scale page for each tile, count sheet, how to press."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from img2plate.base.lengths import Paper
from img2plate.plate.plate import Plate
from img2plate.split.tiles import Split
from img2plate.tally.counts import Counts
from img2plate.typeset.sheets.count_page import draw_count_pages
from img2plate.typeset.sheets.cover import draw_board_map, draw_cover
from img2plate.typeset.sheets.geometry import parts_of, turn
from img2plate.typeset.sheets.pressing_page import draw_pressing_page
from img2plate.typeset.sheets.sheet import Sheet
from img2plate.typeset.sheets.tile_page import Job, draw_tile_page
from img2plate.typeset.symbols import symbols_for


def write_sheets(
    path: Path,
    plate: Plate,
    split: Split,
    counts: Counts,
    *,
    paper: Paper,
    progress: Callable[[float], None] | None = None,
) -> None:
    """Write the PDF. `progress` is told the share of tiles done.

    Raises OptionError when the pitch is too large for the paper.
    """
    page = turn(paper, split.board, plate.palette.pitch_mm)
    symbols = symbols_for([line.index for line in counts.colours])
    job = Job(plate, split, symbols, page)
    sheet = Sheet(path, plate.name)
    draw_cover(sheet, paper, plate, split, counts)
    draw_board_map(sheet, paper, plate, split)
    for number, tile in enumerate(split.tiles, 1):
        for part in parts_of(tile, page):
            draw_tile_page(sheet, job, part)
        if progress:
            progress(number / len(split.tiles))
    draw_count_pages(sheet, paper, plate, counts, symbols)
    draw_pressing_page(sheet, paper)
    sheet.save()
