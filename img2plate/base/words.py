"""Small words: numbers with what they count, letters of columns."""

from __future__ import annotations


def many(count: int, what: str) -> str:
    """A number and its noun: "1 colour", "1,200 beads"."""
    return f"{count:,} {what}" if count == 1 else f"{count:,} {what}s"


def column_letters(column: int) -> str:
    """Name a column: 0 is A, 25 is Z, 26 is AA."""
    letters = ""
    column += 1
    while column:
        column, rest = divmod(column - 1, 26)
        letters = chr(ord("A") + rest) + letters
    return letters
