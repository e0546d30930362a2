"""The head of a true-scale page: which tiles, which way up, which side is seen, where they lie."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from img2plate.split.tiles import Tile
from img2plate.typeset.look import ACCENT, INK, QUIET
from img2plate.typeset.sheets.board_marks import BoardMarks
from img2plate.typeset.sheets.geometry import BAND, Part
from img2plate.typeset.sheets.job import Job
from img2plate.typeset.sheets.sharing import LEAST_WIDE, Frame, Leaf
from img2plate.typeset.sheets.sheet import Sheet

_WAY_UP = 68.0
"""Room for which way is up, mm from the right margin."""


def draw_head(sheet: Sheet, job: Job, leaf: Leaf, boards: Sequence[BoardMarks]) -> None:
    """Names large on the left; way up and seen side on the right, with the small map."""
    parts = [frame.part for frame in leaf.frames]
    map_left, box = _map_place(job)
    room = map_left - job.page.margin - 4
    if leaf.is_shared:
        _name_all(sheet, job, parts, boards, room)
    else:
        _name_one(sheet, job, parts[0], boards[0], room)
    if len(job.split.tiles) > 1:
        _draw_map(sheet, job, parts, map_left, box)
    _draw_way_up(sheet, job)


def _name_one(sheet: Sheet, job: Job, part: Part, board: BoardMarks, room: float) -> None:
    """A tile that has the page for itself."""
    margin, plate = job.page.margin, job.plate
    name, most = job.name_of(part.tile), room * 0.6
    size = next((s for s in (32, 24, 20) if sheet.text_width(name, s, bold=True) <= most), 14)
    shown = sheet.shorten(name, size, most, bold=True)
    sheet.text(margin, margin + 11, shown, size, bold=True)
    wide = max(24.0, sheet.text_width(shown, size, bold=True) + 6)
    left, room = margin + wide, room - wide
    where = _where(part)
    if name == plate.name:  # on one board
        width, height = (f"{side / 10:g}" for side in plate.size_mm)
        sheet.text(left, margin + 5, f"{width} x {height} cm", 14, bold=True)
    else:
        sheet.text(left, margin + 5, sheet.shorten(plate.name, 14, room, bold=True), 14, bold=True)
    sheet.text(left, margin + 11, where, 10)
    if part.count > 1:
        sheet.text(margin, margin + 16, f"page {part.number} of {part.count}", 10, bold=True)
    words = "; ".join(filter(None, (_beads(job, part.tile), board.words)))
    sheet.text(left, margin + 16, words, 10, colour=QUIET)


def _name_all(
    sheet: Sheet, job: Job, parts: Sequence[Part], boards: Sequence[BoardMarks], room: float
) -> None:
    """Tiles that share the page; each has a label of its own besides."""
    margin = job.page.margin
    words = " ".join(job.name_of(part.tile) for part in parts)
    size = next((s for s in (32, 20) if sheet.text_width(words, s, bold=True) <= room), 14)
    sheet.text(margin, margin + 11, sheet.shorten(words, size, room, bold=True), size, bold=True)
    beads = sum(_count(job, part.tile) for part in parts)
    said = [f"{len(parts)} boards, {beads:,} beads", job.plate.name]
    if any(board.words for board in boards):
        said.insert(1, "angles: corners of the boards")
    sheet.text(margin, margin + 16, sheet.shorten("; ".join(said), 10, room + 20), 10, colour=QUIET)


def draw_label(sheet: Sheet, job: Job, frame: Frame) -> None:
    """Name, pegs and beads of a tile that shares its page, above its band."""
    x, y = frame.page.left, frame.page.top - BAND - 0.8
    name = job.name_of(frame.part.tile)
    sheet.text(x, y, name, 14, bold=True)
    x += sheet.text_width(name, 14, bold=True) + 2
    room = max(frame.right - frame.page.left, LEAST_WIDE - BAND) + BAND - 2
    words = f"{_where(frame.part)}; {_beads(job, frame.part.tile, alone=False)}"
    sheet.text(x, y, sheet.shorten(words, 8, room + frame.page.left - x), 8, colour=QUIET)


def _where(part: Part) -> str:
    """Pegs of the whole plate."""
    return (
        f"columns {part.x + 1} to {part.x + part.width},"
        f" rows {part.y + 1} to {part.y + part.height}"
    )


def _count(job: Job, tile: Tile) -> int:
    """Beads on a tile."""
    return int(np.count_nonzero(tile.of(job.plate.cells) >= 0))


def _beads(job: Job, tile: Tile, *, alone: bool = True) -> str:
    """Say how many beads lie on the board, how much of it is used, and when it is built.

    alone: whether there is room for all of it.
    """
    across, down = job.split.board_of(tile)
    beads = _count(job, tile)
    words = [f"{beads} {'bead' if beads == 1 else 'beads'}"]
    if job.split.has_sizes:
        words = [*(words if alone else []), f"board of {across} x {down}"]
    elif alone and (tile.width, tile.height) != (across, down):
        words = [f"{words[0]} on {tile.width} x {tile.height} pegs"]
    words += [f"round {job.rounds[tile]}"] if tile in job.rounds else []
    return ", ".join(words)


def _draw_way_up(sheet: Sheet, job: Job) -> None:
    """An arrow, and whether the sheet is mirrored."""
    margin, width = job.page.margin, job.page.width
    x, y = width - margin - 4, margin
    sheet.polygon([(x, y), (x + 4, y + 6), (x - 4, y + 6)], ACCENT)
    sheet.boxes([(x - 1.4, y + 5.9, 2.8, 6)], ACCENT)
    sheet.text(x - 6, y + 5, "this way up", 14, bold=True, colour=ACCENT, align="right")
    if job.printing.mirrored:
        sheet.text(x - 6, y + 10.5, "MIRRORED:", 10, bold=True, align="right")
        sheet.text(x - 6, y + 15, "front faces down", 10, bold=True, align="right")
    else:
        sheet.text(x - 6, y + 10.5, "not mirrored:", 10, align="right")
        sheet.text(x - 6, y + 15, "front faces up", 10, align="right")


def _map_place(job: Job) -> tuple[float, float]:
    """Left edge of the small map, and its boards' side, mm; a plate on one board has none."""
    if len(job.split.tiles) == 1:
        return job.page.width - job.page.margin - _WAY_UP + 20, 0.0
    columns, rows = job.split.map_size
    box = min(5.0, 26.0 / columns, 16.0 / rows)
    return job.page.width - job.page.margin - _WAY_UP - columns * box, box


