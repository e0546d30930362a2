"""`sheets.pdf` of a figure: cover, plates, joints, steps, true-scale plates, counts, cautions."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import Any

from img2plate import __version__
from img2plate.base.lengths import Paper
from img2plate.solid.box.build import Figure
from img2plate.tally.counts import Counts
from img2plate.typeset.figure.drawings import Drawings
from img2plate.typeset.figure.laying import Plan
from img2plate.typeset.figure.laying_page import draw_laying
from img2plate.typeset.figure.plate_list import draw_plate_list, fit_words
from img2plate.typeset.figure.plate_pages import draw_plate_pages
from img2plate.typeset.figure.warnings_page import draw_cautions
from img2plate.typeset.look import QUIET
from img2plate.typeset.sheets.count_page import draw_count_pages
from img2plate.typeset.sheets.geometry import FOOT
from img2plate.typeset.sheets.pressing_page import draw_pressing_page
from img2plate.typeset.sheets.printing import MARGIN
from img2plate.typeset.sheets.sheet import Sheet
from img2plate.typeset.symbols import symbols_for

_STEP_MM, _STEP_HIGH_MM = 58.0, 58.0 * 360 / 330
_PART_ROWS = 3
_STEP_COLUMNS = 3


def write_figure_sheets(
    path: Path,
    figure: Figure,
    counts: Counts,
    drawings: Drawings,
    plan: Plan,
    progress: Callable[[float], None] | None = None,
) -> None:
    """Write the PDF with the figure's drawings. `progress` is told the share done."""
    with _binary_streams():
        _write(path, figure, counts, drawings, plan, progress)


@contextmanager
def _binary_streams() -> Iterator[None]:
    """Let the PDF writer keep pictures as bytes; as text they take a second more, and a quarter."""
    from reportlab import rl_config

    before, rl_config.useA85 = rl_config.useA85, 0
    try:
        yield
    finally:
        rl_config.useA85 = before


def _write(
    path: Path,
    figure: Figure,
    counts: Counts,
    drawings: Drawings,
    plan: Plan,
    progress: Callable[[float], None] | None,
) -> None:
    """Draw all pages."""
    paper = plan.printing.paper
    symbols = symbols_for([line.index for line in counts.colours])
    whose = filter(None, (figure.spec.credit.signature, f"palette {figure.spec.palette.name}"))
    made = ", ".join((*whose, f"img2plate {__version__}"))
    sheet = Sheet(path, figure.spec.title, made)
    _draw_cover(sheet, paper, figure, counts, drawings.assembled)
    _draw_apart(sheet, paper, drawings.exploded)
    _draw_parts(sheet, paper, drawings.parts)
    draw_plate_list(sheet, paper, figure, figure.joints, plan.numbers)
    _draw_steps(sheet, paper, drawings.steps)
    if plan.rounds:
        draw_laying(sheet, paper, plan.rounds)
    draw_plate_pages(sheet, figure, plan, symbols, progress)
    one = replace(counts, tiles=counts.tiles[:1])
    draw_count_pages(sheet, paper, figure.pieces[0].plate, one, symbols)
    draw_pressing_page(sheet, plan.printing)
    draw_cautions(sheet, paper, figure)
    sheet.save()


