"""The form that goes with the test piece: what to measure, where to write it, what to type then."""

from __future__ import annotations

from pathlib import Path

from img2plate.base.lengths import Paper
from img2plate.solid.fit.measured import LONG_BEADS, SHORT_BEADS
from img2plate.solid.fit.model import VERDICTS, FitModel
from img2plate.typeset.look import ACCENT, INK, QUIET, RULE
from img2plate.typeset.sheets.printing import MARGIN
from img2plate.typeset.sheets.sheet import Sheet

ROW_PATTERN = "T:LONG:SHORT:SLOT:JOINT"
"""How one row is written, by the letters over its columns."""
_ROWS = 4
_ROW = 13.0
_COLUMNS = (
    ("thickness", "at three places", "T"),
    ("strip, long edge", f"{LONG_BEADS} beads", "LONG"),
    ("strip, tab", f"{SHORT_BEADS} beads", "SHORT"),
    ("comb, slot", f"{SHORT_BEADS} empty cells", "SLOT"),
    ("the joint", " / ".join(VERDICTS[:2]), "JOINT"),
)
STEPS = (
    "Build comb and strip from the same beads you will build with, both on one board.",
    "Press them together as you always do, cool them flat under a weight, wait an hour.",
    "Measure with calipers, in mm, over the rims. Write one row. Do it again pressed longer.",
    "Push the strip's fingers into the comb's notches at a right angle, and its tab through the"
    " slot. Tick how it feels.",
    "Give your figures as it says below: all later answers follow your own beads.",
)


def write_trial_form(path: Path, model: FitModel, *, paper: Paper, how_to_answer: str = "") -> None:
    """Write the form as one page of PDF; `how_to_answer` says where each row of it goes."""
    sheet = Sheet(path, "test piece")
    sheet.start(paper.width_mm, paper.height_mm)
    left, right = MARGIN + 8, paper.width_mm - MARGIN - 8
    sheet.text(left, MARGIN + 16, "Test piece", 32, bold=True)
    sheet.text(left, MARGIN + 25, _bead_words(model), 10, colour=QUIET)
    y = _steps(sheet, left, MARGIN + 36, right - left)
    y = _table(sheet, left, right, y + 8)
    y = _answer(sheet, left, y + 12, how_to_answer)
    y = _expected(sheet, left, right, y + 12, model)
    sheet.line(left, y + 4, right, y + 4, 0.4, ACCENT)
    caution = (
        "An iron burns and plates stay hot: pressing is for adults. Small fused pieces can be"
        " swallowed: not for children under 3. Follow local rules and product instructions."
    )
    for number, line in enumerate(sheet.wrap(caution, 10, right - left)):
        sheet.text(left, y + 11 + 5 * number, line, 10)
    sheet.end()
    sheet.save()


def _bead_words(model: FitModel) -> str:
    """The bead and pitch that this form is for."""
    bead = model.bead
    return (
        f"For beads of {bead.outer_mm:g} x {bead.hole_mm:g} x {bead.height_mm:g} mm (outer, hole,"
        f" height) on a pitch of {model.pitch_mm:g} mm. Print at 100%."
    )


def _steps(sheet: Sheet, left: float, y: float, width: float) -> float:
    """Numbered steps; returns the y below."""
    for number, step in enumerate(STEPS, 1):
        sheet.text(left, y, str(number), 14, bold=True, colour=ACCENT)
        for line in sheet.wrap(step, 10, width - 8):
            sheet.text(left + 8, y, line, 10)
            y += 5
        y += 2
    return y


def _table(sheet: Sheet, left: float, right: float, y: float) -> float:
    """Boxes to write in; returns the y below."""
    step = (right - left) / len(_COLUMNS)
    for place, (name, what, letters) in enumerate(_COLUMNS):
        x = left + place * step
        sheet.text(x + 1, y, name, 10, bold=True)
        sheet.text(x + 1, y + 4.5, what, 8, colour=QUIET)
        sheet.text(x + step - 2, y + 4.5, letters, 8, bold=True, colour=ACCENT, align="right")
    sheet.text(left + 4 * step + 1, y + 8, " / ".join(VERDICTS[2:]), 8, colour=QUIET)
    top, bottom = y + 10, y + 10 + _ROWS * _ROW
    sheet.lines(
        [(left, top + r * _ROW, right, top + r * _ROW) for r in range(_ROWS + 1)], 0.25, INK
    )
    sheet.lines([(left + c * step, top, left + c * step, bottom) for c in range(6)], 0.25, INK)
    for row in range(_ROWS):
        for column in range(4):
            x = left + (column + 1) * step
            sheet.text(x - 2, top + (row + 1) * _ROW - 2, "mm", 8, colour=QUIET, align="right")
    return bottom


def _answer(sheet: Sheet, left: float, y: float, how: str) -> float:
    """What to do with the figures; returns the y below."""
    sheet.text(left, y, f"Then give each row as {ROW_PATTERN}" + (":" if how else "."), 10)
    sheet.text(left, y + 7, how, 14, bold=True)
    words = ", ".join(verdict.replace(" ", "-") for verdict in VERDICTS)
    sheet.text(
        left,
        y + 13,
        f"for example 3.9:75.1:25.2:24.8:holds; SLOT may be left out (the joint: {words})",
        10,
        colour=QUIET,
    )
    return y + 13


def _expected(sheet: Sheet, left: float, right: float, y: float, model: FitModel) -> float:
    """What the model expects, to notice a slip; returns the y below."""
    sheet.text(
        left, y, "Expected by the volume of plastic alone, before cooling (mm)", 10, bold=True
    )
    step, y = (right - left) / 5, y + 6
    heads = ("thickness", "long edge", "tab", "slot", "the joint")
    for place, head in enumerate(heads):
        sheet.text(left + place * step, y, head, 8, colour=QUIET)
    for share in (0.9, 0.8, 0.7, 0.6):
        y += 6
        t = share * model.bead.height_mm
        figures = (t, model.tab_mm(LONG_BEADS, t), model.tab_mm(SHORT_BEADS, t),
                   model.slot_mm(SHORT_BEADS, t))  # fmt: skip
        for place, mm in enumerate(figures):
            sheet.text(left + place * step, y, f"{mm:.1f}", 10)
        sheet.text(left + 4 * step, y, model.verdict(t), 10)
        sheet.line(left, y + 1.8, right, y + 1.8, 0.1, RULE)
    return y + 2
