"""The list of plates: number, name, beads, thickness to press to, and what it meets where."""

from __future__ import annotations

from collections.abc import Sequence

from img2plate.base.lengths import Paper
from img2plate.solid.box.build import Figure
from img2plate.solid.fit.model import JOINS
from img2plate.solid.joints import Joint
from img2plate.split.tiles import column_letters
from img2plate.typeset.look import ACCENT, QUIET, RULE
from img2plate.typeset.sheets.printing import MARGIN
from img2plate.typeset.sheets.sheet import Sheet

_ROW = 9.0
_TOP = 44.0


def letter_of(joint: Joint) -> str:
    """Letter of a joint: the same on both plates."""
    return column_letters(joint.number)


def fit_words(figure: Figure) -> list[str]:
    """How well the joints will fit, in a few lines."""
    spec, model = figure.spec, figure.spec.model
    t = spec.thickness_mm
    along = model.along_mm(t)
    squeeze = f"{-along:.2f} mm squeeze" if along < 0 else f"{along:.2f} mm clearance"
    trust = "measured on your test piece" if model.is_measured else "by volume of plastic only"
    lines = [
        f"Walls pressed to {t:g} mm: the joints {_verdict(model.verdict(t))} ({squeeze}, {trust})."
    ]
    spans = model.thickness_ranges(JOINS)
    if spans:
        said = " and ".join(f"from {thick:.1f} down to {thin:.1f} mm" for thin, thick in spans)
        lines.append(f"They join {said}. Measure before you fit.")
    if any(piece.thickness_mm != t for piece in figure.pieces):
        lid, squeezed = _verdict(model.verdict(t, spec.lid_mm)), -model.between_mm(t, spec.lid_mm)
        lines.append(
            f"Lids pressed to {spec.lid_mm:g} mm, to go on and off: they {lid} ({squeezed:.2f} mm"
            " squeeze)."
        )
    if not model.is_measured:
        lines.append("Sure only with your own beads: make the test piece of img2plate fit")
    return lines


def _verdict(verdict: str) -> str:
    """The verdict as part of a sentence about joints."""
    return {"falls out": "fall apart", "holds": "hold", "tight": "are tight"}.get(
        verdict, "are too tight"
    )


def draw_plate_list(sheet: Sheet, paper: Paper, figure: Figure, joints: Sequence[Joint]) -> None:
    """One page, or as many as the plates need."""
    rows = int((paper.height_mm - _TOP - MARGIN - 8) / _ROW)
    numbered = list(enumerate(figure.pieces))
    for first in range(0, len(numbered), rows):
        sheet.start(paper.width_mm, paper.height_mm)
        _draw_head(sheet)
        for place, (number, piece) in enumerate(numbered[first : first + rows]):
            y = _TOP + place * _ROW
            width, height = piece.plate.size
            left, right = MARGIN + 8, paper.width_mm - MARGIN - 8
            sheet.text(left + 8, y + 6, str(number + 1), 14, bold=True, align="right")
            sheet.text(left + 12, y + 4, piece.title, 10, bold=True)
            sheet.text(left + 12, y + 8, f"{width} x {height}", 8, colour=QUIET)
            sheet.text(left + 74, y + 6, f"{piece.plate.bead_count:,}", 10, align="right")
            sheet.text(left + 92, y + 6, f"{piece.thickness_mm:g} mm", 10, align="right")
            _draw_meetings(sheet, joints, number, left + 100, y + 6, right)
            sheet.line(left, y + _ROW, right, y + _ROW, 0.1, RULE)
        sheet.end()


def _draw_head(sheet: Sheet) -> None:
    """Title and names of the columns."""
    left = MARGIN + 8
    sheet.text(left, MARGIN + 12, "List of plates", 20, bold=True)
    said = (
        "A letter is a joint: it stands on both plates that meet there. A 3 is: joint A, plate 3."
    )
    sheet.text(left, MARGIN + 19, said, 10)
    for x, words, align in (
        (12.0, "plate", "left"), (74.0, "beads", "right"), (92.0, "press to", "right"),
        (100.0, "meets", "left"),
    ):  # fmt: skip
        sheet.text(left + x, _TOP - 3, words, 8, colour=QUIET, align=align)


def _draw_meetings(
    sheet: Sheet, joints: Sequence[Joint], number: int, x: float, y: float, right: float
) -> None:
    """Letters of a plate's joints with the other plate's number."""
    met = [
        (letter_of(joint), joint.sides[1 - i].piece + 1)
        for joint in joints
        for i in (0, 1)
        if joint.sides[i].piece == number
    ]
    size = 10.0
    while size > 5 and _width(sheet, met, size) > right - x:
        size -= 0.5
    for letter, other in met:
        sheet.text(x, y, letter, size, bold=True, colour=ACCENT)
        x += sheet.text_width(letter, size, bold=True) + 1
        sheet.text(x, y, str(other), size)
        x += sheet.text_width(str(other), size) + 3


def _width(sheet: Sheet, met: list[tuple[str, int]], size: float) -> float:
    """Width of all of a plate's joints in mm."""
    return sum(
        sheet.text_width(letter, size, bold=True) + sheet.text_width(str(other), size) + 4
        for letter, other in met
    )