def _draw_cover(sheet: Sheet, paper: Paper, figure: Figure, counts: Counts, assembled: Any) -> None:
    """Name, picture, figures."""
    sheet.start(paper.width_mm, paper.height_mm)
    left, right = MARGIN + 8, paper.width_mm - MARGIN - 8
    sheet.text(left, MARGIN + 20, figure.spec.title, 32, bold=True)
    pitch = figure.spec.palette.pitch_mm
    measures = " x ".join(f"{beads * pitch / 10:g}" for beads in figure.size)
    beads = " x ".join(str(n) for n in figure.size)
    sheet.text(left, MARGIN + 29, f"{measures} cm wide, deep, high ({beads} beads)", 14)
    bottom = _place(sheet, assembled, left, 46, right - left, paper.height_mm * 0.56)
    facts = [
        (f"{counts.beads:,}", "beads"),
        (str(len(counts.colours)), "colours"),
        (str(len(figure.pieces)), "plates"),
        (counts.effort.number, counts.effort.words),
        (f"{counts.grams:,.0f}", f"grams with {counts.spare_percent:g}% spare"),
    ]
    for place, (figures, what) in enumerate(facts):
        x = left + place % 3 * (right - left) / 3
        y = bottom + 14 + place // 3 * 17
        sheet.text(x, y, figures, 20, bold=True)
        sheet.text(x, y + 5.5, what, 10, colour=QUIET)
    for number, line in enumerate(fit_words(figure)):
        sheet.text(left, bottom + 48 + number * 5.2, line, 10)
    sheet.end()


def _draw_apart(sheet: Sheet, paper: Paper, exploded: Any) -> None:
    """The parts and joins, each in one piece, pulled apart."""
    sheet.start(paper.width_mm, paper.height_mm)
    left, right = MARGIN + 8, paper.width_mm - MARGIN - 8
    sheet.text(left, MARGIN + 12, "Parts", 20, bold=True)
    said = "Build each part by itself first, then put them together."
    sheet.text(left, MARGIN + 19, said, 10)
    _place(sheet, exploded, left, 34, right - left, paper.height_mm - 34 - MARGIN - 8)
    sheet.end()


def _draw_parts(sheet: Sheet, paper: Paper, parts: list[Any]) -> None:
    """Each part's plates with their numbers, six parts a page."""
    left, right, top = MARGIN + 8, paper.width_mm - MARGIN - 8, 30.0
    high = (paper.height_mm - top - MARGIN - FOOT) / _PART_ROWS - 4
    size = min(high, (right - left - 4) / 2)
    for first in range(0, len(parts), 2 * _PART_ROWS):
        sheet.start(paper.width_mm, paper.height_mm)
        sheet.text(left, MARGIN + 12, "Plates", 20, bold=True)
        said = (
            "Small plates share a board: the list of plates says which. Equal ones have one page."
        )
        sheet.text(left, MARGIN + 19, said, 10)
        for place, part in enumerate(parts[first : first + 2 * _PART_ROWS]):
            x = left + place % 2 * (right - left - size)
            y = top + 4 + place // 2 * (size + 4)
            sheet.picture(part, x, y, size, size)
        sheet.end()


def _draw_steps(sheet: Sheet, paper: Paper, steps: list[Any]) -> None:
    """All steps, nine a page at most."""
    rows = min(3, int((paper.height_mm - 34 - MARGIN - FOOT) / (_STEP_HIGH_MM + 4)))
    step_x = (paper.width_mm - 2 * MARGIN - 16 - _STEP_MM) / (_STEP_COLUMNS - 1)
    for first in range(0, len(steps), rows * _STEP_COLUMNS):
        sheet.start(paper.width_mm, paper.height_mm)
        sheet.text(MARGIN + 8, MARGIN + 12, "Putting it together", 20, bold=True)
        said = "Dry first, without glue; push each plate in straight, finger by finger."
        sheet.text(MARGIN + 8, MARGIN + 19, said, 10)
        for place, step in enumerate(steps[first : first + rows * _STEP_COLUMNS]):
            x = MARGIN + 8 + place % _STEP_COLUMNS * step_x
            y = 34 + place // _STEP_COLUMNS * (_STEP_HIGH_MM + 4)
            sheet.picture(step, x, y, _STEP_MM, _STEP_HIGH_MM)
        sheet.end()


def _place(sheet: Sheet, image: Any, left: float, top: float, width: float, height: float) -> float:
    """Put a picture as large as it fits, in the middle; returns the y below it."""
    scale = min(width / image.width, height / image.height)
    wide, high = float(image.width * scale), float(image.height * scale)
    sheet.picture(image, left + (width - wide) / 2, top, wide, high)
    return top + high
