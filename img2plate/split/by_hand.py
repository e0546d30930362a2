"""Seams where a person wants them: `29,50/29` is after columns 29 and 50, and after row 29.

Pegs are counted from the plate's left and top, as they are printed on the sheets. Either side may
be empty: `/29` is one seam across, `/` none at all.
"""

from __future__ import annotations

import re
from itertools import pairwise
from typing import NamedTuple

from img2plate.base.errors import OptionError

WAYS = ("full", "even", "quiet")
PATTERN = re.compile(r"(\d{1,5}(?:,\d{1,5})*)?/(\d{1,5}(?:,\d{1,5})*)?")


class Placed(NamedTuple):
    """Pegs before each seam: its first tile ends with that peg. Rising, each once."""

    columns: tuple[int, ...]
    rows: tuple[int, ...]

    def check(self, size: tuple[int, int], board: tuple[int, int]) -> None:
        """Raise OptionError where a tile of a plate would be larger than a board, or have no peg.

        size, board: pegs across and down.
        """
        for word, pegs, length, most in zip(
            ("column", "row"), self, size, board, strict=True
        ):  # fmt: skip
            _check(word, pegs, length, most)


def read_seams(text: str) -> Placed | None:
    """Read what `seams` says: None for one of the ways. Raises OptionError for neither."""
    if text in WAYS:
        return None
    match = PATTERN.fullmatch(re.sub(r"\s", "", text))
    if match is None:
        raise OptionError(
            f"is none of {', '.join(WAYS)}, nor pegs as in 29,50/29",
            field="seams",
            value=text,
            remedy="write the columns, a slash, the rows that seams come after",
        )
    columns, rows = (
        tuple(sorted({int(peg) for peg in side.split(",")})) if side else ()
        for side in match.groups()
    )
    return Placed(columns, rows)


def _check(word: str, pegs: tuple[int, ...], length: int, most: int) -> None:
    """One axis. Raises OptionError."""
    for peg in pegs:
        if not 0 < peg < length:
            remedy = f"give {word}s from 1 to {length - 1}" if length > 1 else "leave it out"
            raise OptionError(
                f"no seam can come after {word} {peg} of {length}", field="seams", remedy=remedy
            )
    for start, end in pairwise((0, *pegs, length)):
        if end - start > most:
            raise OptionError(
                f"{word}s {start + 1} to {end} are {end - start} pegs,"
                f" more than the {most} of a board",
                field="seams",
                remedy=f"put a seam after {word} {start + most} or before it",
            )
