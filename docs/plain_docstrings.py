"""Docstrings as this project writes them, for a generator that reads reStructuredText.

They are plain text: `code` in single backticks, and indented lines that keep their shape. Without
this, a formula such as |dL*| would be taken for markup and break the build.
"""

from __future__ import annotations

import re
from typing import Any

_INDENT = "    "
_MARKUP = re.compile(r"[\\*|]|_(?!\w)")


def to_rst(lines: list[str]) -> list[str]:
    """The same text as reStructuredText: indented lines literal, all else free of markup."""
    out: list[str] = []
    inside = False
    for line in lines:
        if line.startswith(_INDENT) and not inside:
            out += ["", "::", ""]
        inside = line.startswith(_INDENT) or (inside and not line.strip())
        if not inside and out and out[-1].startswith(_INDENT):
            out.append("")
        out.append(line if inside else _plain(line))
    return out


def _plain(line: str) -> str:
    """A line of text: code stays code, a number or a sign at its start is no list."""
    parts = line.split("`")
    if len(parts) % 2 == 0:  # code that goes on in the next line
        parts = ["`".join(parts).replace("`", "'")]
    for place, part in enumerate(parts):
        if place % 2 == 0:
            parts[place] = _MARKUP.sub(lambda found: "\\" + found[0], part)
        else:
            parts[place] = f"\\ ``{part.strip()}``\\ "  # code, though a letter may follow at once
    return re.sub(r"^(\w+|#|[-+=])([.)]?)(?= )", _no_list, "".join(parts))


def _no_list(start: re.Match[str]) -> str:
    """Escape what would begin a list: `2020.`, `a)`; a dash does begin one."""
    if start[2]:
        return f"{start[1]}\\{start[2]}"
    return start[0] if start[1] == "-" or start[1][0].isalnum() else f"\\{start[0]}"


def _process(*told: Any) -> None:
    """Called by the generator for each docstring, told last; changes its lines in place."""
    told[-1][:] = to_rst(told[-1])


def setup(app: Any) -> dict[str, bool]:
    """Called by the generator once."""
    app.connect("autodoc-process-docstring", _process)
    return {"parallel_read_safe": True}
