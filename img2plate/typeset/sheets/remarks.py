"""Whether a plate will hold together, in words, where a page has room for it."""

from __future__ import annotations

from img2plate.base.errors import without_marks
from img2plate.typeset.look import HEADING, INK
from img2plate.typeset.sheets.sheet import Sheet

TITLE = "Will it hold together"


def draw_remarks(
    sheet: Sheet, remarks: tuple[str, ...], y: float, room: tuple[float, float, float]
) -> None:
    """Set remarks from y down; room: left, right and lowest mm. What has none is left out."""
    left, right, lowest = room
    lines = [line for text in remarks for line in sheet.wrap(without_marks(text), 9, right - left)]
    lines = lines[: max(0, int((lowest - y) / 4.4))]
    if lines:
        sheet.text(left, y, TITLE, 10, bold=True, colour=HEADING)
    for number, line in enumerate(lines, 1):
        sheet.text(left, y + 4.4 * number, line, 9, colour=INK)
