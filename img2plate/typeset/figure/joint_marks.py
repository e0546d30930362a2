"""Letters of joints on a plate's page: outside its edges, and beside its slots."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import NamedTuple

from img2plate.solid.box.build import Figure
from img2plate.solid.joints import Joint, Side
from img2plate.typeset.figure.edge_letters import spread
from img2plate.typeset.figure.plate_list import letter_of
from img2plate.typeset.look import ACCENT, PAPER
from img2plate.typeset.sheets.geometry import HEAD, Page, Part
from img2plate.typeset.sheets.printing import MARGIN
from img2plate.typeset.sheets.sheet import Sheet

_OFF = 6.6
"""From the cells to the middle of a letter, mm: outside the columns' numbers."""
_NEAR = 2.5
"""As `_OFF`, towards another plate on the same board."""
_GAP = 0.9
"""Between cells and the nearest letter or number there, mm."""
_HIGH, _HIGH_NEAR = 7.0, 6.2
"""Height of a letter above its number, mm; towards another plate they are smaller."""
Taken = Mapping[str, Sequence[tuple[float, float]]]
"""Stretches (start, end) of edges that are not free, mm on the page."""


class _Letter(NamedTuple):
    """What stands outside an edge."""

    name: str
    other: str
    """Number of the plate that is met."""
    at: float
    """Along the edge, mm on the page."""


class JointMarks:
    """Draws the letters of one plate's joints on each of its pages."""

    def __init__(
        self, figure: Figure, joints: Sequence[Joint], number: int, page: Page,
        others: Sequence[int] = (), near: frozenset[str] = frozenset(),
        seen: str = "seen from outside",
    ) -> None:  # fmt: skip
        """`others` are plates equal to this one, which have no page of their own.

        near: edges beyond which another plate may lie on the board, instead of its numbers.
        """
        self._page, self._others, self._near, self._seen = page, others, near, seen
        self._piece = figure.pieces[number]
        self._sides = [
            (letter_of(joint), joint.sides[i], joint.sides[1 - i].piece + 1)
            for joint in joints
            for i in (0, 1)
            if joint.sides[i].piece == number
        ]

    def draw(self, sheet: Sheet, part: Part, name: str) -> None:
        """Draw all letters that fall on a part, and beside its large name how thick to press."""
        words = f"press to {self._piece.thickness_mm:g} mm, {self._seen}"
        if self._piece.role == "strip":
            words = f"press to {self._piece.thickness_mm:g} mm"
        if self._others:
            also = ", ".join(str(other + 1) for other in self._others)
            words += f"; make {len(self._others) + 1}: this and {also}, letters as in the list"
        draw_beside_name(sheet, name, words)
        self.draw_letters(sheet, part)

    def draw_letters(self, sheet: Sheet, part: Part, taken: Taken | None = None) -> None:
        """Draw all letters that fall on a part; taken: stretches of edges, mm on the page."""
        outside: dict[str, list[_Letter]] = {}
        for letter, side, other in self._sides:
            edge = self._edge_of(side)
            if edge == "inside":
                self._draw_inside(sheet, part, letter, side)
            elif self._has_edge(part, edge):
                at = self._along(part, edge, side)
                outside.setdefault(edge, []).append(_Letter(letter, str(other), at))
        for edge, letters in outside.items():
            rooms = [self._room(sheet, edge, each) for each in letters]
            places = spread([each.at for each in letters], rooms, (taken or {}).get(edge, ()))
            for each, at in zip(letters, places, strict=True):
                self._draw_outside(sheet, part, edge, each._replace(at=at))

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

    def _along(self, part: Part, edge: str, side: Side) -> float:
        """Where on an edge a joint is, mm on the page: on the stretch that this part has of it."""
        page = self._page
        if edge in ("left", "right"):
            row = min(max(side.row + 0.5 - part.y, 0.5), part.height - 0.5)
            return page.top + row * page.pitch
        column = min(max(side.column + 0.5 - part.x, 0.5), part.width - 0.5)
        return page.left + column * page.pitch

    def _sizes(self, edge: str) -> tuple[float, float]:
        """Points of a letter and of the number beside it."""
        return (10, 7) if edge in self._near else (12, 8)

    def _room(self, sheet: Sheet, edge: str, letter: _Letter) -> float:
        """Length of an edge that a letter and its number take, mm."""
        if edge in ("left", "right"):
            return _HIGH_NEAR if edge in self._near else _HIGH
        return sum(_widths(sheet, letter, self._sizes(edge))) + 1.4

    def _draw_outside(self, sheet: Sheet, part: Part, edge: str, letter: _Letter) -> None:
        """A letter beside an edge, with the number of the other plate."""
        page, sizes, near = self._page, self._sizes(edge), edge in self._near
        right, bottom = page.left + part.width * page.pitch, page.top + part.height * page.pitch
        name, number = _widths(sheet, letter, sizes)
        off = _NEAR if near else _OFF
        if edge in ("top", "bottom"):
            y = page.top - off if edge == "top" else bottom + off
            draw_letter(sheet, letter.at - number / 2, y, letter.name, letter.other, sizes)
        else:  # one above the other, as there is less room across
            half = max(name, number) / 2 + (_GAP if near else _OFF - 2)
            x = page.left - half if edge == "left" else right + half
            y, size = letter.at + sizes[0] * 0.13, sizes[0]
            sheet.text(x, y - 1.1, letter.name, size, bold=True, colour=ACCENT, align="middle")
            sheet.text(x, y + sizes[1] * 0.2, letter.other, sizes[1], colour=ACCENT,
                       align="middle")  # fmt: skip

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


def _widths(sheet: Sheet, letter: _Letter, sizes: tuple[float, float]) -> tuple[float, float]:
    """Of a letter and of the number beside it, mm."""
    return (
        sheet.text_width(letter.name, sizes[0], bold=True),
        sheet.text_width(letter.other, sizes[1]) + 0.4,
    )


def draw_letter(
    sheet: Sheet, x: float, y: float, name: str, other: str, sizes: tuple[float, float]
) -> None:
    """The letter large with its middle at a place, the other plate's number beside it."""
    size, small = sizes
    sheet.text(x, y + size * 0.13, name, size, bold=True, colour=ACCENT, align="middle")
    wide = sheet.text_width(name, size, bold=True)
    sheet.text(x + wide / 2 + 0.4, y + size * 0.13, other, small, colour=ACCENT)


def seen_words(mirrored: bool) -> str:
    """From where one sees a plate on its board."""
    return "seen from inside" if mirrored else "seen from outside"


def draw_beside_name(sheet: Sheet, name: str, words: str) -> None:
    """How to press, in the last line of a page's head, beside its large name."""
    left = MARGIN + max(24.0, sheet.text_width(name, 32, bold=True) + 6)
    sheet.text(left, MARGIN + HEAD - 1.2, words, 10, bold=True, colour=ACCENT)
