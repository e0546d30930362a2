"""`sheets.pdf`: cover, board map, order to build in, a true-scale page a tile, counts, pressing.

What has room on another page gets none of its own: small tiles share pages, the map goes on the
cover, the count of few colours goes below the last tile. A small plate is one page, and one more
on pressing.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

from img2plate.plate.plate import Plate
from img2plate.split.rounds import Round
from img2plate.split.tiles import Split, Tile
from img2plate.tally.counts import Counts
from img2plate.typeset.sheets.board_map import draw_board_map
from img2plate.typeset.sheets.count_page import count_below, draw_count_pages
from img2plate.typeset.sheets.cover import draw_cover
from img2plate.typeset.sheets.geometry import has_beads
from img2plate.typeset.sheets.job import Job
from img2plate.typeset.sheets.made import made_words
from img2plate.typeset.sheets.pressing_page import draw_pressing_page
from img2plate.typeset.sheets.printing import Printing
from img2plate.typeset.sheets.rounds_page import draw_rounds_pages
from img2plate.typeset.sheets.runs_page import draw_runs_pages
from img2plate.typeset.sheets.sharing import Leaf, share_pages
from img2plate.typeset.sheets.sheet import Sheet
from img2plate.typeset.sheets.tile_page import Below, draw_leaf, has_room, room_below
from img2plate.typeset.symbols import symbols_for


def write_sheets(
    path: Path,
    plate: Plate,
    split: Split,
    counts: Counts,
    printing: Printing,
    *,
    rounds: tuple[Round, ...] = (),
    thickness_mm: float = 4.0,
    remarks: tuple[str, ...] = (),
    symbols: Mapping[int, str] | None = None,
    before: Callable[[Sheet], None] | None = None,
    progress: Callable[[float], None] | None = None,
) -> None:
    """Write the PDF: tiles in the order to build in, those without beads left out.

    `thickness_mm` is for the picture on the cover; `progress` is told the share done; `remarks`
    (will it hold together) stand on the count sheet, or on the last page; `symbols` of palette
    indices stand in the cells, else the usual ones; `before` draws pages that come first.

    Raises OptionError when the pitch is too large for the paper.
    """
    sheet = Sheet(path, plate.name, made_words(plate))
    empty = frozenset(tile.name for tile in split.tiles if not has_beads(tile, plate.cells))
    tiles = [tile for each in rounds for tile in each.tiles]
    tiles = tiles or [tile for tile in split.tiles if tile.name not in empty]
    symbols = symbols or symbols_for([line.index for line in counts.colours])
    job, leaves = _plan(plate, split, dict(symbols), printing, rounds, tiles, empty)
    if before:
        before(sheet)
    below = _counts_below(sheet, job, leaves, counts)
    has_counts = below is not None
    if len(split.tiles) > 1 or not (below and below.is_legend):
        has_map, told = draw_cover(
            sheet, printing, plate, split, counts, empty, job.symbols,
            thickness_mm=thickness_mm, with_counts=not has_counts,
        )  # fmt: skip
        has_counts |= told
        if len(split.tiles) > 1 and not has_map:
            draw_board_map(sheet, printing, plate, split, empty)
    if rounds:
        draw_rounds_pages(sheet, job, rounds)
    for number, leaf in enumerate(leaves, 1):
        draw_leaf(sheet, job, leaf, below if number == len(leaves) else None)
        if printing.runs and leaf.frames[-1].part.is_last:
            draw_runs_pages(sheet, job, [frame.part.tile for frame in leaf.frames])
        if progress:
            progress(number / len(leaves))
    if not has_counts:
        draw_count_pages(sheet, printing.paper, plate, counts, job.symbols, remarks)
    draw_pressing_page(sheet, printing, remarks if has_counts else ())
    sheet.save()


def _plan(
    plate: Plate,
    split: Split,
    symbols: dict[int, str],
    printing: Printing,
    rounds: tuple[Round, ...],
    tiles: Sequence[Tile],
    empty: frozenset[str],
) -> tuple[Job, tuple[Leaf, ...]]:
    """What all tile pages share, and what lies on each."""
    page, leaves = share_pages(tiles, plate.cells, plate.palette.pitch_mm, printing)
    job = Job(
        plate,
        split,
        symbols,
        page,
        printing,
        {tile: each.number for each in rounds for tile in each.tiles},
        empty,
    )
    return job, leaves


def _counts_below(sheet: Sheet, job: Job, leaves: tuple[Leaf, ...], counts: Counts) -> Below | None:
    """The count sheet on the last page with tiles, when there is room for it."""
    if not leaves:
        return None
    is_legend = len(leaves) == 1  # then all colours are on that page
    page = job.page
    below = count_below(
        sheet,
        job.plate,
        counts,
        job.symbols,
        place=(page.margin, page.width - page.margin),
        height=room_below(job, leaves[-1]),
        is_legend=is_legend,
    )
    return below if below and has_room(job, leaves[-1], below) else None
