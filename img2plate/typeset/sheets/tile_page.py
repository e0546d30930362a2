"""True-scale pages: the cells of one tile or more, what touches them, and a legend."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from img2plate.base.arrays import Cells
from img2plate.base.printer import RULER_MM
from img2plate.typeset.look import ACCENT
from img2plate.typeset.sheets.board_marks import BoardMarks, board_marks, draw_board_marks
from img2plate.typeset.sheets.edges import draw_edges, draw_rulers
from img2plate.typeset.sheets.geometry import BAND, HEAD, RULER, Page, Part
from img2plate.typeset.sheets.job import Job
from img2plate.typeset.sheets.legend import beads_of, draw_legend, draw_symbols, lay_out
from img2plate.typeset.sheets.page_head import draw_head, draw_label
from img2plate.typeset.sheets.shapes import Cell
from img2plate.typeset.sheets.sharing import Frame, Leaf
from img2plate.typeset.sheets.sheet import Sheet

_AIR = 3.0
"""Between what lies below each other, mm."""


@dataclass(frozen=True)
class Below:
    """What a page shows below its cells and their legend."""

    height: float
    """In mm."""
    draw: Callable[[float], None]
    """Told the upper edge, mm."""
    is_legend: bool = False
    """Whether it tells symbols and colours, so that the legend is left out."""


def draw_tile_page(sheet: Sheet, job: Job, part: Part) -> None:
    """Draw a page of one part of a tile, and further ones when its legend does not fit on it."""
    draw_leaf(sheet, job, Leaf((Frame(part, job.page),)))


def draw_leaf(sheet: Sheet, job: Job, leaf: Leaf, below: Below | None = None) -> None:
    """Draw a page, and further ones when its legend does not fit on it.

    `below` is drawn too; it must fit, see `has_room`.
    """
    page, first = job.page, leaf.frames[0].part
    boards = _boards(job, leaf, below)
    sheet.start(page.width, page.height, page.stretch, page.margin)
    names = " ".join(job.name_of(frame.part.tile) for frame in leaf.frames)
    sheet.bookmark(names + (f", page {first.number} of {first.count}" if first.count > 1 else ""))
    draw_head(sheet, job, leaf, boards)
    for frame, marks in zip(leaf.frames, boards, strict=True):
        _draw_cells(sheet, job, frame.page, frame.part.cells(job.plate.cells))
        middles = marks.middles_on_frame()
        taken = draw_edges(sheet, frame.page, frame.part, job.split, middles, empty=job.empty)
        draw_board_marks(sheet, marks, job.split.board_of(frame.part.tile), taken)
        if leaf.is_shared:
            draw_label(sheet, job, frame)
        if job.more:
            job.more(sheet, frame.part, job.name_of(frame.part.tile))
    draw_rulers(sheet, page, _lowest(leaf, boards), job.printing)
    _draw_below(sheet, job, leaf, boards, below)
    sheet.end()


def room_below(job: Job, leaf: Leaf) -> float:
    """Height below a page's cells, mm."""
    boards = [_marks(job, frame) for frame in leaf.frames]
    return job.page.lower_end - _end(leaf, boards)


def has_room(job: Job, leaf: Leaf, below: Below) -> bool:
    """Whether something fits onto a page, below its legend where that is kept."""
    boards = [_marks(job, frame) for frame in leaf.frames]
    return _has_room(job, leaf, boards, below)


def _has_room(job: Job, leaf: Leaf, boards: list[BoardMarks], below: Below | None) -> bool:
    """Whether all fits below the boards as they are marked."""
    top, end = _end(leaf, boards), job.page.lower_end
    if below:
        end -= below.height + (0 if below.is_legend else _AIR)
    if below and below.is_legend:
        return top <= end
    colours = len(_colours(job, leaf))
    return colours <= lay_out(job.page, colours, len(leaf.frames), top, end).most


def _boards(job: Job, leaf: Leaf, below: Below | None) -> list[BoardMarks]:
    """The board under each frame; all of it where there is room for that."""
    marks = [_marks(job, frame, alone=not leaf.is_shared) for frame in leaf.frames]
    if _has_room(job, leaf, marks, below):
        return marks
    return [_marks(job, frame) for frame in leaf.frames]


def _marks(job: Job, frame: Frame, *, alone: bool = False) -> BoardMarks:
    """The board under a frame."""
    return board_marks(frame.page, frame.part, job.split.board_of(frame.part.tile), alone=alone)


def _lowest(leaf: Leaf, boards: list[BoardMarks]) -> float:
    """Lower edge of cells and whole boards."""
    return max([leaf.bottom, *(board.bottom for board in boards if board.is_whole)])


def _end(leaf: Leaf, boards: list[BoardMarks]) -> float:
    """Where what lies below the cells starts; a small plate is shorter than the ruler beside it."""
    return max(_lowest(leaf, boards) + BAND + RULER, leaf.frames[0].page.top + RULER_MM) + 3


def _colours(job: Job, leaf: Leaf) -> list[int]:
    """The colours on a page, most used on the plate first."""
    cells = [frame.part.cells(job.plate.cells) for frame in leaf.frames]
    beads = beads_of(cells, job.plate.palette).sum(axis=0)
    return [index for index in job.symbols if beads[index]]


def _draw_below(
    sheet: Sheet, job: Job, leaf: Leaf, boards: list[BoardMarks], below: Below | None
) -> None:
    """The legend, on further pages too if it needs them, and what else there is."""
    page, top, end = job.page, _end(leaf, boards), job.page.lower_end
    if below and below.is_legend:
        below.draw(top)
        return
    end -= below.height + _AIR if below else 0.0
    names = [job.name_of(frame.part.tile) for frame in leaf.frames]
    counts = beads_of([f.part.cells(job.plate.cells) for f in leaf.frames], job.plate.palette)
    rest = _colours(job, leaf)
    while rest:
        layout = lay_out(page, len(rest), len(leaf.frames), top, end)
        here, rest = rest[: layout.most], rest[layout.most :]
        draw_legend(sheet, layout, page.margin, job.plate.palette, job.symbols, names, counts, here)
        top = layout.end
        if rest:
            words = "more colours: next page"
            at = page.width - page.margin, page.lower_end + 0.5
            sheet.text(*at, words, 8, colour=ACCENT, align="right")
            sheet.end()
            sheet.start(page.width, page.height, page.stretch, page.margin)
            draw_head(sheet, job, leaf, boards)
            top = page.margin + HEAD + 4
    if below:
        below.draw(top + _AIR)


def _draw_cells(sheet: Sheet, job: Job, page: Page, cells: Cells) -> None:
    """Fill cells by runs, colour by colour, and set the symbols."""
    palette, grid = job.plate.palette, Cell(page.left, page.top, page.pitch)
    for index in (int(i) for i in np.unique(cells) if i >= 0):
        colour = palette.beads[index].hex
        mask = cells == index
        starts = mask.copy()
        starts[:, 1:] &= ~mask[:, :-1]
        stops = mask.copy()
        stops[:, :-1] &= ~mask[:, 1:]
        rows, first = np.nonzero(starts)
        after = np.nonzero(stops)[1] + 1
        runs = zip(rows.tolist(), first.tolist(), after.tolist(), strict=True)
        sheet.cell_runs(grid, runs, colour)
        places = zip(*(axis.tolist() for axis in np.nonzero(mask)), strict=True)
        draw_symbols(sheet, grid, list(places), job.symbols[index], colour)
