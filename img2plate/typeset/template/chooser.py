"""The page to choose beads on: a table for each group of roles, with columns to tick.

picture          title, what to do

colour 1               [] as it is   [] lamp yellow   [] ...   [] my own
1 colour 1        240  o prt         o lmp            o ...    ______
2 colour 1 light   60  o prt+        o lmp+           o ...    ______
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from img2plate.base.lengths import Paper
from img2plate.plate.offers import Offer, offers
from img2plate.plate.plate import Plate
from img2plate.plate.roles import Group, Role
from img2plate.typeset.look import HEADING, INK, QUIET
from img2plate.typeset.preview import draw_picture
from img2plate.typeset.sheets.geometry import FOOT
from img2plate.typeset.sheets.legend import draw_swatch
from img2plate.typeset.sheets.printing import MARGIN
from img2plate.typeset.sheets.sheet import Sheet
from img2plate.typeset.sheets.thumbnail import fit_into

_TINTS = {0: "#eef1f2", 1: "#f8fafa", -1: "#dfe4e6"}
"""Of cells: base, lighter, darker. So pale that pencils cover them."""
_ROLE, _OFFER, _OWN = 56.0, 20.0, 24.0
"""Widths of columns, mm."""
_PICTURE = 38.0
_WORDS = (
    "Each number in the cells stands for one colour of the pattern. Colours that belong together,"
    " light and shade, are one table: tick the column that you like, or write codes of your beads"
    " at the right. Then each number is the bead beside it."
)
_COLUMN_APART = 2.0


def tint(role: Role) -> str:
    """Of a role's cells on paper, `#rrggbb`."""
    return _TINTS[max(-1, min(1, role.step))]


@dataclass(frozen=True)
class _Rows:
    """How close everything stands, mm."""

    head: float
    row: float
    gap: float

    def height(self, group: Group) -> float:
        return self.head + self.row * len(group.roles) + self.gap


_ROOMY, _CLOSE = _Rows(11.0, 6.6, 4.0), _Rows(7.0, 5.6, 1.4)


