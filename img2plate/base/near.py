"""Near misses: what somebody may have meant by a name that is unknown."""

from __future__ import annotations

from collections.abc import Iterable
from difflib import get_close_matches


def did_you_mean(word: str, known: Iterable[str]) -> str:
    """`did you mean quay-24 or sea-96?`, the nearest first; empty when nothing is near."""
    by_small = {name.lower(): name for name in known}
    near = [by_small[name] for name in get_close_matches(word.lower(), by_small, n=3)]
    return f"did you mean {' or '.join(near)}?" if near else ""
