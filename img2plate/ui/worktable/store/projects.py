"""Projects on the disk: a folder each, named by a random number of our own.

    <folder>/<id>/project.json    name, version, all settings that were chosen, where in them we are
                  picture.png     the picture, small
                  source/NAME     the picture as it was given, under its own name
                  files/          palettes, stocks and bags: see `wishes.files`
                  plates/<key>/   a plate that was made: see `tasks`
                  packs/<key>/    a pack that was asked for
                  colours/<key>/  the plate in other colours, or in few: see `work.colours`

The version counts saves: who saves must know the newest, so that two pages do not overwrite each
other.
"""

from __future__ import annotations

import json
import re
import secrets
import shutil
import time
from collections.abc import Callable, Iterator
from dataclasses import asdict, dataclass, replace
from functools import lru_cache
from pathlib import Path

from img2plate.base.errors import DocumentError, OptionError, OutputError
from img2plate.base.files import explain, safe_file
from img2plate.ui.worktable.wishes.beads import STOCK_NAME
from img2plate.ui.worktable.wishes.files import Files, safe_name
from img2plate.ui.worktable.wishes.settings import BESIDE, NAME_FILES, Settings, tidied
from img2plate.ui.worktable.wishes.touched import NAME as TOUCHED_NAME

ID = re.compile(r"[0-9a-f]{16}")
MOST_STEPS = 2000
"""Steps that can be undone."""
MOST_PLATES = 80
"""Plates that a project keeps; the oldest go first."""
MOST_PACKS = 12
"""The same of packs."""
MOST_COLOURS = 60
"""The same of sheets of other colours, and of plates in few."""


class NotMadeError(KeyError):
    """The plate in hand is another by now, which is still being made."""


class StaleError(Exception):
    """Somebody else has saved since."""


@dataclass(frozen=True)
class Project:
    """What is kept of a project beside its pictures."""

    id: str
    file_name: str
    saved: float
    """Seconds since 1970."""
    version: int = 1
    history: tuple[Settings, ...] = ({},)
    at: int = 0
    """Which of the history is in hand."""

    @property
    def name(self) -> str:
        """How it is called."""
        return Path(self.file_name).stem

    @property
    def settings(self) -> Settings:
        """What is in hand."""
        return self.history[self.at]

    def with_settings(self, settings: Settings) -> Project:
        """Another step; what was undone before is dropped."""
        steps = (*self.history[: self.at + 1], settings)[-MOST_STEPS:]
        return replace(self, history=steps, at=len(steps) - 1)

    def with_last(self, settings: Settings) -> Project:
        """The last step made another one, when it is in hand and there is one before; else a step.

        So that a stretch of typing is one step.
        """
        if 0 < self.at == len(self.history) - 1:
            return replace(self, history=(*self.history[:-1], settings))
        return self.with_settings(settings)

    def moved(self, steps: int) -> Project:
        """So many steps back or forth, as far as there are any."""
        return replace(self, at=min(max(0, self.at + steps), len(self.history) - 1))


def _readable(step: Settings) -> Settings:
    """Settings as they were saved; none of them when this version cannot read them any more."""
    return dict(_read_step(json.dumps(step)))


@lru_cache(maxsize=4096)
def _read_step(text: str) -> Settings:
    """The same, of their JSON: a project is read far more often than a setting changes."""
    try:
        return tidied(json.loads(text))
    except OptionError:
        return {}


