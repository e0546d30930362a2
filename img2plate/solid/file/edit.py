"""Changes a value in a figure's description, and leaves all else as a person wrote it."""

from __future__ import annotations

import tomllib
from typing import Any

from img2plate.base.errors import FigureError
from img2plate.solid.file.places import Place, Places, Way


def with_value(text: str, way: Way, value: str) -> str:
    """The text with a key set to a value, which is TOML itself: "4.0", '{ plate = "x.png" }'.

    way: as `places` has it; all tables but the last must be there. Raises FigureError when the
    text cannot be changed without changing more.
    """
    places = Places(text).all
    place = places.get(way)
    new: str | None
    if place is not None and not place.is_header and place.start < place.end:
        new = text[: place.start] + value + text[place.end :]
    else:
        new = _inserted(text, places, way, value)
    if new is None or not _is_only_change(text, new, way, value):
        raise FigureError(
            f"cannot write {way[-1]} into the description by itself; write it: {way[-1]} = {value}",
            line=Places(text).line(way),
        )
    return new


def _inserted(text: str, places: dict[Way, Place], way: Way, value: str) -> str | None:
    """The text with a key more; None when there is no place for it."""
    table = way[:-1]
    place = places.get(table)
    if place is not None and not place.is_header and text[place.start : place.start + 1] == "{":
        inner = text[place.start + 1 : place.end - 1].strip()
        new = f"{{ {inner}, {way[-1]} = {value} }}" if inner else f"{{ {way[-1]} = {value} }}"
        return text[: place.start] + new + text[place.end :]
    key = str(way[-1])
    while place is None or not place.is_header:  # `faces.front` in its part
        if not table or isinstance(table[-1], int):
            return None
        key, table = f"{table[-1]}.{key}", table[:-1]
        place = places.get(table)
    # Below the last key of the table's own, in front of tables below it.
    until = min((p.start for p in places.values() if p.is_header and p.start > place.start),
                default=len(text))  # fmt: skip
    ends = [p.end for w, p in places.items()
            if w[: len(table)] == table and place.start <= p.start and p.end <= until]  # fmt: skip
    at = text.find("\n", max(ends))
    if at < 0:
        return f"{text}\n{key} = {value}\n"
    return f"{text[: at + 1]}{key} = {value}\n{text[at + 1 :]}"


def _is_only_change(old: str, new: str, way: Way, value: str) -> bool:
    """Whether the new text says what the old one does, but for this key."""
    try:
        wanted: Any = tomllib.loads(old)
        table = wanted
        for name in way[:-1]:
            table = table.setdefault(name, {}) if isinstance(table, dict) else table[name]
        table[way[-1]] = tomllib.loads(f"x = {value}")["x"]
        return bool(tomllib.loads(new) == wanted)
    except (ValueError, LookupError, TypeError, AttributeError, RecursionError):
        return False
