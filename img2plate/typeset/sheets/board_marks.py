"""Where the board lies under a page: angles at its corners, triangles at the middles of its edges.

All are the true board's. On a page that has room for the whole board they stand where it ends, also
when the tile is smaller; else only those are drawn that lie on the tile's own edges.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import hypot

from img2plate.typeset.look import INK, QUIET
from img2plate.typeset.sheets.geometry import Page, Part
from img2plate.typeset.sheets.sheet import Sheet

SIDES = {"left": (-1, 0), "right": (1, 0), "top": (0, -1), "bottom": (0, 1)}
"""Where out of a frame is, by edge: x and y."""
_LEAST_FOR_MIDDLE = 50.0
"""Length of an edge, mm, from which its middle is marked."""
_FAR = 6.0
"""From a seam's mark, mm, at which a triangle does not touch its number."""
_CLOSE = 0.01
"""Lengths in mm that are one."""


@dataclass(frozen=True)
class BoardMarks:
    """A board under a part's cells, mm on the page."""

    left: float
    top: float
    right: float
    bottom: float
    is_whole: bool
    """Whether all of the board lies on the page."""
    frame: tuple[float, float, float, float]
    """The cells: left, top, right, bottom."""

    @property
    def corners(self) -> list[tuple[float, float, int, int]]:
        """Corners to mark, each with the way out of the board."""
        return [
            (x, y, dx, dy)
            for x, dx in ((self.left, -1), (self.right, 1))
            for y, dy in ((self.top, -1), (self.bottom, 1))
            if self.is_whole or self._is_on_frame(x, y)
        ]

    @property
    def middles(self) -> dict[str, tuple[float, float]]:
        """Middles of edges to mark, by printed edge."""
        x, y = (self.left + self.right) / 2, (self.top + self.bottom) / 2
        all_of_them = {
            "left": (self.left, y), "right": (self.right, y),
            "top": (x, self.top), "bottom": (x, self.bottom),
        }  # fmt: skip
        left, top, right, bottom = self.frame
        if self.is_whole:
            left, top, right, bottom = self.left, self.top, self.right, self.bottom
        lengths = {"left": bottom - top, "right": bottom - top}
        return {
            edge: place
            for edge, place in all_of_them.items()
            if (self.is_whole or self._is_on_frame(*place))
            and lengths.get(edge, right - left) >= _LEAST_FOR_MIDDLE
        }

    def middles_on_frame(self) -> dict[str, tuple[float, float]]:
        """The middles that lie on the cells' own edges, where other words must keep clear."""
        return {edge: place for edge, place in self.middles.items() if self._is_on_frame(*place)}

    def _is_on_frame(self, x: float, y: float) -> bool:
        """Whether a place lies on the outline of the cells."""
        left, top, right, bottom = self.frame
        inside = left - _CLOSE <= x <= right + _CLOSE and top - _CLOSE <= y <= bottom + _CLOSE
        on = min(abs(x - left), abs(x - right), abs(y - top), abs(y - bottom)) <= _CLOSE
        return inside and on

    @property
    def words(self) -> str:
        """What the angles mark, where the board is larger than the cells; else nothing."""
        if self.is_whole or len(self.corners) == 4:
            return ""
        names = [f"{_NAMES[dy, dx]}" for _, _, dx, dy in self.corners]
        return (
            f"the angle is the board's {names[0]} corner"
            if len(names) == 1
            else ("angles: corners of the board" if names else "")
        )


_NAMES = {
    (-1, -1): "upper left",
    (-1, 1): "upper right",
    (1, -1): "lower left",
    (1, 1): "lower right",
}


def board_marks(
    page: Page, part: Part, board: tuple[int, int], *, alone: bool = False
) -> BoardMarks:
    """Place a board: its first peg, the upper left one of the plate, is the tile's first one.

    alone: whether nothing else needs the room on the page.
    """
    (across, down), pitch = board, page.pitch
    first = part.place_of(part.tile.x + (across - 1 if part.mirrored else 0))
    left, top = page.left + first * pitch, page.top + (part.tile.y - part.y) * pitch
    frame = (page.left, page.top, page.left + part.width * pitch, page.top + part.height * pitch)
    fits = across <= page.pegs_across and down <= page.pegs_down
    whole = alone and fits and part.count == 1 and left >= page.left - _CLOSE
    return BoardMarks(left, top, left + across * pitch, top + down * pitch, whole, frame)


def draw_board_marks(
    sheet: Sheet,
    marks: BoardMarks,
    board: tuple[int, int],
    taken: Sequence[tuple[float, float]] = (),
) -> None:
    """Draw angles and triangles; where the board is larger than the cells, say what they are.

    taken: where seams are marked; a triangle that would stand on such a mark is left out.
    """
    for x, y, dx, dy in marks.corners:
        sheet.lines([(x, y, x + dx * 5, y), (x, y, x, y + dy * 5)], 0.25, INK)
    for edge, place in marks.middles.items():
        if min((hypot(place[0] - x, place[1] - y) for x, y in taken), default=_FAR) >= _FAR:
            _draw_middle(sheet, edge, place)
    words = f"angles: corners of the board, {board[0]} x {board[1]} pegs"
    free = marks.right - marks.frame[2], marks.bottom - marks.frame[3]
    if marks.is_whole and (free[0] > sheet.text_width(words, 8) + 2 or free[1] > 4):
        sheet.text(marks.right - 1, marks.bottom - 1, words, 8, colour=QUIET, align="right")


def _draw_middle(sheet: Sheet, edge: str, place: tuple[float, float]) -> None:
    """A triangle that points at the middle of an edge."""
    (x, y), (dx, dy) = place, SIDES[edge]
    near, far, half = 6.4, 9.2, 1.3
    sheet.polygon(
        [
            (x + dx * near, y + dy * near),
            (x + dx * far + dy * half, y + dy * far + dx * half),
            (x + dx * far - dy * half, y + dy * far - dx * half),
        ],
        INK,
    )
