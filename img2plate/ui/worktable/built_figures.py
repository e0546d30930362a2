"""Figures that are built or being built: what is drawn of them, their pictures, their packs."""

from __future__ import annotations

import re
import shutil
import threading
from pathlib import Path
from typing import Any

from img2plate.base.errors import FigureError
from img2plate.ui.worktable.store.projects import Project, Projects
from img2plate.ui.worktable.table import IN_HAND
from img2plate.ui.worktable.wishes.figure import made_key, pack_key, words_of
from img2plate.ui.worktable.wishes.files import plain
from img2plate.ui.worktable.wishes.settings import Settings
from img2plate.ui.worktable.work.figures import FACTS
from img2plate.ui.worktable.work.jobs import Job, Jobs

PATIENCE_SECONDS = 30.0
"""How long a figure may take to be built before it is given up."""
TOO_LONG = "this takes too long to draw; make it smaller"
BY_HAND = re.compile(r"-by-hand(-\d+)?\.png$")
"""Plates of our own making."""
MOST_MADE, MOST_PACKS = 24, 6
DRAWN = 3
"""What goes first in a lane: pictures after the drawing."""


class BuiltFigures:
    """What workers make of figures. Methods may be called from any thread."""

    def __init__(self, projects: Projects, jobs: Jobs) -> None:
        self.projects, self._jobs = projects, jobs

    def stop(self, project: Project) -> None:
        """Stop building what a project has in hand."""
        self._jobs.stop(project.id, {made_key(project.settings)})

    def again(self, project: Project) -> None:
        """Have what is in hand built, also when that failed before."""
        self._jobs.forget(project.id, made_key(project.settings))
        self.want(project)

    def want(self, project: Project) -> None:
        """Have a figure built, unless it was, or cannot be."""
        step, key = project.settings, made_key(project.settings)
        folder = self.folder(project.id, key)
        if (folder / FACTS).is_file():
            return
        job = self._jobs.find(project.id, key)
        if job is not None and job.state == "done":  # tidied away since
            self._jobs.forget(project.id, key)
        elif job is not None:
            return
        arguments = (step, self.projects.files(project.id), folder)
        started = self._jobs.start(Job(project.id, key, "make_figure", arguments, order=IN_HAND))
        threading.Thread(target=self._give_up, args=(started,), daemon=True).start()

    def _give_up(self, job: Job) -> None:
        """Stop a figure that takes too long, once it is begun."""
        while job.state == "waiting" and not job.finished.wait(1.0):
            pass
        if not job.finished.wait(PATIENCE_SECONDS):
            job.error = {"field": "", "words": TOO_LONG}
            self._jobs.stop(job.project, {job.key})

    def state(self, project: Project) -> dict[str, Any]:
        """How far the figure in hand is."""
        key = made_key(project.settings)
        if (self.folder(project.id, key) / FACTS).is_file():
            return {"key": key, "state": "done"}
        job = self._jobs.find(project.id, key)
        if job is None:
            return {"key": key, "state": "waiting"}
        if job.state == "stopped" and job.error:
            return {"key": key, "state": "failed", "error": job.error}
        return job.as_json()

    def drawn(self, project: Project) -> str:
        """The newest figure up to what is in hand that could be built; empty when none could."""
        for step in reversed(project.history[: project.at + 1]):
            key = made_key(step)
            if (self.folder(project.id, key) / FACTS).is_file():
                return key
        return ""

    def _step_of(self, project_id: str, key: str) -> Settings:
        """The newest step that a figure was made of. Raises KeyError."""
        for step in reversed(self.projects.load(project_id).history):
            if made_key(step) == key:
                return step
        raise KeyError(key)

    def folder(self, project_id: str, key: str) -> Path:
        """The folder of a figure that was made. Raises KeyError for what is no key of ours."""
        return self.projects.plate(project_id, key)

    def facts_path(self, project_id: str, key: str) -> Path:
        """What is drawn of a figure, as JSON. Raises KeyError when it is not made."""
        return self._there(self.folder(project_id, key) / FACTS)

    def picture(self, project_id: str, key: str, name: str) -> Path:
        """One of the pack's pictures: drawn when it is first asked for. Raises KeyError."""
        folder = self.folder(project_id, key)
        path = folder / "drawn" / name
        if not path.is_file():
            self.facts_path(project_id, key)
            step = self._step_of(project_id, key)
            place = f"drawn-{key}"
            self._jobs.forget(project_id, place)
            arguments = (folder, step)
            job = self._jobs.start(Job(project_id, place, "draw_figure", arguments, order=DRAWN))
            job.finished.wait()
        return self._there(path)

    def write_pack(self, project_id: str) -> None:
        """Write the pack of what is in hand. Raises Img2PlateError when that is not built."""
        project = self.projects.load(project_id)
        step, key = project.settings, pack_key(project.settings)
        made = self.folder(project_id, made_key(step))
        if not (made / FACTS).is_file():
            raise FigureError("the figure is not built yet; wait a moment, or mend its text")
        out = self.projects.pack(project_id, key)
        self._jobs.forget(project_id, f"pack-{key}")
        job = Job(project_id, f"pack-{key}", "pack_figure", (made, step, out), order=IN_HAND)
        self._jobs.start(job)

    def pack_file(self, project_id: str, key: str, name: str) -> Path:
        """A file of a pack, or its zip. Raises KeyError for what is none."""
        out = self.projects.pack(project_id, key)
        for path in out.glob("*/*"):
            if path.name == name and path.is_file():
                return path
        return self._there(
            next((path for path in out.glob("*.zip") if path.name == name), out / "x")
        )

    def pack(self, project: Project) -> dict[str, Any]:
        """How far the pack is, and its files."""
        key = pack_key(project.settings)
        job = self._jobs.find(project.id, f"pack-{key}")
        about = job.as_json() if job else {"state": "none"}
        out = self.projects.pack(project.id, key)
        if about["state"] in ("none", "done"):
            archive = next(iter(out.glob("*.zip")), None)
            about = {"state": "none"}
            if archive is not None:
                inside = sorted(p.name for p in archive.with_suffix("").iterdir() if p.is_file())
                about = {"state": "done", "files": [archive.name, *inside]}
        return about | {"key": key}

    @staticmethod
    def _there(path: Path) -> Path:
        if not path.is_file():
            raise KeyError(path.name)
        return path

    def tidy(self, project: Project) -> None:
        """Remove the oldest of what can be made again, and texts that no step has."""
        home = self.projects.home(project.id)
        now = {made_key(project.settings), pack_key(project.settings)}
        for room, most in (("plates", MOST_MADE), ("packs", MOST_PACKS)):
            found = sorted(home.joinpath(room).glob("[0-9a-f]*"), key=lambda p: p.stat().st_mtime)
            for path in found[:-most]:
                if path.name not in now:
                    shutil.rmtree(path, ignore_errors=True)
        files = self.projects.files(project.id)
        keep = {word for step in project.history for word in (str(step["text"]), *words_of(step))}
        hands = {name for name in map(plain, files.words()) if BY_HAND.search(name)}
        files.tidy(keep, (project.file_name, *hands))
