"""The page of a board on which several plates of a figure lie."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from img2plate.base.arrays import Mask
from img2plate.plate.plate import EMPTY, Plate
from img2plate.solid.box.build import Figure
from img2plate.split.tiles import Tile, split
from img2plate.typeset.figure.boards import Lying
from img2plate.typeset.figure.joint_marks import JointMarks, draw_beside_name, seen_words
from img2plate.typeset.look import INK, PAPER, QUIET
from img2plate.typeset.sheets.geometry import Page, Part
from img2plate.typeset.sheets.job import Job
from img2plate.typeset.sheets.printing import Printing
from img2plate.typeset.sheets.runs_page import draw_runs_pages
from img2plate.typeset.sheets.sharing import Frame, Leaf
from img2plate.typeset.sheets.sheet import Sheet
from img2plate.typeset.sheets.tile_page import Below, draw_leaf, has_room

_LABEL, _LABEL_OUT = 5.4, 5.2
"""From a plate's upper edge to the foot of its number, mm: inside the board, and at its border,
where it stands in the line of the letters."""
_ROW, _TOP, _COLUMN = 5.2, 4.0, 92.0
"""Of the list of a board's plates, mm."""


@dataclass(frozen=True, eq=False)
class BoardPage:
    """What the page of one board shows."""

    figure: Figure
    lying: tuple[Lying, ...]
    equal: Mapping[int, Sequence[int]]
    """For each plate's number, those equal to it, which are laid from the same page."""
    number: int
    """Of the board, from 1."""
    symbols: dict[int, str]
    board: tuple[int, int]
    """Its pegs; plates may lie on a part of it, as far as a page goes."""

    def draw(self, sheet: Sheet, page: Page, printing: Printing) -> None:
        """Draw it, with the list of its plates below where there is room."""
        cut = split(self.plate, self.board)
        title = f"Board {self.number}"
        more = self._mark(page, seen_words(printing.mirrored))
        job = Job(self.plate, cut, self.symbols, page, printing, title=title, is_as_laid=True,
                  more=more)  # fmt: skip
        leaf = Leaf((Frame(_whole(self.plate), page),))
        below = self._list(sheet, page)
        draw_leaf(sheet, job, leaf, below if has_room(job, leaf, below) else None)
        if printing.runs:
            draw_runs_pages(sheet, job, cut.tiles)

    @cached_property
    def plate(self) -> Plate:
        """All its plates on the pegs that they lie on, as one."""
        pieces = [self.figure.pieces[at.number] for at in self.lying]
        sizes = np.array([piece.plate.size for piece in pieces])
        places = np.array([(at.column, at.row) for at in self.lying])
        width, height = (places + sizes).max(axis=0).tolist()
        cells = np.full((height, width), EMPTY, np.int16)
        for (column, row), piece in zip(places.tolist(), pieces, strict=True):
            wide, high = piece.plate.size
            cells[row : row + high, column : column + wide] = piece.plate.cells
        return replace(pieces[0].plate, cells=cells, name=self.figure.spec.title)

    def _mark(self, page: Page, seen: str) -> Callable[[Sheet, Part, str], None]:
        """What draws how to press, and each plate's outline, number and joints."""
        thickness = self.figure.pieces[self.lying[0].number].thickness_mm

        def draw(sheet: Sheet, _part: Part, name: str) -> None:
            draw_beside_name(sheet, name, f"press to {thickness:g} mm, {seen}")
            for at in self.lying:
                self._mark_plate(sheet, page, at)

        return draw

    def _mark_plate(self, sheet: Sheet, page: Page, at: Lying) -> None:
        """Outline, number and joints of one plate."""
        plate, pitch = self.figure.pieces[at.number].plate, page.pitch
        x, y = page.shift
        own = replace(page, shift=(x + at.column * pitch, y + at.row * pitch))
        draw_outline(sheet, own, plate.filled)
        width, height = self.plate.size
        inside = {
            "left": at.column > 0, "right": at.column + plate.size[0] < width,
            "top": at.row > 0, "bottom": at.row + plate.size[1] < height,
        }  # fmt: skip
        near = frozenset(edge for edge, is_inside in inside.items() if is_inside)
        end = self._draw_number(sheet, own, at)
        taken = self._middles(page)
        if "top" not in near:  # the number stands in the line of the letters
            taken["top"] = [(own.left, end + 1), *taken["top"]]
        marks = JointMarks(self.figure, self.figure.joints, at.number, own, near=near)
        free = {edge: places for edge, places in taken.items() if edge not in near}
        marks.draw_letters(sheet, _whole(plate), free)

    def _draw_number(self, sheet: Sheet, own: Page, at: Lying) -> float:
        """A plate's number above it, and how often it is made; returns where that ends, mm."""
        words, y = str(at.number + 1), own.top - (_LABEL if at.row else _LABEL_OUT)
        others = self.equal[at.number]
        said = f"make {len(others) + 1}" if others else ""
        then = own.left + sheet.text_width(words, 13, bold=True) + 1.2
        end = then + sheet.text_width(said, 8, bold=True)
        sheet.boxes([(own.left, y - 3.6, end - own.left, 4.2)], PAPER)
        sheet.text(own.left, y, words, 13, bold=True)
        sheet.text(then, y, said, 8, bold=True)
        return end

    def _middles(self, page: Page) -> dict[str, list[tuple[float, float]]]:
        """Where triangles point at the middles of the board's edges, mm on the page."""
        x, y = (
            s + n * page.pitch / 2 for s, n in zip((page.left, page.top), self.board, strict=True)
        )
        across, down = [(x - 1.6, x + 1.6)], [(y - 1.6, y + 1.6)]
        return {"top": across, "bottom": list(across), "left": down, "right": list(down)}

    def _list(self, sheet: Sheet, page: Page) -> Below:
        """Number, name and beads of each plate, in two columns."""
        columns = 2 if len(self.lying) > 1 else 1
        rows = -(-len(self.lying) // columns)

        def draw(top: float) -> None:
            for place, at in enumerate(self.lying):
                x = page.margin + place // rows * _COLUMN
                self._draw_line(sheet, at, x, top + _TOP + place % rows * _ROW)

        return Below(_TOP + rows * _ROW, draw)

    def _draw_line(self, sheet: Sheet, at: Lying, x: float, y: float) -> None:
        """One plate of the list."""
        piece, others = self.figure.pieces[at.number], self.equal[at.number]
        sheet.text(x + 7, y, str(at.number + 1), 11, bold=True, align="right")
        title = sheet.shorten(piece.title, 10, 42)
        sheet.text(x + 9, y, title, 10)
        said = f"{piece.plate.bead_count:,} beads"
        if others:
            also = ", ".join(str(other + 1) for other in others)
            said = f"make {len(others) + 1}: also {also}"
        left = x + 11 + sheet.text_width(title, 10)
        sheet.text(left, y, sheet.shorten(said, 8, x + _COLUMN - left), 8, colour=QUIET)


def _whole(plate: Plate) -> Part:
    """All of a plate as what one page shows."""
    return Part(Tile(0, 0, 0, 0, *plate.size), 0, 0, *plate.size, 1, 1)


def draw_outline(sheet: Sheet, page: Page, filled: Mask) -> None:
    """A line wherever a bead has none beside it, so that a plate stands out on its board."""
    around = np.pad(filled, 1)
    upright = np.argwhere(around[1:-1, 1:] != around[1:-1, :-1])
    level = np.argwhere(around[1:, 1:-1] != around[:-1, 1:-1])
    pitch, left, top = page.pitch, page.left, page.top
    lines = [(left + c * pitch, top + r * pitch, left + c * pitch, top + (r + 1) * pitch)
             for r, c in upright.tolist()]  # fmt: skip
    lines += [(left + c * pitch, top + r * pitch, left + (c + 1) * pitch, top + r * pitch)
              for r, c in level.tolist()]  # fmt: skip
    sheet.lines(lines, 0.5, INK)
