"""True-scale pages of a figure's plates: each by itself, or those of one board together."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from img2plate.solid.box.build import Figure
from img2plate.solid.equal import equal_plates
from img2plate.typeset.figure.board_page import BoardPage
from img2plate.typeset.figure.face_down import laid_face_down
from img2plate.typeset.figure.joint_marks import JointMarks, seen_words
from img2plate.typeset.figure.laying import Plan
from img2plate.typeset.sheets.geometry import parts_of
from img2plate.typeset.sheets.job import Job
from img2plate.typeset.sheets.runs_page import draw_runs_pages
from img2plate.typeset.sheets.sheet import Sheet
from img2plate.typeset.sheets.tile_page import draw_tile_page


def draw_plate_pages(
    sheet: Sheet,
    figure: Figure,
    plan: Plan,
    symbols: dict[int, str],
    progress: Callable[[float], None] | None = None,
) -> None:
    """Draw all boards in their order; `progress` is told the share done."""
    equal = {number: others for number, *others in equal_plates(figure.pieces)}
    laid = laid_face_down(figure) if plan.printing.mirrored else figure
    pages = _PlatePages(laid, plan, equal, symbols)
    for place, lying in enumerate(plan.boards, 1):
        if len(lying) > 1:
            number = plan.numbers[lying[0].number]
            BoardPage(laid, lying, equal, number, symbols, plan.board).draw(
                sheet, plan.page, plan.printing
            )
        else:
            pages.draw(sheet, lying[0].number)
        if progress:
            progress(place / len(plan.boards))


@dataclass(frozen=True, eq=False)
class _PlatePages:
    """The pages of plates that have a board, or several, for themselves."""

    figure: Figure
    plan: Plan
    equal: dict[int, list[int]]
    symbols: dict[int, str]

    def draw(self, sheet: Sheet, number: int) -> None:
        """Draw those of one plate."""
        figure, page, printing = self.figure, self.plan.page, self.plan.printing
        plate, seen = figure.pieces[number].plate, seen_words(printing.mirrored)
        marks = JointMarks(figure, figure.joints, number, page, self.equal[number], seen=seen)
        job = Job(plate, self.plan.cutter(plate), self.symbols, page, printing,
                  title=str(number + 1), is_as_laid=True, more=marks.draw)  # fmt: skip
        for tile in job.split.tiles:
            for part in parts_of(tile, page):
                draw_tile_page(sheet, job, part)
        if printing.runs:
            draw_runs_pages(sheet, job, job.split.tiles)
