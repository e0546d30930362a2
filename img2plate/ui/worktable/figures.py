"""What a page asks for of figures: their text, files and drawing, strokes on a face, the pack."""

from __future__ import annotations

import re
import shutil
import tempfile
import threading
from collections.abc import Callable
from pathlib import Path
from typing import Any

from img2plate.base.archive import write_zip
from img2plate.base.errors import FigureError, OptionError
from img2plate.base.lengths import A4, find_paper
from img2plate.solid.file.edit import with_value
from img2plate.solid.file.named import named_files
from img2plate.ui.worktable.store.projects import Project, Projects, StaleError
from img2plate.ui.worktable.store.samples import FIGURES, figures_folder
from img2plate.ui.worktable.table import IN_HAND, TIDY_EVERY, Table
from img2plate.ui.worktable.wishes.figure import (
    command_line,
    empty_box,
    keep_text,
    lay_out,
    made_key,
    pack_key,
    read_step,
    text_of,
    with_file,
    words_of,
)
from img2plate.ui.worktable.wishes.files import Files, plain, safe_name
from img2plate.ui.worktable.wishes.settings import Settings
from img2plate.ui.worktable.work.figures import FACTS
from img2plate.ui.worktable.work.jobs import Job

PATIENCE_SECONDS = 30.0
"""How long a figure may take to be built before it is given up."""
TOO_LONG = "this takes too long to draw; make it smaller"
BY_HAND = re.compile(r"-by-hand(-\d+)?\.png$")
"""Plates of our own making."""
MOST_FILES, MOST_FILE_BYTES = 120, 16 << 20
MOST_MADE, MOST_PACKS = 24, 6
DRAWN = 3
"""What goes first in a lane: pictures after the drawing."""
SUFFIXES = (".png", ".jpg", ".jpeg", ".gif", ".webp", ".bmp", ".tif", ".tiff", ".csv", ".gpl")


