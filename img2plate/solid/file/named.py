"""Which other files a figure's description names: pictures, plates, a palette."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from functools import lru_cache
from typing import Any

from img2plate.colour.palette_file import bundled_names
from img2plate.solid.file.face_cells import PICTURES
from img2plate.solid.file.places import Places, Way

_ROOF = ("look", "gable")


@lru_cache(maxsize=8)
def named_files(text: str) -> dict[str, int]:
    """The names of the files and the line where each is named first; none of what is not TOML."""
    try:
        figure = tomllib.loads(text)
    except (ValueError, RecursionError):
        return {}
    places = Places(text)
    found: dict[str, int] = {}
    for name, way in _named(figure):
        found.setdefault(name, places.line(way))
    return found


def _named(figure: dict[str, Any]) -> Iterator[tuple[str, Way]]:
    """Names, and the ways to where they stand."""
    head = figure.get("figure")
    palette = head.get("palette") if isinstance(head, dict) else None
    if isinstance(palette, str) and palette not in bundled_names():
        yield palette, ("figure", "palette")
    fins = figure.get("fin")
    for number, fin in enumerate(fins if isinstance(fins, list) else []):
        if isinstance(fin, dict) and isinstance(fin.get("picture"), str):
            yield fin["picture"], ("fin", number, "picture")
    parts = figure.get("part")
    for number, part in enumerate(parts if isinstance(parts, list) else []):
        faces = part.get("faces") if isinstance(part, dict) else None
        for face, value in faces.items() if isinstance(faces, dict) else ():
            yield from _of_face(value, ("part", number, "faces", face))
    for kind, keys in (("door", ("look",)), ("roof", _ROOF), ("wedge", _ROOF)):
        tables = figure.get(kind)
        for number, table in enumerate(tables if isinstance(tables, list) else []):
            for key in keys if isinstance(table, dict) else ():
                yield from _of_face(table.get(key), (kind, number, key))


def _of_face(value: Any, way: Way) -> Iterator[tuple[str, Way]]:
    """Names in what a face is said to be."""
    if isinstance(value, str) and value.lower().endswith(PICTURES):
        yield value, way
    elif isinstance(value, dict):
        for key in ("picture", "plate"):
            if isinstance(value.get(key), str) and value[key]:
                yield value[key], (*way, key)
