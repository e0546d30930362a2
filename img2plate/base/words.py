"""Small words: numbers with what they count."""

from __future__ import annotations


def many(count: int, what: str) -> str:
    """A number and its noun: "1 colour", "1,200 beads"."""
    return f"{count:,} {what}" if count == 1 else f"{count:,} {what}s"
