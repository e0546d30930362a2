"""What a page asks of several plates at once: what is made of them, and how far that is."""

from __future__ import annotations

import hashlib
import json
import shutil
from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path
from typing import Any

from img2plate import __version__
from img2plate.base.errors import OptionError
from img2plate.ui.worktable.store.projects import ID
from img2plate.ui.worktable.table import Table
from img2plate.ui.worktable.wishes.of_the_pack import plate_key
from img2plate.ui.worktable.wishes.settings import key_of
from img2plate.ui.worktable.wishes.together import LayoutWish, read_wish
from img2plate.ui.worktable.work.jobs import OPEN, Job
from img2plate.ui.worktable.work.together import ABOUT, Picked

ROOM = "together"
MOST_PICKED = 100
MOST_KEPT = 8
"""Publications and layouts that stay on the disk; the oldest go first."""


class Together:
    """Work on several plates. Methods may be called from any thread."""

    def __init__(self, table: Table) -> None:
        """Keep what is made beside a table's projects."""
        self._table, self._folder = table, table.projects.folder / ROOM

    def picked(self, ids: Sequence[str]) -> list[dict[str, Any]]:
        """Names and plates of projects, in this order; those that are gone are left out."""
        found = []
        for project_id in dict.fromkeys(ids):
            try:
                project = self._table.projects.load(project_id)
            except KeyError:
                continue
            key = self._table.shown.made(project)
            found.append({"id": project.id, "name": project.name, "key": key})
        return found

    def begin(self, what: str, ids: Sequence[str], words: dict[str, Any]) -> dict[str, Any]:
        """Have something made of the plates; `key` to ask for it by, or what is waited for.

        Raises KeyError, OptionError.
        """
        wish = read_wish(what, words)
        ids = list(dict.fromkeys(ids))
        if not 0 < len(ids) <= MOST_PICKED:
            raise OptionError(f"pick 1 to {MOST_PICKED} plates")
        projects = [self._table.projects.load(project_id) for project_id in ids]
        for project in projects:
            if not self._table.shown.made(project):
                hand = self._table.state(project.id)["hand"]
                if hand["state"] in ("failed", "stopped"):
                    raise OptionError(f"{project.name} has no plate; open it to see why")
                return {"state": "waiting", "words": f"{project.name} is being made first"}
        plates = [
            Picked(self._table.projects.plate(each.id, plate_key(each.settings)), each.settings,
                   self._table.projects.files(each.id))
            for each in projects
        ]  # fmt: skip
        asked = [__version__, what, [[p.id, key_of(p.settings)] for p in projects], asdict(wish)]
        key = hashlib.sha256(json.dumps(asked, default=str).encode()).hexdigest()[:16]
        if not (self._folder / key / ABOUT).is_file():
            task = "lay_out_together" if isinstance(wish, LayoutWish) else "publish_together"
            self._table.jobs.forget(ROOM, key)
            arguments = plates, wish, self._folder / key
            self._table.jobs.start(Job(ROOM, key, task, arguments, then=self._tidy))
        return {"state": "waiting", "key": key}

    def state(self, key: str) -> dict[str, Any]:
        """How far that is, and what is told of it when it is done. Raises KeyError."""
        about = self._here(key) / ABOUT
        if about.is_file():
            told = json.loads(about.read_text(encoding="utf-8"))
            about.parent.touch()  # it is looked at: among the newest
            return {"key": key, "state": "done", "about": told}
        job = self._table.jobs.find(ROOM, key)
        if job is None or job.state not in (*OPEN, "failed"):
            raise KeyError(key)
        return job.as_json()

    def file(self, key: str, path: str) -> Path:
        """A file of what was made. Raises KeyError for what is none."""
        folder = self._here(key).resolve()
        found = (folder / path).resolve()
        if not found.is_relative_to(folder) or not found.is_file():
            raise KeyError(path)
        return found

    def _here(self, key: str) -> Path:
        if not ID.fullmatch(key):
            raise KeyError(key)
        return self._folder / key

    def _tidy(self, _result: Any) -> None:
        """Remove the oldest."""
        found = sorted(self._folder.glob("[0-9a-f]*"), key=lambda path: path.stat().st_mtime)
        for path in found[:-MOST_KEPT]:
            shutil.rmtree(path, ignore_errors=True)