class Figures:
    """All figures and the work on them. Methods may be called from any thread."""

    def __init__(self, table: Table, tell: Callable[[str, dict[str, Any]], None]) -> None:
        """Keep them beside a table's plates, and have its workers build them."""
        self.projects = Projects(table.projects.folder / "figures", read_step)
        self._jobs, self._tell = table.jobs, tell
        self._saving = threading.Lock()

    # Beginning and ending

    def begin(self, name: str, text: str) -> str:
        """A new figure of a description; returns its id. Raises FigureError, OutputError."""
        name = safe_name(name)
        name = name if name.lower().endswith(".toml") else f"{name}.toml"
        project = self.projects.begin(name)
        try:
            files = Files(self.projects.folder / project.id / "files")
            step: Settings = {
                "text": keep_text(files, name, text), "files": [], "colourway": "",
                "paper": A4.name,
            }  # fmt: skip
            project = Project(project.id, name, project.saved, history=(step,))
            self.projects.adopt(project)
        except BaseException:
            self.projects.drop(project.id)
            raise
        return project.id

    def begin_sample(self, name: str) -> str:
        """One of ours with the pictures that it names. Raises KeyError."""
        if name not in FIGURES:
            raise KeyError(name)
        path = figures_folder() / f"{name}.toml"
        text = path.read_text(encoding="utf-8")
        project_id = self.begin(path.name, text)
        project, files = self.projects.load(project_id), self.projects.files(project_id)
        step = project.settings
        for picture in named_files(text):
            step = with_file(step, files.keep(picture, (path.parent / picture).read_bytes()))
        self.projects.adopt(Project(project.id, project.file_name, project.saved, history=(step,)))
        return project_id

    def begin_box(self, size: Any) -> str:
        """A box of a size in beads. Raises OptionError."""
        return self.begin("box.toml", empty_box(size))

    def remove(self, project_id: str) -> None:
        """Remove a figure for good."""
        self.projects.home(project_id)
        self._jobs.stop(project_id, {made_key(self.projects.load(project_id).settings)})
        self.projects.drop(project_id)

    def listed(self) -> list[dict[str, Any]]:
        """Earlier figures, the newest first."""
        return [
            {"id": each.id, "name": each.name, "saved": each.saved, "key": self.drawn(each)}
            for each in self.projects.listed()
        ]

    # What a page shows

    def state(self, project_id: str) -> dict[str, Any]:
        """All that a page shows of a figure; its drawing is begun."""
        project = self.projects.load(project_id)
        self._want(project)
        step = project.settings
        text = text_of(step, self.projects.files(project_id))
        there = {plain(word) for word in words_of(step)}
        named = named_files(text)
        return {
            "id": project.id,
            "name": project.name,
            "file_name": project.file_name,
            "version": project.version,
            "text": text,
            "files": sorted(there),
            "missing": [{"name": name[:100], "line": line} for name, line in named.items()
                        if name not in there][:20],
            "colourway": step["colourway"],
            "paper": step["paper"],
            "can_undo": project.at > 0,
            "can_redo": project.at < len(project.history) - 1,
            "command": command_line(step),
            "made": self._made(project),
            "drawn": self.drawn(project),
            "pack": self._pack(project),
        }  # fmt: skip

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

    def description(self, project_id: str) -> Path:
        """The description as a zip with the files that it names."""
        project = self.projects.load(project_id)
        files, step = self.projects.files(project_id), project.settings
        only = set(named_files(text_of(step, files)))
        with tempfile.TemporaryDirectory() as folder:
            laid = lay_out(step, files, Path(folder) / project.name, only=only).parent
            path = self.projects.home(project_id) / "description" / f"{project.name}.zip"
            write_zip(path, laid.iterdir())
        return path

    # Changes

    def write(self, project_id: str, version: int, text: str, *, joined: bool) -> None:
        """Another text; joined: of the same stretch of typing as the one before.

        Raises StaleError, FigureError.
        """
        files = self.projects.files(project_id)

        def changed(old: Project) -> Project:
            step = {**old.settings, "text": keep_text(files, old.file_name, text)}
            if step == old.settings:
                return old
            return old.with_last(step) if joined else old.with_settings(step)

        self.save(project_id, version, changed)

    def choose(self, project_id: str, version: int, words: dict[str, Any]) -> None:
        """Another colourway or paper. Raises StaleError, OptionError."""
        new: Settings = {}
        if "colourway" in words:
            new["colourway"] = str(words["colourway"])[:200]
        if "paper" in words:
            new["paper"] = find_paper(str(words["paper"])).name
        self.save(project_id, version, lambda old: old.with_settings({**old.settings, **new}))

    def press(self, project_id: str, version: int, mm: Any) -> None:
        """Write a thickness into the description. Raises StaleError, OptionError, FigureError."""
        if isinstance(mm, bool) or not isinstance(mm, int | float) or not 0.2 <= mm <= 50:
            raise OptionError("is no thickness in mm", field="thickness")
        files = self.projects.files(project_id)

        def changed(old: Project) -> Project:
            text = text_of(old.settings, files)
            text = with_value(text, ("figure", "thickness"), str(round(float(mm), 2)))
            return old.with_settings(
                {**old.settings, "text": keep_text(files, old.file_name, text)}
            )

        self.save(project_id, version, changed)

    def step(self, project_id: str, version: int, steps: int) -> None:
        """Undo (-1) or redo (1). Raises StaleError."""
        self.save(project_id, version, lambda project: project.moved(steps))

    def add(self, project_id: str, name: str, data: bytes) -> None:
        """A file that the description may name. Raises OptionError for what it cannot be."""
        name = safe_name(name)
        if not name.lower().endswith(SUFFIXES):
            raise OptionError("is neither a picture nor a palette", value=name)
        files = self.projects.files(project_id)

        def changed(old: Project) -> Project:
            step = with_file(old.settings, files.keep(name, data))
            if len(words_of(step)) > MOST_FILES:
                raise OptionError(f"a figure has {MOST_FILES} files at most")
            return old if step == old.settings else old.with_settings(step)

        self.save(project_id, None, changed)

    # The pack

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

    def _pack(self, project: Project) -> dict[str, Any]:
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

    # Inside

    def save(
        self, project_id: str, version: int | None, change: Callable[[Project], Project]
    ) -> None:
        """Change a figure, unless somebody else did, and have it drawn; None: whoever did."""
        with self._saving:
            old = self.projects.load(project_id)
            if version is not None and old.version != version:
                raise StaleError
            changed = change(old)
            new = old if changed is old else self.projects.save(changed)
        key = made_key(new.settings)
        if (before := made_key(old.settings)) != key:
            self._jobs.stop(project_id, {before})
        self._jobs.forget(project_id, key)
        self._want(new)
        if new is old:
            return
        self._tell(project_id, {"what": "saved", "version": new.version})
        if new.version % TIDY_EVERY == 0:
            self._tidy(new)

    def _want(self, project: Project) -> None:
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

    def _made(self, project: Project) -> dict[str, Any]:
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

    @staticmethod
    def _there(path: Path) -> Path:
        if not path.is_file():
            raise KeyError(path.name)
        return path

    def _tidy(self, project: Project) -> None:
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
