"""A folder of pages that is written again and again, beside files that are the person's own.

What was written is listed with digests in `published.json`. What is not in the list, or was changed
since, is the person's.
"""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Iterator
from pathlib import Path

LIST = "published.json"
_MOST_BYTES = 10_000_000


def write_list(folder: Path) -> None:
    """List all files of a finished folder."""
    found = {path.as_posix(): _digest(folder / path) for path in _files(folder)}
    text = json.dumps({"version": 1, "files": dict(sorted(found.items()))}, indent=1)
    (folder / LIST).write_text(text + "\n", encoding="utf-8")


def is_listed(folder: Path) -> bool:
    """Whether a folder is one that was written so."""
    return bool(_listed(folder))


def own_files(folder: Path) -> list[Path]:
    """The person's own files in a folder, or files of ours that the person changed; relative."""
    listed = _listed(folder)
    return [
        path
        for path in sorted(_files(folder))
        if path.as_posix() != LIST
        and ((folder / path).is_symlink() or listed.get(path.as_posix()) != _digest(folder / path))
    ]


def bring_back(old: Path, target: Path) -> None:
    """Put the person's own files of a replaced folder into the new one.

    If there is none, the folder itself.
    """
    if not target.exists():
        old.rename(target)
        return
    for path in own_files(old):
        place = _free(target, path)
        place.parent.mkdir(parents=True, exist_ok=True)
        (old / path).rename(place)


def kept_as(folder: Path, new: Path) -> list[tuple[Path, Path]]:
    """The own files of a folder, and where they will lie beside those of a new one; relative."""
    return [(path, _free(new, path).relative_to(new)) for path in own_files(folder)]


def _free(target: Path, path: Path) -> Path:
    """A place for a file where nothing lies; the same place when it is free."""
    if any((target / parent).is_file() for parent in path.parents):
        path = Path(path.name)  # a page stands where its folder was
    place, number = target / path, 1
    while place.exists() or place.is_symlink():
        place = (target / path).with_stem(f"{path.stem}-yours-{number}")
        number += 1
    return place


def _files(folder: Path) -> Iterator[Path]:
    """All files below a folder, and links as they are, relative to it."""
    for base, folders, names in os.walk(folder):
        here = Path(base)
        links = [name for name in folders if (here / name).is_symlink()]
        yield from ((here / name).relative_to(folder) for name in (*names, *links))


def _listed(folder: Path) -> dict[str, str]:
    """Digest of each listed file; nothing where there is no list."""
    path = folder / LIST
    try:
        if path.is_symlink() or path.stat().st_size > _MOST_BYTES:
            return {}
        found = json.loads(path.read_text(encoding="utf-8"))["files"]
        return {str(name): str(digest) for name, digest in found.items()}
    except (OSError, ValueError, KeyError, TypeError, AttributeError, RecursionError):
        return {}


def _digest(path: Path) -> str:
    """SHA-256 of a file."""
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()
