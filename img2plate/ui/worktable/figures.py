"""What a page asks for of figures: their text and files, and what becomes of these."""

from __future__ import annotations

import tempfile
import threading
from collections.abc import Callable
from pathlib import Path
from typing import Any

from img2plate.base.archive import write_zip
from img2plate.base.errors import OptionError
from img2plate.base.lengths import A4, find_paper
from img2plate.solid.file.edit import with_value
from img2plate.solid.file.named import named_files
from img2plate.ui.worktable.built_figures import BuiltFigures
from img2plate.ui.worktable.store.projects import Project, Projects, StaleError
from img2plate.ui.worktable.store.samples import FIGURES, figures_folder
from img2plate.ui.worktable.table import TIDY_EVERY, Table
from img2plate.ui.worktable.wishes.figure import (
    command_line,
    empty_box,
    keep_text,
    lay_out,
    made_key,
    read_step,
    text_of,
    with_file,
    words_of,
)
from img2plate.ui.worktable.wishes.files import Files, plain, safe_name
from img2plate.ui.worktable.wishes.settings import Settings

MOST_FILES, MOST_FILE_BYTES = 120, 16 << 20
SUFFIXES = (".png", ".jpg", ".jpeg", ".gif", ".webp", ".bmp", ".tif", ".tiff", ".csv", ".gpl")


class Figures:
    """All figures and the work on them. Methods may be called from any thread."""

    def __init__(self, table: Table, tell: Callable[[str, dict[str, Any]], None]) -> None:
        """Keep them beside a table's plates, and have its workers build them."""
        self.projects = Projects(table.projects.folder / "figures", read_step)
        self.built = BuiltFigures(self.projects, table.jobs)
        self._tell = tell
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
        self.built.stop(self.projects.load(project_id))
        self.projects.drop(project_id)

    def listed(self) -> list[dict[str, Any]]:
        """Earlier figures, the newest first."""
        return [
            {"id": each.id, "name": each.name, "saved": each.saved, "key": self.built.drawn(each)}
            for each in self.projects.listed()
        ]

    # What a page shows

    def state(self, project_id: str) -> dict[str, Any]:
        """All that a page shows of a figure; its drawing is begun."""
        project = self.projects.load(project_id)
        self.built.want(project)
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
            "made": self.built.state(project),
            "drawn": self.built.drawn(project),
            "pack": self.built.pack(project),
        }  # fmt: skip

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
        if made_key(old.settings) != made_key(new.settings):
            self.built.stop(old)
        self.built.again(new)
        if new is old:
            return
        self._tell(project_id, {"what": "saved", "version": new.version})
        if new.version % TIDY_EVERY == 0:
            self.built.tidy(new)
