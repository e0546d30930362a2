"""Lengths, boards, paper sizes, and the `WxH` pairs that they are written in."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import NamedTuple

from img2plate.base.errors import OptionError

MM_PER_INCH = 25.4
POINTS_PER_INCH = 72.0
"""PDF default user space unit, ISO 32000-1:2008, 8.3.2.3."""


def mm2points(mm: float) -> float:
    """Convert millimetres to PDF points."""
    return mm * POINTS_PER_INCH / MM_PER_INCH


@dataclass(frozen=True)
class Paper:
    """A sheet of paper, portrait, in mm."""

    name: str
    width_mm: float
    height_mm: float


PAPERS = {
    paper.name: paper
    for paper in (
        Paper("A4", 210.0, 297.0),  # ISO 216
        Paper("A3", 297.0, 420.0),  # ISO 216
        Paper("Letter", 215.9, 279.4),  # ANSI/ASME Y14.1 size A
        Paper("Tabloid", 279.4, 431.8),  # ANSI/ASME Y14.1 size B
    )
}


A4 = PAPERS["A4"]


def find_paper(name: str) -> Paper:
    """The paper of a name, in large or small letters. Raises OptionError."""
    by_small = {paper.name.lower(): paper for paper in PAPERS.values()}
    if name.lower() not in by_small:
        raise OptionError(f"is none of {', '.join(PAPERS)}", field="paper", value=name)
    return by_small[name.lower()]


class Board(NamedTuple):
    """A pegboard, in pegs."""

    across: int
    down: int

    def __str__(self) -> str:
        return f"{self.across}x{self.down}"


USUAL_BOARD = Board(29, 29)
"""Common practice, no source."""


class OwnedBoard(NamedTuple):
    """Boards of one size."""

    board: Board
    number: int | None = None
    """How many are owned; None for as many as are needed."""

    def __str__(self) -> str:
        return str(self.board) + ("" if self.number is None else f"*{self.number}")


class Boards(Board):
    """Boards of several sizes. As a pair of numbers it is the largest of them."""

    owned: tuple[OwnedBoard, ...]

    @staticmethod
    def of(owned: tuple[OwnedBoard, ...]) -> Boards:
        """Sizes in any order, each once."""
        largest = max((each.board for each in owned), key=lambda b: (b.across * b.down, b.across))
        made = Boards(*largest)
        made.owned = owned
        return made

    def __str__(self) -> str:
        return ",".join(map(str, self.owned))

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Boards) and self.owned == other.owned

    def __hash__(self) -> int:
        return hash(self.owned)

    def __reduce__(self) -> tuple[object, ...]:
        return Boards.of, (self.owned,)


def owned_boards(board: tuple[int, int]) -> tuple[OwnedBoard, ...]:
    """The sizes that a board stands for: itself, as many as are needed, or several."""
    return board.owned if isinstance(board, Boards) else (OwnedBoard(Board(*board)),)


def parse_boards(text: str) -> Board:
    """Read `29x29`, or sizes with numbers as in `29x29*4,14x14*2`. Raises OptionError."""
    owned = []
    for part in text.split(","):
        size, star, number = part.partition("*")
        if star and not re.fullmatch(r"\s*0*[1-9]\d{0,4}\s*", number):
            raise OptionError("has no number of boards, as in 29x29*4", value=text)
        owned.append(OwnedBoard(Board(*parse_pair(size)), int(number) if star else None))
    if len({each.board for each in owned}) < len(owned):
        raise OptionError("names a size twice", value=text, remedy="add the numbers up")
    if len(owned) == 1 and owned[0].number is None:
        return owned[0].board
    return Boards.of(tuple(owned))


def parse_pair(text: str) -> tuple[int, int]:
    """Read `58x58` as (58, 58): two whole numbers over 0. Raises OptionError."""
    match = re.fullmatch(r"\s*(\d+)\s*[x×X]\s*(\d+)\s*", text)
    if not match or "0" in {part.lstrip("0") or "0" for part in match.groups()}:
        raise OptionError("is not two whole numbers over 0, as in 29x29", value=text)
    return int(match[1]), int(match[2])


def parse_mm_pair(text: str) -> tuple[float, float]:
    """Read `210x297.5` as two lengths in mm over 0. Raises OptionError."""
    match = re.fullmatch(r"\s*(\d+(?:\.\d+)?)\s*[x×X]\s*(\d+(?:\.\d+)?)\s*(?:mm)?\s*", text)
    if not match or not (float(match[1]) > 0 and float(match[2]) > 0):
        raise OptionError("is not two lengths in mm over 0, as in 290x145", value=text)
    return float(match[1]), float(match[2])
