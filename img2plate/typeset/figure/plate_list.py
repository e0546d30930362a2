"""The list of plates: number, name, beads, thickness to press to, and what it meets where."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from img2plate.base.lengths import Paper
from img2plate.solid.box.build import Figure
from img2plate.solid.equal import equal_plates, first_of
from img2plate.solid.fit.model import JOINS
from img2plate.solid.joints import Joint
from img2plate.typeset.look import ACCENT, QUIET, RULE
from img2plate.typeset.sheets.printing import MARGIN
from img2plate.typeset.sheets.sheet import Sheet

_ROW = 9.0
_TOP = 44.0
_SIZE, _LINE, _GAP = 10.0, 4.6, 3.0
"""Of the letters of joints: points, mm from line to line, mm between two."""


def letter_of(joint: Joint) -> str:
    """Letter of a joint: the same on both plates."""
    return joint.letter


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


def draw_plate_list(
    sheet: Sheet,
    paper: Paper,
    figure: Figure,
    joints: Sequence[Joint],
    board_of: Mapping[int, int],
) -> None:
    """One page, or as many as the plates need; board_of: of plates that share a board."""
    left, right, bottom = MARGIN + 8, paper.width_mm - MARGIN - 8, paper.height_mm - MARGIN - 8
    rows = [_meetings(sheet, joints, n, right - left - 100) for n in range(len(figure.pieces))]
    equal = first_of(equal_plates(figure.pieces))
    number = 0
    while number < len(rows):
        sheet.start(paper.width_mm, paper.height_mm)
        _draw_head(sheet)
        y = _TOP
        while number < len(rows) and y + (high := _row_height(rows[number])) <= bottom:
            piece = figure.pieces[number]
            width, height = piece.plate.size
            sheet.text(left + 8, y + 6, str(number + 1), 14, bold=True, align="right")
            sheet.text(left + 12, y + 4, piece.title, 10, bold=True)
            same = f", equal to plate {equal[number] + 1}" if number in equal else ""
            where = f", board {board_of[number]}" if number in board_of else ""
            sheet.text(left + 12, y + 8, f"{width} x {height}{where}{same}", 8, colour=QUIET)
            sheet.text(left + 74, y + 6, f"{piece.plate.bead_count:,}", 10, align="right")
            sheet.text(left + 92, y + 6, f"{piece.thickness_mm:g} mm", 10, align="right")
            _draw_meetings(sheet, rows[number], left + 100, y + 6)
            y += high
            sheet.line(left, y, right, y, 0.1, RULE)
            number += 1
        sheet.end()


def _row_height(lines: list[list[tuple[str, int]]]) -> float:
    """Height of a plate's row in mm."""
    return _ROW + _LINE * max(0, len(lines) - 1)


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


def _meetings(
    sheet: Sheet, joints: Sequence[Joint], number: int, width: float
) -> list[list[tuple[str, int]]]:
    """Letters of a plate's joints with the other plate's number, in lines of a width in mm."""
    lines: list[list[tuple[str, int]]] = [[]]
    for joint in joints:
        for i in (0, 1):
            if joint.sides[i].piece != number:
                continue
            met = letter_of(joint), joint.sides[1 - i].piece + 1
            if sum(_width(sheet, *each) for each in (*lines[-1], met)) - _GAP > width:
                lines.append([])
            lines[-1].append(met)
    return lines


def _draw_meetings(sheet: Sheet, lines: list[list[tuple[str, int]]], x: float, y: float) -> None:
    """Letters large enough to find, the other plates' numbers beside them."""
    for number, line in enumerate(lines):
        at = x
        for letter, other in line:
            sheet.text(at, y + number * _LINE, letter, _SIZE, bold=True, colour=ACCENT)
            wide = sheet.text_width(letter, _SIZE, bold=True) + 1
            sheet.text(at + wide, y + number * _LINE, str(other), _SIZE)
            at += _width(sheet, letter, other)


def _width(sheet: Sheet, letter: str, other: int) -> float:
    """Width of one joint in mm, with the gap after it."""
    wide = sheet.text_width(letter, _SIZE, bold=True) + sheet.text_width(str(other), _SIZE)
    return wide + 1 + _GAP
