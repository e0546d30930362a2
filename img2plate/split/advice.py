"""What a slightly smaller plate would save, and whether a plate is more work than one may think."""

from __future__ import annotations

from math import ceil

import numpy as np

from img2plate.base.arrays import Mask

MOST_BEADS, MOST_HOURS = 20_000, 24.0
"""Above these a plate is warned of."""
SMALL_PART = 4
"""Boards of which no more than the fourth part is used are worth saving."""


def margin_advice(filled: Mask) -> tuple[str, ...]:
    """A note on empty columns and rows at the sides of a plate (h, w), if there are any."""
    if not filled.any():
        return ()
    rows, columns = np.flatnonzero(filled.any(axis=1)), np.flatnonzero(filled.any(axis=0))
    down = filled.shape[0] - int(rows[-1] - rows[0] + 1)
    across = filled.shape[1] - int(columns[-1] - columns[0] + 1)
    if not (down or across):
        return ()
    both = [_so_many(across, "column"), _so_many(down, "row")]
    said = " and ".join(words for words, number in zip(both, (across, down), strict=True) if number)
    verb = "is" if across + down == 1 else "are"
    return (f"{said} at the sides of the plate {verb} empty; `trim` cuts empty margins off",)


def board_advice(size: tuple[int, int], board: tuple[int, int]) -> tuple[str, ...]:
    """Notes on the beads that keep a column or a row of boards from being saved.

    size: beads across and down; board: pegs across and down.
    """
    across, down = (ceil(n / pegs) for n, pegs in zip(size, board, strict=True))
    notes = []
    for word, boards, others, beads, pegs, field in (
        ("column", across, down, size[0], board[0], "width"),
        ("row", down, across, size[1], board[1], "height"),
    ):
        over = beads - (boards - 1) * pegs
        if boards > 1 and over * SMALL_PART <= pegs:
            saved = f"a {word} of {others} boards" if others > 1 else "a board"
            notes.append(
                f"{_so_many(over, word)} of beads fewer would save {saved}; see `{field}`"
                f" ({beads - over})"
            )
    return tuple(notes)


def work_warning(beads: int, hours: float) -> str:
    """What to think of before a plate of so many beads and hours; empty for one of usual size."""
    if beads <= MOST_BEADS and hours <= MOST_HOURS:
        return ""
    return f"{beads:,} beads, about {hours:,.0f} hours of placing them"


def _so_many(number: int, word: str) -> str:
    """1 column, 2 columns."""
    return f"{number} {word}" if number == 1 else f"{number} {word}s"
