"""What a page asks for of figures: their text, files and drawing, strokes on a face, the pack."""

from __future__ import annotations

import json
import re
import shutil
import tempfile
import threading
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np

from img2plate.base.archive import write_zip
from img2plate.base.arrays import Cells
from img2plate.base.errors import FigureError, OptionError
from img2plate.base.lengths import A4, find_paper
from img2plate.colour.palette_file import bundled_names, find_palette
from img2plate.plate.document import write_plate
from img2plate.plate.plate import Plate
from img2plate.solid.file.edit import with_value
from img2plate.solid.file.named import named_files
from img2plate.ui.worktable.store.projects import NotMadeError, Project, Projects, StaleError
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
from img2plate.ui.worktable.wishes.touched import Touched
from img2plate.ui.worktable.work.figures import FACE_CELLS, FACTS, SOURCE
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
        self._hands: dict[tuple[str, str], Cells] = {}
        """Cells of faces by project and the word of their plate: they may not be built yet."""

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
            {"id": each.id, "name": each.name, "saved": each.saved, "key": self._drawn(each)}
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
            "drawn": self._drawn(project),
            "pack": self._pack(project),
        }  # fmt: skip

    def facts_path(self, project_id: str, key: str) -> Path:
        """What is drawn of a figure, as JSON. Raises KeyError when it is not made."""
        return self._there(self._folder(project_id, key) / FACTS)

    def picture(self, project_id: str, key: str, name: str) -> Path:
        """One of the pack's pictures: drawn when it is first asked for. Raises KeyError."""
        folder = self._folder(project_id, key)
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

        self._save(project_id, version, changed)

    def choose(self, project_id: str, version: int, words: dict[str, Any]) -> None:
        """Another colourway or paper. Raises StaleError, OptionError."""
        new: Settings = {}
        if "colourway" in words:
            new["colourway"] = str(words["colourway"])[:200]
        if "paper" in words:
            new["paper"] = find_paper(str(words["paper"])).name
        self._save(project_id, version, lambda old: old.with_settings({**old.settings, **new}))

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

        self._save(project_id, version, changed)

    def step(self, project_id: str, version: int, steps: int) -> None:
        """Undo (-1) or redo (1). Raises StaleError."""
        self._save(project_id, version, lambda project: project.moved(steps))

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

        self._save(project_id, None, changed)

    # Faces by hand

    def face(self, project_id: str, part: int, face: str) -> tuple[str, Plate]:
        """Key and plate of a face, as the newest description has it.

        Raises NotMadeError when that is not built yet, KeyError when there is no such face.
        """
        project = self.projects.load(project_id)
        key = made_key(project.settings)
        if not (self._folder(project_id, key) / FACTS).is_file():
            raise NotMadeError(key)
        return key, self._face_in(project, key, part, face)

    def touch(
        self, project_id: str, version: int, part: int, face: str, stroke: dict[str, Any]
    ) -> None:
        """A stroke by hand on a face: it becomes a plate of the project, named in the description.

        Raises StaleError, OptionError, FigureError, NotMadeError, KeyError.
        """
        files = self.projects.files(project_id)

        def changed(old: Project) -> Project:
            step = old.settings
            text = text_of(step, files)
            name = self._face_name(step, text, part, face)
            word = next((each for each in words_of(step) if plain(each) == name), "")
            plate = self._face_now(old, part, face, word)
            touched = Touched.nothing(plate.size).with_stroke(stroke)
            plate, _lost = touched.laid_on(plate)
            word = files.keep(name, _document(plate))
            self._hands = dict([*self._hands.items()][-20:]) | {(project_id, word): plate.cells}
            text = with_value(text, ("part", part, "faces", face), f'{{ plate = "{name}" }}')
            step = {**with_file(step, word), "text": keep_text(files, old.file_name, text)}
            return old.with_settings(step)

        self._save(project_id, version, changed)

    def _face_now(self, project: Project, part: int, face: str, word: str) -> Plate:
        """The face that a stroke goes on, also while the stroke before is being built."""
        key = made_key(project.settings)
        if (self._folder(project.id, key) / FACTS).is_file():
            return self._face_in(project, key, part, face)
        cells = self._hands.get((project.id, word))
        drawn = self._drawn(project)
        if cells is None or not drawn:
            raise NotMadeError(key)
        return Plate(cells, self._face_in(project, drawn, part, face).palette)

    def _face_in(self, project: Project, key: str, part: int, face: str) -> Plate:
        """A face of a figure that is built."""
        folder = self._folder(project.id, key)
        with np.load(folder / FACE_CELLS, allow_pickle=False) as faces:
            cells = np.asarray(faces[f"{part}.{face}"], np.int16)
        facts = json.loads((folder / FACTS).read_text(encoding="utf-8"))
        name = facts["palette_file"]
        palette = find_palette(name if name in bundled_names() else str(folder / SOURCE / name))
        return Plate(cells, palette, f"{project.name} {face}")

    def _face_name(self, step: Settings, text: str, part: int, face: str) -> str:
        """What the plate of a face is called: as the description has it, else anew."""
        tables = tomllib.loads(text)["part"]
        value = tables[part].get("faces", {}).get(face)
        if isinstance(value, dict) and isinstance(value.get("plate"), str):
            users = [way for way, each in _faces(tables) if each == value["plate"]]
            if users == [(part, face)]:
                return safe_name(value["plate"])
        title = "".join(c if c.isalnum() else "-" for c in str(tables[part].get("name", part)))
        there = {plain(word) for word in words_of(step)}
        base = f"{title[:40]}-{face}-by-hand"
        names = [f"{base}.png", *(f"{base}-{number}.png" for number in range(2, 200))]
        return next(name for name in map(safe_name, names) if name not in there)

    # The pack

    def write_pack(self, project_id: str) -> None:
        """Write the pack of what is in hand. Raises Img2PlateError when that is not built."""
        project = self.projects.load(project_id)
        step, key = project.settings, pack_key(project.settings)
        made = self._folder(project_id, made_key(step))
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

    def _save(
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
        folder = self._folder(project.id, key)
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
        if (self._folder(project.id, key) / FACTS).is_file():
            return {"key": key, "state": "done"}
        job = self._jobs.find(project.id, key)
        if job is None:
            return {"key": key, "state": "waiting"}
        if job.state == "stopped" and job.error:
            return {"key": key, "state": "failed", "error": job.error}
        return job.as_json()

    def _drawn(self, project: Project) -> str:
        """The newest figure up to what is in hand that could be built; empty when none could."""
        for step in reversed(project.history[: project.at + 1]):
            key = made_key(step)
            if (self._folder(project.id, key) / FACTS).is_file():
                return key
        return ""

    def _step_of(self, project_id: str, key: str) -> Settings:
        """The newest step that a figure was made of. Raises KeyError."""
        for step in reversed(self.projects.load(project_id).history):
            if made_key(step) == key:
                return step
        raise KeyError(key)

    def _folder(self, project_id: str, key: str) -> Path:
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


def _faces(tables: list[dict[str, Any]]) -> list[tuple[tuple[int, str], str]]:
    """All faces of a description that are plates, and the files these are in."""
    return [
        ((number, face), value["plate"])
        for number, table in enumerate(tables)
        for face, value in table.get("faces", {}).items()
        if isinstance(value, dict) and "plate" in value
    ]


def _document(plate: Plate) -> bytes:
    """The bytes of a plate document."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "plate.png"
        write_plate(path, plate)
        return path.read_bytes()
