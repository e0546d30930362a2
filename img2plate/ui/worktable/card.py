"""Own beads measured from a photo of the card: the photo, what was found, the palette that is kept.

A photo lies in a project's `card/<digits>/photo/NAME`; the next one takes its place.
"""

from __future__ import annotations

import csv
import io
import re
import secrets
import shutil
import tempfile
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from img2plate.base.errors import PictureError
from img2plate.ui.worktable.table import FIRST, Table
from img2plate.ui.worktable.wishes.beads import with_palette
from img2plate.ui.worktable.wishes.files import safe_name
from img2plate.ui.worktable.work.jobs import Job

TITLE = "my-beads"
"""What a palette is called that has no name, as on the command line."""
NAMES = "names.csv"
LOOKED = "looked.png"
_KEY = re.compile(r"[0-9a-f]{16}")


@dataclass(frozen=True)
class CardPhotos:
    """The photos of cards of all projects."""

    table: Table

    def place(self, project_id: str, name: str) -> tuple[str, Path]:
        """Key of a new photo, and where it is to be written. Raises KeyError."""
        key = secrets.token_hex(8)
        path = self._home(project_id) / key / "photo" / safe_name(name)
        path.parent.mkdir(parents=True)
        return key, path

    def found(self, project_id: str, key: str) -> dict[str, Any]:
        """What is on a photo that has arrived; the others go. Raises PictureError without a card,
        in which case this one goes."""
        folder = self._folder(project_id, key)
        try:
            found = self._measured(project_id, key, folder / f"{TITLE}.csv", None)
        except BaseException:
            self.drop(project_id, key)
            raise
        (folder / str(found.pop("looked"))).replace(folder / LOOKED)
        for other in self._home(project_id).iterdir():
            if other.name != key:
                shutil.rmtree(other, ignore_errors=True)
        return {"key": key, "title": TITLE, **found}

    def looked(self, project_id: str, key: str) -> Path:
        """The picture of what was looked at. Raises KeyError."""
        path = self._folder(project_id, key) / LOOKED
        if not path.is_file():
            raise KeyError(key)
        return path

    def drop(self, project_id: str, key: str) -> None:
        """Forget a photo."""
        shutil.rmtree(self._folder(project_id, key), ignore_errors=True)

    def save(
        self, project_id: str, key: str, version: int, title: str, names: Sequence[Any]
    ) -> None:
        """Keep the palette with these names as a file of the project, and take it.

        names: objects with cell, code, name. Raises PaletteError, StaleError, KeyError.
        """
        name = safe_name(f"{title.strip() or TITLE}.csv")
        with tempfile.TemporaryDirectory(dir=self._folder(project_id, key)) as folder:
            given, out = Path(folder, NAMES), Path(folder, "out", name)
            given.write_text(_names_file(names), encoding="utf-8", newline="")
            out.parent.mkdir()
            self._measured(project_id, key, out, given)
            word = self.table.projects.files(project_id).keep(name, out.read_bytes())
        self.table.change(project_id, version, lambda old, files: with_palette(old, word, files))

    def _measured(self, project_id: str, key: str, out: Path, names: Path | None) -> dict[str, Any]:
        """Have a photo measured in a worker. Raises PictureError in the words of the command."""
        photo = next((self._folder(project_id, key) / "photo").iterdir())
        job = Job(project_id, f"card-{secrets.token_hex(8)}", "measure_card", (photo, out, names),
                  order=FIRST)  # fmt: skip
        self.table.jobs.start(job).finished.wait()
        self.table.jobs.forget(project_id, job.key)
        if job.state != "done":
            words = job.error.get("words", "stopped")
            for path in (photo, names):
                words = words.replace(f"{path}", path.name) if path else words
            raise PictureError(words)
        return dict(job.result)

    def _home(self, project_id: str) -> Path:
        """Where a project's photos are. Raises KeyError."""
        return self.table.projects.home(project_id) / "card"

    def _folder(self, project_id: str, key: str) -> Path:
        """Where a photo is. Raises KeyError for what is none."""
        folder = self._home(project_id) / key
        if not _KEY.fullmatch(key) or not folder.is_dir():
            raise KeyError(key)
        return folder


def _names_file(names: Sequence[Any]) -> str:
    """Names as the command reads them from a file, each on one line."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(("cell", "code", "name"))
    for each in names:
        row: Mapping[str, Any] = each if isinstance(each, dict) else {}
        writer.writerow(
            " ".join(str(row.get(column, "")).split()) for column in ("cell", "code", "name")
        )
    return text.getvalue()