def _draw_map(sheet: Sheet, job: Job, parts: Sequence[Part], left: float, box: float) -> None:
    """All tiles small, those of the page filled."""
    (columns, rows), top = job.split.map_size, job.page.margin
    if not job.split.is_grid:
        _draw_cover_map(sheet, job, parts, left, columns * box)
        return
    # Lines closer than a millimetre would be grey mush: a large map is its frame alone.
    across, down = (1, 1) if box >= 1 else (columns, rows)
    sheet.lines(
        [(left, top + r * box, left + columns * box, top + r * box)
         for r in range(0, rows + 1, down)]
        + [(left + c * box, top, left + c * box, top + rows * box)
           for c in range(0, columns + 1, across)],
        0.15,
        QUIET,
    )  # fmt: skip
    dot = max(box, 1.6)
    boxes = []
    for part in parts:
        column = columns - 1 - part.tile.column if part.mirrored else part.tile.column
        x, y = left + (column + 0.5) * box, top + (part.tile.row + 0.5) * box
        boxes.append((x - dot / 2, y - dot / 2, dot, dot))
    sheet.boxes(boxes, INK if box >= dot else ACCENT)


def _draw_cover_map(
    sheet: Sheet, job: Job, parts: Sequence[Part], left: float, room: float
) -> None:
    """As `_draw_map`, for boards that do not lie in columns and rows."""
    width, height = job.plate.size
    step, top = min(room / width, 16.0 / height), job.page.margin

    def box_of(tile: Tile) -> tuple[float, float, float, float]:
        x = width - tile.x - tile.width if job.is_mirrored else tile.x
        return left + x * step, top + tile.y * step, tile.width * step, tile.height * step

    sheet.boxes([box_of(part.tile) for part in parts], INK)
    lines = []
    for x, y, wide, high in map(box_of, job.split.tiles):
        lines += [(x, y, x + wide, y), (x, y, x, y + high)]
        lines += [(x + wide, y, x + wide, y + high), (x, y + high, x + wide, y + high)]
    sheet.lines(lines, 0.15, QUIET)