class Projects:
    """The folder of all projects."""

    def __init__(
        self, folder: Path, readable: Callable[[Settings], Settings] | None = None
    ) -> None:
        """Take a folder; it is made when the first project is. Raises OutputError.

        readable: takes a step of the history as it was saved; else those of plates are read.
        """
        self.folder = folder
        self._readable = readable or _readable
        try:
            folder.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise OutputError(f"cannot write {folder}: {explain(error)}") from error

    def home(self, project_id: str) -> Path:
        """A project's folder. Raises KeyError for what is no id of ours, or not there."""
        if (
            not ID.fullmatch(project_id)
            or not (self.folder / project_id / "project.json").is_file()
        ):
            raise KeyError(project_id)
        return self.folder / project_id

    def source(self, project: Project) -> Path:
        """The picture as it was given."""
        return self.folder / project.id / "source" / project.file_name

    def files(self, project_id: str) -> Files:
        """The files that its settings may name."""
        return Files(self.home(project_id) / "files")

    def plate(self, project_id: str, key: str) -> Path:
        """The folder of a plate. Raises KeyError for what is no key of ours."""
        return self._inside(project_id, "plates", key)

    def pack(self, project_id: str, key: str) -> Path:
        """The folder that holds a pack and its zip."""
        return self._inside(project_id, "packs", key)

    def colours(self, project_id: str, key: str) -> Path:
        """The folder of a plate in other colours, or in few. Raises KeyError as `plate`."""
        return self._inside(project_id, "colours", key)

    def _inside(self, project_id: str, room: str, key: str) -> Path:
        if not ID.fullmatch(key):
            raise KeyError(key)
        return self.home(project_id) / room / key

    def begin(self, name: str) -> Project:
        """A new project without its picture yet; `adopt` or `drop` it."""
        project = Project(secrets.token_hex(8), safe_name(name), time.time())
        self.source(project).parent.mkdir(parents=True)
        return project

    def adopt(self, project: Project) -> None:
        """Keep a project whose picture could be read."""
        self._write(project)

    def drop(self, project_id: str) -> None:
        """Remove a project for good."""
        if ID.fullmatch(project_id):
            shutil.rmtree(self.folder / project_id, ignore_errors=True)

    def load(self, project_id: str) -> Project:
        """Read a project. Raises KeyError when there is none, DocumentError when it is damaged."""
        path = self.home(project_id) / "project.json"
        try:
            about = json.loads(path.read_text(encoding="utf-8"))
            history = tuple(self._readable(step) for step in about["history"])
            at = int(about["at"])
            file_name = safe_name(str(about["file_name"]))
            history[at]
            version, saved = int(about["version"]), float(about["saved"])
        except (OSError, ValueError, LookupError, TypeError, AttributeError, OverflowError):
            raise DocumentError(f"{path} is damaged") from None
        return Project(project_id, file_name, saved, version, history, max(0, at))

    def save(self, project: Project) -> Project:
        """Write a project that was loaded and changed. Raises StaleError if another was faster."""
        if self.load(project.id).version != project.version:
            raise StaleError
        newer = replace(project, version=project.version + 1, saved=time.time())
        self._write(newer)
        return newer

    def listed(self) -> Iterator[Project]:
        """All projects that can be read, the newest first."""
        found = []
        for path in self.folder.glob("*/project.json"):
            try:
                found.append(self.load(path.parent.name))
            except (KeyError, DocumentError):
                continue
        yield from sorted(found, key=lambda project: -project.saved)

    def tidy(self, project: Project, keep: set[str]) -> None:
        """Remove the oldest plates, packs and files when there are many.

        None of `keep`, nor files that a step of the history names.
        """
        rooms = {"plates": MOST_PLATES, "packs": MOST_PACKS, "colours": MOST_COLOURS}
        for room, most in rooms.items():
            folder = self.folder / project.id / room
            found = sorted(folder.glob("[0-9a-f]*"), key=lambda path: path.stat().st_mtime)
            for path in found[:-most]:
                if path.name not in keep:
                    shutil.rmtree(path, ignore_errors=True)
        names = (*NAME_FILES, *BESIDE)
        self.files(project.id).tidy(
            {str(s[name]) for s in project.history for name in names if name in s},
            (STOCK_NAME, TOUCHED_NAME),
        )

    def _write(self, project: Project) -> None:
        """Write the file, whole or not at all. Raises OutputError."""
        about = {name: value for name, value in asdict(project).items() if name != "id"}
        with safe_file(self.folder / project.id / "project.json") as temporary:
            temporary.write_text(json.dumps(about, ensure_ascii=False, indent=1), encoding="utf-8")
