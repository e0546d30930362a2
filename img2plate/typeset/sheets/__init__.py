"""`sheets.pdf`: cover, board map, order to build in, a true-scale page a tile, counts, pressing."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from img2plate.plate.plate import Plate
from img2plate.split.rounds import Round
from img2plate.split.tiles import Split
from img2plate.tally.counts import Counts
from img2plate.typeset.sheets.board_map import draw_board_map
from img2plate.typeset.sheets.count_page import draw_count_pages
from img2plate.typeset.sheets.cover import draw_cover
from img2plate.typeset.sheets.geometry import has_beads, parts_of, turn
from img2plate.typeset.sheets.pressing_page import draw_pressing_page
from img2plate.typeset.sheets.printing import Printing
from img2plate.typeset.sheets.rounds_page import draw_rounds_pages
from img2plate.typeset.sheets.runs_page import draw_runs_pages
from img2plate.typeset.sheets.sheet import Sheet
from img2plate.typeset.sheets.tile_page import Job, draw_tile_page
from img2plate.typeset.symbols import symbols_for


def write_sheets(
    path: Path,
    plate: Plate,
    split: Split,
    counts: Counts,
    printing: Printing,
    *,
    rounds: tuple[Round, ...] = (),
    progress: Callable[[float], None] | None = None,
) -> None:
    """Write the PDF: tiles in the order to build in, those without beads left out.

    `progress` is told the share done.

    Raises OptionError when the pitch is too large for the paper.
    """
    job = _plan(plate, split, counts, printing, rounds)
    paper = printing.paper
    sheet = Sheet(path, plate.name)
    draw_cover(sheet, printing, plate, split, counts)
    draw_board_map(sheet, printing, plate, split, job.empty)
    if rounds:
        draw_rounds_pages(sheet, job, rounds)
    tiles = [tile for tile in split.tiles if tile.name not in job.empty]
    tiles = [tile for each in rounds for tile in each.tiles] or tiles
    for number, tile in enumerate(tiles, 1):
        for part in parts_of(tile, job.page, mirrored=printing.mirrored):
            draw_tile_page(sheet, job, part)
        if printing.runs:
            draw_runs_pages(sheet, job, tile)
        if progress:
            progress(number / len(tiles))
    draw_count_pages(sheet, paper, plate, counts, job.symbols)
    draw_pressing_page(sheet, printing)
    sheet.save()


def _plan(
    plate: Plate, split: Split, counts: Counts, printing: Printing, rounds: tuple[Round, ...]
) -> Job:
    """What all tile pages share."""
    empty = frozenset(tile.name for tile in split.tiles if not has_beads(tile, plate.cells))
    sizes = [(tile.width, tile.height) for tile in split.tiles if tile.name not in empty]
    return Job(
        plate,
        split,
        symbols_for([line.index for line in counts.colours]),
        turn(sizes, plate.palette.pitch_mm, printing),
        printing,
        {tile: each.number for each in rounds for tile in each.tiles},
        empty,
    )
