"""Letters of joints on a plate's page: outside its edges, and beside its slots."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from img2plate.solid.box.build import Figure
from img2plate.solid.joints import Joint, Side
from img2plate.typeset.figure.plate_list import letter_of
from img2plate.typeset.look import ACCENT, PAPER
from img2plate.typeset.sheets.geometry import HEAD, Page, Part
from img2plate.typeset.sheets.printing import MARGIN
from img2plate.typeset.sheets.sheet import Sheet

_OFF = 6.6
"""From the cells to the middle of a letter, mm: outside the columns' numbers."""


class JointMarks:
    """Draws the letters of one plate's joints on each of its pages."""

    def __init__(
        self, figure: Figure, joints: Sequence[Joint], number: int, page: Page,
        others: Sequence[int] = (),
    ) -> None:  # fmt: skip
        """`others` are plates equal to this one, which have no page of their own."""
        self._page, self._others = page, others
        self._piece = figure.pieces[number]
        self._sides = [
            (letter_of(joint), joint.sides[i], joint.sides[1 - i].piece + 1)
            for joint in joints
            for i in (0, 1)
            if joint.sides[i].piece == number
        ]

    def draw(self, sheet: Sheet, part: Part, name: str) -> None:
        """Draw all letters that fall on a part, and beside its large name how thick to press."""
        words = f"press to {self._piece.thickness_mm:g} mm, seen from outside"
        if self._piece.role == "strip":
            words = f"press to {self._piece.thickness_mm:g} mm"
        if self._others:
            also = ", ".join(str(other + 1) for other in self._others)
            words += f"; make {len(self._others) + 1}: this and {also}, letters as in the list"
        left = MARGIN + max(24.0, sheet.text_width(name, 32, bold=True) + 6)
        sheet.text(left, MARGIN + HEAD - 1.2, words, 10, bold=True, colour=ACCENT)
        for letter, side, other in self._sides:
            edge = self._edge_of(side)
            if edge == "inside":
                self._draw_inside(sheet, part, letter, side)
            elif self._has_edge(part, edge):
                self._draw_outside(sheet, part, letter, replace(side, edge=edge), other)

    def _edge_of(self, side: Side) -> str:
        """The edge a letter stands at: also that of a line inside which ends there."""
        width, height = self._piece.plate.size
        if side.edge == "inside" and side.column == width - 1:
            return "right"
        return "bottom" if side.edge == "inside" and side.row == height - 1 else side.edge

    def _has_edge(self, part: Part, edge: str) -> bool:
        """Whether a part has some of the plate's own edge, not of a seam between boards."""
        width, height = self._piece.plate.size
        return {
            "left": part.x == 0, "right": part.x + part.width == width,
            "top": part.y == 0, "bottom": part.y + part.height == height,
        }[edge]  # fmt: skip

    def _draw_outside(self, sheet: Sheet, part: Part, letter: str, side: Side, other: int) -> None:
        """A letter in the middle of the edge that this part has of it."""
        page = self._page
        wide, high = part.width * page.pitch, part.height * page.pitch
        row = min(max(side.row + 0.5 - part.y, 0.5), part.height - 0.5)
        column = min(max(side.column + 0.5 - part.x, 0.5), part.width - 0.5)
        x, y = page.left + column * page.pitch, page.top + row * page.pitch
        x, y = {
            "left": (page.left - _OFF - 2.4, y), "right": (page.left + wide + _OFF, y),
            "top": (x, page.top - _OFF), "bottom": (x, page.top + high + _OFF),
        }[side.edge]  # fmt: skip
        self._letter(sheet, x, y, letter, other)

    def _draw_inside(self, sheet: Sheet, part: Part, letter: str, side: Side) -> None:
        """A letter on white in the last empty cell of a slot, when that is on this part."""
        row, column = side.row + 0.5 - part.y, side.column + 0.5 - part.x
        if not (0 <= row <= part.height and 0 <= column <= part.width):
            return
        page, size = self._page, 10.0 if len(letter) == 1 else 7.5
        x, y = page.left + column * page.pitch, page.top + row * page.pitch
        wide = max(page.pitch * 0.92, sheet.text_width(letter, size, bold=True) + 0.8) / 2
        high = page.pitch * 0.46
        sheet.polygon(
            [
                (x - wide, y - high),
                (x + wide, y - high),
                (x + wide, y + high),
                (x - wide, y + high),
            ],
            PAPER,
        )
        sheet.text(x, y + size * 0.13, letter, size, bold=True, colour=ACCENT, align="middle")

    def _letter(self, sheet: Sheet, x: float, y: float, letter: str, other: int) -> None:
        """The letter large, the other plate's number beside it."""
        size = 12
        sheet.text(x, y + size * 0.13, letter, size, bold=True, colour=ACCENT, align="middle")
        wide = sheet.text_width(letter, size, bold=True)
        sheet.text(x + wide / 2 + 0.4, y + size * 0.13, str(other), 8, colour=ACCENT)
