"""Writes a colourway as a table that stands in a figure's description."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping

from img2plate.colour.palette import Palette


def colourway_table(palette: Palette, name: str, changed: Mapping[int, int]) -> str:
    """The lines of `[colourway.NAME]`, with an empty line before them.

    changed: palette index before and after; what stays as it is gets no line.
    """
    codes = [bead.code for bead in palette.beads]
    lines = [
        f"{_key(codes[old])} = {_quoted(codes[new])}" for old, new in changed.items() if old != new
    ]
    return "\n".join(["", f"[colourway.{_key(name)}]", *(lines or ["# as it is"]), ""])


def _key(text: str) -> str:
    """A name as a key: in quotes where it has to be."""
    return text if re.fullmatch(r"[A-Za-z0-9_-]+", text) else _quoted(text)


def _quoted(text: str) -> str:
    """A basic string, whose escapes are those of JSON but for one sign."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")
