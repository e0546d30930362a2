"""Where the keys of a TOML 1.0 text stand, which its reader does not tell: for errors, and edits.

A key is called by its way from the top: `[[part]]`, `faces.front = "x"` is
("part", 0, "faces", "front"). The text must be TOML already; nothing is checked here.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from dataclasses import dataclass
from functools import cached_property
from typing import TypeAlias

Way: TypeAlias = tuple[str | int, ...]

_BLANK = re.compile(r"(?:[ \t\r\n]|#[^\n]*)*")
_SPACE = re.compile(r"[ \t]*")
_BARE_KEY = re.compile(r"[A-Za-z0-9_-]+")
_BARE_VALUE = re.compile(r"[^,\]}#\n]*")
_STRINGS = tuple(
    re.compile(pattern, re.DOTALL)
    for pattern in (
        r'"""(?:\\.|[^\\])*?"""(?!")', r"'''.*?'''(?!')", r'"((?:\\.|[^"\\])*)"', r"'([^']*)'",
    )
)  # fmt: skip
_ESCAPE = re.compile(r"\\(?:u([0-9a-fA-F]{4})|U([0-9a-fA-F]{8})|(.))")
_ESCAPED = {"b": "\b", "t": "\t", "n": "\n", "f": "\f", "r": "\r"}


@dataclass(frozen=True)
class Place:
    """Where a key stands, or the header of a table."""

    line: int
    """From 1."""
    start: int
    end: int
    """First character of the value in the text, and the one after it; of a header, the header's."""
    is_header: bool = False


class Places:
    """The places of all keys and tables of a text, looked for when they are first asked for."""

    def __init__(self, text: str) -> None:
        self.text = text

    def line(self, way: Way) -> int:
        """The line of a key; of the table that it should be in, when it is not there; else 0."""
        while way and way not in self.all:
            way = way[:-1]
        return self.all[way].line if way else 0

    @cached_property
    def all(self) -> dict[Way, Place]:
        """All of them by their way."""
        return _Scan(self.text).places()


class _Scan:
    """Goes through a text once."""

    def __init__(self, text: str) -> None:
        self._text, self._at = text, 0
        self._lines = [match.end() for match in re.finditer("\n", text)]
        self._found: dict[Way, Place] = {}
        self._many: dict[Way, int] = {}

    def places(self) -> dict[Way, Place]:
        """All keys, until the end of the text."""
        table: Way = ()
        self._skip(_BLANK)
        while self._at < len(self._text):
            if self._text[self._at] == "[":
                table = self._header()
            else:
                self._pair(table)
            self._skip(_BLANK)
        return self._found

    def _line(self, at: int) -> int:
        return bisect_right(self._lines, at) + 1

    def _skip(self, what: re.Pattern[str]) -> str:
        """Go over what matches here, perhaps nothing; returns it."""
        match = what.match(self._text, self._at)
        if match is None:
            return ""
        self._at = match.end()
        return match.group()

    def _header(self) -> Way:
        """`[table]` or `[[table]]`."""
        start = self._at
        brackets = 2 if self._text.startswith("[[", start) else 1
        self._at += brackets
        way: Way = ()
        *before, last = self._key()
        for name in before:
            way = self._newest((*way, name))
        way = (*way, last)
        if brackets == 2:
            self._many[way] = self._many.get(way, 0) + 1
        way = self._newest(way)
        self._at = self._text.index("]", self._at) + brackets
        self._found[way] = Place(self._line(start), start, self._at, is_header=True)
        return way

    def _newest(self, way: Way) -> Way:
        """Of a list of tables, the last one so far."""
        return (*way, self._many[way] - 1) if way in self._many else way

    def _key(self) -> list[str]:
        """Names with dots between them."""
        names = []
        while True:
            self._skip(_SPACE)
            names.append(self._skip(_BARE_KEY) or self._quoted())
            self._skip(_SPACE)
            if not self._text.startswith(".", self._at):
                return names
            self._at += 1

    def _quoted(self) -> str:
        """A name in quotes."""
        for pattern in _STRINGS[2:]:
            if match := pattern.match(self._text, self._at):
                self._at = match.end()
                return _plain(match.group())
        raise ValueError(f"no key at character {self._at}")  # was not TOML

    def _pair(self, table: Way) -> None:
        """`key = value`."""
        start = self._at
        way = (*table, *self._key())
        for count in range(len(table) + 1, len(way)):  # a.b = 1 makes the table a
            self._found.setdefault(way[:count], Place(self._line(start), start, start))
        self._at = self._text.index("=", self._at) + 1
        self._skip(_SPACE)
        self._value(way, self._line(start))

    def _value(self, way: Way, line: int) -> None:
        """A value of any kind, with what is in it."""
        start, first = self._at, self._text[self._at]
        if first in "\"'":
            self._at = next(m for p in _STRINGS if (m := p.match(self._text, start))).end()
        elif first in "[{":
            self._at += 1
            self._inside(way, "]" if first == "[" else "}")
        else:
            value = self._skip(_BARE_VALUE)
            self._at = start + len(value.rstrip())
        self._found[way] = Place(line, start, self._at)

    def _inside(self, way: Way, end: str) -> None:
        """The values of a list or of a table in braces."""
        count = 0
        while True:
            self._skip(_BLANK)
            if self._text.startswith(end, self._at):
                self._at += 1
                return
            if self._text.startswith(",", self._at):
                self._at += 1
                continue
            if end == "}":
                self._pair(way)
            else:
                self._value((*way, count), self._line(self._at))
            count += 1


def _plain(quoted: str) -> str:
    """The name that a quoted key means."""
    if quoted[0] == "'":
        return quoted[1:-1]

    def read(match: re.Match[str]) -> str:
        code = match[1] or match[2]
        return chr(int(code, 16)) if code else _ESCAPED.get(match[3], match[3])

    return _ESCAPE.sub(read, quoted[1:-1])
