"""A TOML table that says file, key and reason when something in it is wrong."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable
from difflib import get_close_matches
from pathlib import Path
from typing import Any

from img2plate.base.errors import FigureError
from img2plate.solid.file.places import Places, Way

_MOST_BYTES = 1_000_000


class Table:
    """Takes values out by key and kind; `done` refuses what nobody asked for."""

    def __init__(
        self, path: Path, where: str, values: dict[str, Any], places: Places, way: Way = ()
    ) -> None:
        self.path = path
        self.where = where
        self._places, self._way = places, way
        self._values = dict(values)
        self._given = frozenset(values)
        self._known: list[str] = []

    def error(self, key: str, reason: str) -> FigureError:
        """Build the error for a key of this table."""
        place = f"{self.where}, " if self.where else ""
        return FigureError(f"{self.path}: {place}key {key}: {reason}", line=self.line(key))

    def line(self, key: str = "") -> int:
        """Line of a key of this table, or of the table itself."""
        return self._places.line((*self._way, key) if key else self._way)

    def has_had(self, key: str) -> bool:
        """Whether a key was given, taken or not."""
        return key in self._given

    def has(self, key: str) -> bool:
        """Whether a key is given."""
        return key in self._values

    def is_text(self, key: str) -> bool:
        """Whether a key's value is a string."""
        return isinstance(self._values.get(key), str)

    def is_table(self, key: str) -> bool:
        """Whether a key's value is a table."""
        return isinstance(self._values.get(key), dict)

    def text(self, key: str, default: str | None = None) -> str:
        """A string; needed when there is no default."""
        value = self._take(key, default)
        if not isinstance(value, str):
            raise self.error(key, f'{value!r} is not a text; write it as "..."')
        return value

    def flag(self, key: str) -> bool:
        """True or false; false when missing."""
        value = self._take(key, False)
        if not isinstance(value, bool):
            raise self.error(key, f"{value!r} is neither true nor false")
        return value

    def number(self, key: str, default: float | None, low: float, high: float) -> float:
        """A number within a range."""
        value = self._take(key, default)
        if (
            isinstance(value, bool)
            or not isinstance(value, int | float)
            or not low <= value <= high
        ):
            raise self.error(key, f"{value!r} is not a number from {low:g} to {high:g}")
        return float(value)

    def whole(self, key: str, default: int | None, low: int, high: int) -> int:
        """A whole number within a range."""
        value = self._take(key, default)
        if isinstance(value, bool) or not isinstance(value, int) or not low <= value <= high:
            raise self.error(key, f"{value!r} is not a whole number from {low} to {high}")
        return value

    def wholes(self, key: str, count: int, low: int, high: int) -> tuple[int, ...] | None:
        """So many whole numbers, or None when missing."""
        value = self._take(key, ())
        if value == ():
            return None
        good = isinstance(value, list) and len(value) == count
        if not good or not all(type(n) is int and low <= n <= high for n in value):
            raise self.error(key, f"{value!r} is not {count} whole numbers from {low} to {high}")
        return tuple(value)

    def numbers(self, key: str, count: int) -> tuple[float, ...] | None:
        """So many lengths over 0, or None when missing."""
        value = self._take(key, ())
        if value == ():
            return None
        good = isinstance(value, list) and len(value) == count
        if not good or not all(type(n) in (int, float) and 0 < n <= 1e6 for n in value):
            raise self.error(key, f"{value!r} is not {count} lengths in mm over 0")
        return tuple(float(n) for n in value)

    def texts(self, key: str, choices: Iterable[str] | None = None) -> tuple[str, ...]:
        """A list of strings, perhaps out of some; a single string counts as a list of one."""
        value = self._take(key, [])
        value = [value] if isinstance(value, str) else value
        if not isinstance(value, list) or not all(isinstance(word, str) for word in value):
            raise self.error(key, f'{value!r} is not a list of texts, as ["a", "b"]')
        for word in value:
            if choices is not None and word not in choices:
                raise self.error(key, f"{word!r} is none of {', '.join(choices)}")
        return tuple(value)

    def choice(self, key: str, choices: Iterable[str], default: str | None) -> str:
        """One of some words."""
        value = self.text(key, default)
        if value not in choices and value != default:
            raise self.error(key, f"{value!r} is none of {', '.join(choices)}")
        return value

    def table(self, key: str) -> Table:
        """A table within this one; empty when missing."""
        value = self._take(key, {})
        if not isinstance(value, dict):
            raise self.error(key, "is not a table")
        where = f"{self.where}, {key}" if self.where else key
        return Table(self.path, where, value, self._places, (*self._way, key))

    def tables(self, key: str) -> list[Table]:
        """All tables `[[key]]`, numbered from 1 and named when they have a name."""
        value = self._take(key, [])
        if not isinstance(value, list) or not all(isinstance(entry, dict) for entry in value):
            raise self.error(key, f"is not a list of tables; write [[{key}]] above each")
        made = []
        for number, entry in enumerate(value, 1):
            name = entry.get("name")
            name = f" ({name})" if isinstance(name, str) and name.isprintable() else ""
            where = f"{self.where}, " if self.where else ""
            way = (*self._way, key, number - 1)
            made.append(Table(self.path, f"{where}{key} {number}{name}", entry, self._places, way))
        return made

    def values(self) -> dict[str, Any]:
        """What nobody has taken yet."""
        return dict(self._values)

    def replaced(self, values: dict[str, Any]) -> Table:
        """The same table with other values."""
        return Table(self.path, self.where, values, self._places, self._way)

    def take(self, key: str) -> Any:
        """A value of any kind."""
        return self._take(key, None)

    def keys(self) -> list[str]:
        """Keys that nobody has taken yet."""
        return list(self._values)

    def done(self) -> None:
        """Refuse keys that nobody took."""
        for key in self._values:
            near = get_close_matches(key, self._known, n=1)
            hint = f"; did you mean {near[0]}?" if near else f"; known: {', '.join(self._known)}"
            raise self.error(key, f"is not known here{hint}")

    def _take(self, key: str, default: Any) -> Any:
        """Take a value out."""
        self._known.append(key)
        value = self._values.pop(key, default)
        if value is None:
            raise self.error(key, "is missing")
        return value


def read_toml(path: Path) -> Table:
    """Read a TOML file (TOML 1.0) as a table.

    Raises FigureError when it is missing, too large, or not TOML.
    """
    text = ""
    try:
        if path.stat().st_size > _MOST_BYTES:
            raise FigureError(f"{path}: over 1 MB is not a figure's description")
        text = path.read_bytes().decode("utf-8-sig")  # with its own line ends
        return Table(path, "", tomllib.loads(text), Places(text))
    except FileNotFoundError:
        raise FigureError(f"no file {path}; check the name") from None
    except RecursionError:
        raise FigureError(f"{path}: is not a figure's description: brackets in brackets") from None
    except ValueError as error:  # not TOML, not UTF-8, a number of thousands of digits
        wrong = FigureError(f"{path}: is not TOML: {error}")
        wrong.line = _line_in(str(error), text)
        raise wrong from None
    except OSError as error:
        raise FigureError(f"{path}: cannot be read: {error.strerror}") from None


def _line_in(words: str, text: str) -> int:
    """The line that the TOML reader names in its words; 0 when it names none."""
    if found := re.search(r"\(at line (\d+), column \d+\)$", words):
        return int(found[1])
    return text.count("\n") + 1 if words.endswith("(at end of document)") else 0
