"""Files that the settings of a project may name: palettes, a stock, bags.

A file lies in `<folder>/<digest>/NAME`, and settings name it `<digest>/NAME`: what is in it never
changes under its name, so that undo finds what was, and other content makes another plate. On a
command line it is called NAME.
"""

from __future__ import annotations

import hashlib
import re
import shutil
import unicodedata
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from img2plate.base.errors import Img2PlateError, OptionError
from img2plate.base.files import safe_file

MOST_BYTES = 4_000_000
"""Of a file, as on the command line."""
MOST_FILES = 200
"""Files of the page's own making that a project keeps; the oldest that no step names go first."""
_DIGEST = re.compile(r"[0-9a-f]{16}")
_STRANGE = re.compile(r'[<>:"/\\|?*]')


def safe_name(name: str) -> str:
    """A file name of the user's that any system can have, without its folders."""
    name = re.split(r"[/\\]", unicodedata.normalize("NFC", name))[-1]
    name = "".join(letter for letter in _STRANGE.sub("", name) if letter.isprintable())
    stem, dot, ending = name.strip(" .").rpartition(".")
    stem, ending = (stem, dot + ending[:10]) if stem else (ending, "")
    while len(stem.encode()) > 100:
        stem = stem[:-1]
    return (stem.strip(" .") or "picture") + ending


def is_word(text: str) -> bool:
    """Whether a setting names a file of a project."""
    digest, slash, name = text.partition("/")
    return bool(slash and _DIGEST.fullmatch(digest) and name == safe_name(name))


def plain(text: str) -> str:
    """What a setting is called: of a file its name alone."""
    return text.partition("/")[2] if is_word(text) else text


@dataclass(frozen=True)
class Files:
    """The files of one project."""

    folder: Path

    def path(self, word: str, field: str) -> Path:
        """Where the file is that a setting names. Raises OptionError when there is none."""
        path = self.folder.joinpath(*word.split("/")) if is_word(word) else None
        if path is None or not path.is_file():
            raise OptionError("is not a file of this project", field=field, value=plain(word))
        return path

    def keep(self, name: str, data: bytes) -> str:
        """Keep a file, and return the word that names it. Raises OutputError."""
        name = safe_name(name)
        digest = hashlib.sha256(name.encode() + b"\0" + data).hexdigest()[:16]
        path = self.folder / digest / name
        if not path.is_file():
            path.parent.mkdir(parents=True, exist_ok=True)
            with safe_file(path) as temporary:
                temporary.write_bytes(data)
        return f"{digest}/{name}"

    def words(self) -> list[str]:
        """All files, the oldest first."""
        found = [path for path in self.folder.glob("*/*") if path.is_file()]
        found.sort(key=lambda path: (path.stat().st_mtime_ns, path.name))
        words = [f"{path.parent.name}/{path.name}" for path in found]
        return [word for word in words if is_word(word)]

    def drop(self, word: str) -> None:
        """Remove a file."""
        if is_word(word):
            shutil.rmtree(self.folder / word.partition("/")[0], ignore_errors=True)

    def tidy(self, keep: set[str], names: tuple[str, ...]) -> None:
        """Remove the oldest files of such names when there are many, but none of `keep`.

        What a person added has other names, and stays: it may be chosen again.
        """
        for word in [word for word in self.words() if plain(word) in names][:-MOST_FILES]:
            if word not in keep:
                self.drop(word)

    @contextmanager
    def plainly(self) -> Iterator[None]:
        """Errors inside call files by their names alone, as who gave them knows them."""
        try:
            yield
        except Img2PlateError as error:
            parts = (self._plain(part) for part in (error.reason, error.value, error.remedy))
            reason, value, remedy = parts
            raise type(error)(
                str(reason), field=error.field, value=value, remedy=str(remedy)
            ) from None

    def _plain(self, text: object) -> object:
        """Text without the folders of files in it."""
        if not isinstance(text, str):
            return text
        folder = re.escape(str(self.folder))
        return re.sub(rf"{folder}[/\\]{_DIGEST.pattern}[/\\]", "", text)