@dataclass(frozen=True)
class Chooser:
    """The page, or pages where one has no room for all groups."""

    plate: Plate
    groups: tuple[Group, ...]
    paper: Paper
    thickness_mm: float

    def draw(self, sheet: Sheet) -> None:
        """Draw all of it."""
        left, right = MARGIN + 6, self.paper.width_mm - MARGIN - 6
        end = self.paper.height_mm - MARGIN - FOOT
        top = MARGIN + 12 + _PICTURE
        room = end - top
        fits = sum(map(_ROOMY.height, self.groups)) <= room
        rows = _ROOMY if fits else _CLOSE
        most = max(1, int((right - left - _ROLE - _OWN) / _OFFER) - 1)
        self._start(sheet)
        sheet.bookmark("Choose your colours")
        y = self._draw_head(sheet, left, right)
        for group in self.groups:
            if y + rows.height(group) - rows.gap > end and y > MARGIN + 12:
                sheet.end()
                self._start(sheet)
                sheet.text(left, MARGIN + 8, "Choose your colours, continued", 14, bold=True,
                           colour=HEADING)  # fmt: skip
                y = MARGIN + 12
            ways = offers(self.plate, group, most)
            y = self._draw_group(sheet, group, ways, rows, (left, right, y))
        sheet.end()

    def _start(self, sheet: Sheet) -> None:
        sheet.start(self.paper.width_mm, self.paper.height_mm)

    def _draw_head(self, sheet: Sheet, left: float, right: float) -> float:
        """Title, words, and the plate as it is; returns the y below."""
        image = draw_picture(self.plate, thickness_mm=self.thickness_mm, most=600)
        size = fit_into(image.size, _PICTURE * 1.4, _PICTURE)
        sheet.picture(image, right - size[0], MARGIN + 4, *size)
        room = right - left - size[0] - 6
        sheet.text(left, MARGIN + 12, "Choose your colours", 20, bold=True, colour=HEADING)
        name = sheet.shorten(self.plate.name, 12, room, bold=True)
        sheet.text(left, MARGIN + 19, name, 12, bold=True)
        words = f"{_WORDS} Colours are those of the palette {self.plate.palette.name}."
        for number, line in enumerate(sheet.wrap(words, 9.5, room)):
            sheet.text(left, MARGIN + 25 + 4.6 * number, line, 9.5)
        return MARGIN + 8 + _PICTURE + 4

    def _draw_group(
        self,
        sheet: Sheet,
        group: Group,
        ways: Sequence[Offer],
        rows: _Rows,
        place: tuple[float, float, float],
    ) -> float:
        """One table from left, right and top; returns the y below."""
        left, right, y = place
        own = tuple(role.index for role in group.roles)
        columns = [("as it is", own)]
        columns += [(self.plate.palette.beads[way.base].name, way.beads) for way in ways]
        sheet.line(left, y, right, y, 0.3, QUIET)
        first = y + rows.head
        for number, role in enumerate(group.roles):
            _draw_role(sheet, role, (left, first + number * rows.row), rows.row)
        for number, (name, beads) in enumerate(columns):
            x = left + _ROLE + number * _OFFER
            _draw_box(sheet, x, y + 1.4)
            self._draw_name(sheet, name, x, y, rows)
            for line, index in enumerate(beads):
                self._draw_bead(sheet, index, x, first + line * rows.row + rows.row / 2)
        x = right - _OWN
        _draw_box(sheet, x, y + 1.4)
        sheet.text(x + 5, y + 4.4, "my choice", 8, bold=True)
        for line in range(len(group.roles)):
            base = first + (line + 1) * rows.row - 1.2
            sheet.line(x, base, right, base, 0.2, INK)
        return first + rows.row * len(group.roles) + rows.gap

    def _draw_name(self, sheet: Sheet, name: str, x: float, y: float, rows: _Rows) -> None:
        """What a column is called: beside its box, and below it where that takes two lines."""
        wide = _OFFER - 5 - _COLUMN_APART
        lines, most = sheet.wrap(name, 7, wide), 2 if rows is _CLOSE else 3
        if len(lines) > most:
            lines = [*lines[: most - 1], f"{lines[most - 1]} …"]
        at = y + (4.0 if len(lines) == 1 else 3.1)
        for number, line in enumerate(lines):
            sheet.text(x + 5, at + 2.9 * number, line, 7)

    def _draw_bead(self, sheet: Sheet, index: int, x: float, middle: float) -> None:
        """A bead and its code."""
        bead, size = self.plate.palette.beads[index], self.plate.palette.bead_size
        sheet.swatch(x + 2.6, middle, 5.2, bead.hex, size.hole_mm / size.outer_mm)
        code = sheet.shorten(bead.code, 9, _OFFER - 6 - _COLUMN_APART, bold=True)
        sheet.text(x + 6, middle + 1.2, code, 9, bold=True)


def _draw_role(sheet: Sheet, role: Role, corner: tuple[float, float], row: float) -> None:
    """Number, name and beads."""
    x, y = corner
    draw_swatch(sheet, tint(role), str(role.number), x, y + (row - 5.4) / 2)
    middle = y + row / 2 + 1.3
    sheet.text(x + 8, middle, sheet.shorten(role.name, 10, _ROLE - 24), 10)
    sheet.text(x + _ROLE - 6, middle, f"{role.beads:,}", 10, bold=True, align="right")


def _draw_box(sheet: Sheet, x: float, y: float, side: float = 3.8) -> None:
    """A box to tick."""
    sheet.lines([(x, y, x + side, y), (x, y + side, x + side, y + side),
                 (x, y, x, y + side), (x + side, y, x + side, y + side)], 0.3, INK)  # fmt: skip
