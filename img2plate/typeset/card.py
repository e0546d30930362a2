"""The card to measure beads on, as one page of true-scale PDF."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import numpy as np

from img2plate.base.lengths import Paper
from img2plate.measure.card import (
    CARDS,
    CELLS,
    HEIGHT,
    LINE,
    MARKER,
    MARKERS,
    STEP_GREYS,
    STEPS,
    WIDTH,
    Box,
    Card,
    marker_bits,
)
from img2plate.typeset.look import INK, QUIET
from img2plate.typeset.sheets.sheet import Sheet

HOW_TO = (
    "Stand 3 x 3 beads of one colour close together in the middle of a cell: 4 x 4 hardly fit. Lay"
    " the card flat in even daylight, no flash. Photograph all of it from straight above; then:"
    " img2plate palette measure PHOTO"
)


def corner_mm(paper: Paper, card: Card) -> tuple[float, float]:
    """Where on the paper the card's upper left corner is, mm."""
    return (paper.width_mm - WIDTH * card.scale) / 2, (paper.height_mm - HEIGHT * card.scale) / 2


def write_card(path: Path, *, paper: Paper, card: Card = CARDS[0]) -> None:
    """Write the card."""
    sheet = Sheet(path, "bead card")
    sheet.start(paper.width_mm, paper.height_mm)
    corner = corner_mm(paper, card)
    for number, box in zip(card.markers, MARKERS, strict=True):
        sheet.boxes(list(_marker(number, _placed(box, corner, card.scale))), "#000000")
    for number, box in enumerate(CELLS, 1):
        cell = _placed(box, corner, card.scale)
        sheet.boxes(list(_frame(cell, LINE * card.scale)), INK)
        size = 8 if card.scale == 1 else 6
        sheet.text(cell.left + 0.2, cell.top - 1.3 * card.scale, str(number), size, bold=True)
    for box, grey in zip(STEPS, STEP_GREYS, strict=True):
        step = _placed(box, corner, card.scale)
        sheet.boxes(
            [(step.left, step.top, step.side, step.side)], f"#{grey:02x}{grey:02x}{grey:02x}"
        )
    _words(sheet, paper, card)
    sheet.end()
    sheet.save()


def _words(sheet: Sheet, paper: Paper, card: Card) -> None:
    """What it is, and how to use it: on a large card between its markers, else round it."""
    left, top = corner_mm(paper, card)
    right, bottom = paper.width_mm - left, paper.height_mm - top
    large = card.scale == 1
    inset, title, line = (MARKER + 6, top + 10, bottom - 12) if large else (0, top - 9, bottom + 9)
    sheet.text(left + inset, title, f"Bead card {card.pitch_mm:g} mm", 20, bold=True)
    said = "print at 100% on plain white paper"
    if large:
        sheet.text(right - inset, title, said, 10, colour=QUIET, align="right")
    else:
        sheet.text(left, title - 9, said, 10, colour=QUIET)
    for row, words in enumerate(sheet.wrap(HOW_TO, 8, max(right - left - 2 * inset, 120))):
        sheet.text(paper.width_mm / 2, line + 5 * row, words, 8, colour=QUIET, align="middle")


def _placed(box: Box, corner: tuple[float, float], scale: float) -> Box:
    """Where a box of the card is on the paper, mm."""
    return Box(corner[0] + box.left * scale, corner[1] + box.top * scale, box.side * scale)


def _marker(number: int, box: Box) -> Iterator[tuple[float, float, float, float]]:
    """The black runs of a marker; runs, as single squares would show hairlines between them."""
    bits = marker_bits(number)
    side = box.side / len(bits)
    for row, line in enumerate(bits):
        edges = np.flatnonzero(np.diff(np.concatenate([[0], line.astype(np.int8), [0]])))
        for start, stop in edges.reshape(-1, 2):
            x, y = box.left + start * side, box.top + row * side
            yield x, y, float(stop - start) * side, side


def _frame(box: Box, line: float) -> Iterator[tuple[float, float, float, float]]:
    """The four bars of a cell's line, inside the cell's box."""
    yield box.left, box.top, box.side, line
    yield box.left, box.top + box.side - line, box.side, line
    yield box.left, box.top, line, box.side
    yield box.left + box.side - line, box.top, line, box.side
