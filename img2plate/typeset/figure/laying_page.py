"""The page on which rounds stand: what is laid at one time when fewer boards are owned."""

from __future__ import annotations

from img2plate.base.lengths import Paper
from img2plate.typeset.figure.laying import FigureRound, Laying, on_boards
from img2plate.typeset.look import HEADING, QUIET
from img2plate.typeset.sheets.geometry import FOOT
from img2plate.typeset.sheets.printing import MARGIN
from img2plate.typeset.sheets.sheet import Sheet

_TOP, _LINE, _TITLE = 40.0, 4.9, 7.0


def draw_laying(sheet: Sheet, paper: Paper, rounds: tuple[FigureRound, ...]) -> None:
    """What is laid in each round, on as many pages as that needs."""
    left, end = MARGIN + 8, paper.height_mm - MARGIN - FOOT
    y = end
    for each in rounds:
        lines = [line for laid in each.laid for line in _lines(sheet, paper, laid)]
        high = _TITLE + _LINE * len(lines) + 3
        if y + high > end:
            if each.number > 1:
                sheet.end()
            _start(sheet, paper, rounds)
            y = _TOP
        sheet.text(left, y, f"Round {each.number}", 14, bold=True, colour=HEADING)
        for number, line in enumerate(lines):
            sheet.text(left + 4, y + _TITLE + number * _LINE, line, 10)
        y += high
    sheet.end()


def _start(sheet: Sheet, paper: Paper, rounds: tuple[FigureRound, ...]) -> None:
    """Title of a page."""
    sheet.start(paper.width_mm, paper.height_mm)
    sheet.bookmark("Rounds")
    title = f"{len(rounds)} rounds on {on_boards(rounds)}"
    sheet.text(MARGIN + 8, MARGIN + 12, title, 20, bold=True, colour=HEADING)
    said = "Lay and press what stands in a round; then its boards are free for the next."
    sheet.text(MARGIN + 8, MARGIN + 19, said, 10, colour=QUIET)


def _lines(sheet: Sheet, paper: Paper, laid: Laying) -> list[str]:
    """Name of what is laid, and its boards where it takes several."""
    words = laid.name + (f", on {laid.boards} boards" if laid.boards > 1 else "")
    return sheet.wrap(words[0].upper() + words[1:], 10, paper.width_mm - 2 * MARGIN - 24)
