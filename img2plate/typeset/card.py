"""The card to measure beads on, as one page of true-scale PDF."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import numpy as np

from img2plate.base.lengths import Paper
from img2plate.measure.card import (
    CELL,
    CELLS,
    HEIGHT,
    LINE,
    MARKERS,
    STEP_GREYS,
    STEPS,
    WIDTH,
    Box,
    marker_bits,
)
from img2plate.typeset.look import INK, QUIET
from img2plate.typeset.sheets.sheet import Sheet

HOW_TO = (
    "Fill a cell with beads of one colour, standing close. Lay the card flat in even daylight, no",
    "flash. Photograph all of it from straight above; then: img2plate palette measure PHOTO",
)


def corner_mm(paper: Paper) -> tuple[float, float]:
    """Where on the paper the card's upper left corner is, mm."""
    return (paper.width_mm - WIDTH) / 2, (paper.height_mm - HEIGHT) / 2


def write_card(path: Path, *, paper: Paper) -> None:
    """Write the card."""
    sheet = Sheet(path, "bead card")
    sheet.start(paper.width_mm, paper.height_mm)
    left, top = corner_mm(paper)
    for number, box in enumerate(MARKERS):
        sheet.boxes(list(_marker(number, box, left, top)), "#000000")
    for number, box in enumerate(CELLS, 1):
        x, y = left + box.left, top + box.top
        sheet.boxes(list(_frame(x, y)), INK)
        sheet.text(x + 0.2, y - 1.3, str(number), 8, bold=True)
    for box, grey in zip(STEPS, STEP_GREYS, strict=True):
        colour = f"#{grey:02x}{grey:02x}{grey:02x}"
        sheet.boxes([(left + box.left, top + box.top, box.side, box.side)], colour)
    middle = left + WIDTH / 2
    sheet.text(left + MARKERS[0].side + 6, top + 10, "Bead card", 20, bold=True)
    said = "print at 100 % on plain white paper"
    sheet.text(left + WIDTH - MARKERS[0].side - 6, top + 10, said, 10, colour=QUIET, align="right")
    for row, words in enumerate(HOW_TO):
        sheet.text(middle, top + 238 + 5 * row, words, 8, colour=QUIET, align="middle")
    sheet.end()
    sheet.save()


def _marker(
    number: int, box: Box, left: float, top: float
) -> Iterator[tuple[float, float, float, float]]:
    """The black runs of a marker; runs, as single squares would show hairlines between them."""
    bits = marker_bits(number)
    side = box.side / len(bits)
    for row, line in enumerate(bits):
        edges = np.flatnonzero(np.diff(np.concatenate([[0], line.astype(np.int8), [0]])))
        for start, stop in edges.reshape(-1, 2):
            x, y = left + box.left + start * side, top + box.top + row * side
            yield x, y, float(stop - start) * side, side


def _frame(x: float, y: float) -> Iterator[tuple[float, float, float, float]]:
    """The four bars of a cell's line, inside the cell's box."""
    yield x, y, CELL, LINE
    yield x, y + CELL - LINE, CELL, LINE
    yield x, y, LINE, CELL
    yield x + CELL - LINE, y, LINE, CELL
