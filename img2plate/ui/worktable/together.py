"""What a page asks of several plates and figures: what is made of them, and how far that is.

A plate is picked as its project's id, a figure as `f/` and its id.
"""

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
from img2plate.ui.worktable.figures import Figures
from img2plate.ui.worktable.store.projects import ID, Project
from img2plate.ui.worktable.table import Table
from img2plate.ui.worktable.wishes.figure import pack_key
from img2plate.ui.worktable.wishes.of_the_pack import plate_key
from img2plate.ui.worktable.wishes.settings import key_of
from img2plate.ui.worktable.wishes.together import LayoutWish, read_wish
from img2plate.ui.worktable.work.jobs import OPEN, Job
from img2plate.ui.worktable.work.together import ABOUT, Picked, PickedFigure

ROOM = "together"
FIGURE = "f/"
MOST_PICKED = 100
MOST_KEPT = 8
"""Publications and layouts that stay on the disk; the oldest go first."""


class Together:
    """Work on several of them. Methods may be called from any thread."""

    def __init__(self, table: Table, figures: Figures) -> None:
        """Keep what is made beside a table's projects."""
        self._table, self._figures = table, figures
        self._folder = table.projects.folder / ROOM

    def picked(self, picks: Sequence[str]) -> list[dict[str, Any]]:
        """Names and plates of projects, in this order; those that are gone are left out."""
        found = []
        for pick in dict.fromkeys(picks):
            try:
                project = self._project(pick)
            except KeyError:
                continue
            is_figure = pick.startswith(FIGURE)
            drawn = self._figures.built.drawn if is_figure else self._table.shown.made
            found.append({"pick": pick, "id": project.id, "name": project.name,
                          "key": drawn(project), "is_figure": is_figure})  # fmt: skip
        return found

    def begin(self, what: str, picks: Sequence[str], words: dict[str, Any]) -> dict[str, Any]:
        """Have something made of them; `key` to ask for it by, or what is waited for.

        Raises KeyError, OptionError.
        """
        wish = read_wish(what, words)
        picks = list(dict.fromkeys(picks))
        if not 0 < len(picks) <= MOST_PICKED:
            raise OptionError(f"pick 1 to {MOST_PICKED} plates or figures")
        projects = [self._project(pick) for pick in picks]
        if isinstance(wish, LayoutWish):
            self._only_plates(picks, projects)
        found: list[Picked | PickedFigure] = []
        for pick, project in zip(picks, projects, strict=True):
            is_figure = pick.startswith(FIGURE)
            each = self._figure(pick, project) if is_figure else self._plate(pick, project)
            if each is None:
                return {"state": "waiting", "words": f"{project.name} is being made first"}
            found.append(each)
        keys = [[each.pick, _key(each)] for each in found]
        asked = [__version__, what, keys, asdict(wish)]
        key = hashlib.sha256(json.dumps(asked, default=str).encode()).hexdigest()[:16]
        if not (self._folder / key / ABOUT).is_file():
            task = "lay_out_together" if isinstance(wish, LayoutWish) else "publish_together"
            self._table.jobs.forget(ROOM, key)
            arguments = found, wish, self._folder / key
            self._table.jobs.start(Job(ROOM, key, task, arguments, then=self._tidy))
        return {"state": "waiting", "key": key}

    def _project(self, pick: str) -> Project:
        """What is picked. Raises KeyError."""
        if pick.startswith(FIGURE):
            return self._figures.projects.load(pick.removeprefix(FIGURE))
        return self._table.projects.load(pick)

    @staticmethod
    def _only_plates(picks: Sequence[str], projects: Sequence[Project]) -> None:
        """Raise OptionError for a figure."""
        for pick, project in zip(picks, projects, strict=True):
            if pick.startswith(FIGURE):
                raise OptionError(
                    f"{project.name} is a figure: its plates lie on boards in its own pack"
                )

    def _plate(self, pick: str, project: Project) -> Picked | None:
        """A plate; None while it is being made. Raises OptionError when it cannot be."""
        if not self._table.shown.made(project):
            if self._table.state(project.id)["hand"]["state"] in ("failed", "stopped"):
                raise OptionError(f"{project.name} has no plate; open it to see why")
            return None
        folder = self._table.projects.plate(project.id, plate_key(project.settings))
        files = self._table.projects.files(project.id)
        return Picked(pick, project.name, folder, project.settings, files)

    def _figure(self, pick: str, project: Project) -> PickedFigure | None:
        """A figure; None while it is being built. Raises OptionError when it cannot be."""
        built = self._figures.built
        built.want(project)
        state = built.state(project)
        if state["state"] in ("failed", "stopped"):
            raise OptionError(f"{project.name} cannot be built; open it to see why")
        if state["state"] != "done":
            return None
        return PickedFigure(
            pick, project.name, built.folder(project.id, state["key"]), project.settings
        )

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


def _key(each: Picked | PickedFigure) -> str:
    """A short name for what is made of one."""
    return pack_key(each.step) if isinstance(each, PickedFigure) else key_of(each.settings)
