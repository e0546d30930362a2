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
