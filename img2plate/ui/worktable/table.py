"""What a page asks for: projects, proofs, the plate in hand, packs. Knows nothing of the web."""

from __future__ import annotations

import json
import threading
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from img2plate.base.errors import Img2PlateError, PictureError
from img2plate.base.files import PACK_FILES
from img2plate.image.kind.kind import Kind
from img2plate.ui.worktable.shown import NOT_MADE, Shown
from img2plate.ui.worktable.store.projects import Project, Projects, StaleError
from img2plate.ui.worktable.wishes.files import Files
from img2plate.ui.worktable.wishes.of_the_pack import plate_key, plate_only
from img2plate.ui.worktable.wishes.proofs import first_look
from img2plate.ui.worktable.wishes.settings import (
    TOUCHED,
    Settings,
    checked,
    key_of,
    of_the_picture,
)
from img2plate.ui.worktable.wishes.touched import after_stroke, untouched
from img2plate.ui.worktable.work.jobs import OPEN, Job, Jobs
from img2plate.ui.worktable.work.tasks import PICTURE

TIDY_EVERY = 32
"""Saves after which old plates and files are looked for."""
FIRST, PROPOSE, IN_HAND, PROOFS = 0, 1, 2, 10
"""What goes first in a lane."""
ASKED = (
    "warm_up", "list_pages", "draw_page", "make_look", "measure_look", "publish_together",
    "lay_out_together",
)  # fmt: skip
"""Tasks that pages are told nothing of: who asked waits for them."""


class Table:
    """All projects and the work on them. Methods may be called from any thread."""

    def __init__(
        self, folder: Path, tell: Callable[[str, dict[str, Any]], None], *, warm: bool = True
    ) -> None:
        """Start on a folder; `tell` hears of a project's events. Raises OutputError.

        warm: have the workers ready before the first picture comes.
        """
        self.projects = Projects(folder)
        self.jobs = Jobs(self._changed)
        self._tell = tell
        self.shown = Shown(self.projects, self.jobs)
        self._saving = threading.Lock()
        for lane, shading in (("quick", "none"), ("long", "search")) if warm else ():
            self.jobs.start(Job("", f"warm-{lane}", "warm_up", (shading,), lane, -1))

    def end(self) -> None:
        """End all work."""
        self.jobs.end()

    def begin(self, name: str) -> Project:
        """A new project, whose picture is to be written to `projects.source`, then `take_in`."""
        return self.projects.begin(name)

    def take_in(self, project: Project) -> None:
        """Read a project's picture in a worker, and keep the project. Raises PictureError."""
        home = self.projects.folder / project.id
        picture = self.projects.source(project)
        job = Job(project.id, "take-in", "take_in", (picture, home / "picture.png"), order=-1)
        self.jobs.start(job).finished.wait()
        if job.state != "done":
            self.projects.drop(project.id)
            words = job.error.get("words", "stopped")
            raise PictureError(words.replace(str(picture), project.file_name))
        self.projects.adopt(project)
        self._begin(project)  # the page that shows it has still to be loaded

    def picture(self, project_id: str) -> dict[str, Any]:
        """Facts of the picture that was given. Raises KeyError, PictureError."""
        path = self.projects.home(project_id) / PICTURE
        try:
            return dict(json.loads(path.read_text(encoding="utf-8")))
        except (OSError, ValueError):  # an older version wrote none
            picture = self.projects.source(self.projects.load(project_id))
            small = path.with_name("picture.png")
            job = self.jobs.start(Job(project_id, "take-in", "take_in", (picture, small)))
            job.finished.wait()
            if job.state != "done":
                raise PictureError(job.error.get("words", "stopped")) from None
            return dict(job.result)

    def listed(self) -> list[dict[str, Any]]:
        """Earlier projects, the newest first."""
        return self.shown.listed()

    def state(self, project_id: str) -> dict[str, Any]:
        """All that a page shows of a project; what is missing is begun."""
        project = self.projects.load(project_id)
        self._begin(project)
        return self.shown.state(project)

    def choose(self, project_id: str, version: int, settings: Mapping[str, Any]) -> None:
        """Other settings in hand. Raises StaleError, OptionError."""
        self.change(project_id, version, lambda _old, _files: settings)

    def change(
        self,
        project_id: str,
        version: int,
        wish: Callable[[Settings, Files], Mapping[str, Any]],
    ) -> None:
        """Settings that follow from those in hand. Raises StaleError, and what `checked` does."""
        files = self.projects.files(project_id)

        def changed(old: Project) -> Project:
            new = checked(wish(old.settings, files), files)
            key = plate_key(new)
            if key == plate_key(old.settings) and (facts := self.shown.facts(project_id, key)):
                self.shown.with_pack(project_id, facts, new)  # what cannot be is refused right here
            return old.with_settings(new)

        self._save(project_id, version, changed)

    def touch(self, project_id: str, version: int, stroke: Mapping[str, Any]) -> None:
        """A stroke by hand on the plate in hand. Raises StaleError, OptionError, Img2PlateError."""

        def wish(old: Settings, files: Files) -> Settings:
            facts = self.shown.facts(project_id, plate_key(old))
            if facts is None and TOUCHED not in old:
                raise Img2PlateError(NOT_MADE)
            # A stroke may follow before the plate with the last one is made.
            size = (facts["size"][0], facts["size"][1]) if facts else None
            return after_stroke(old, files, size, stroke)

        self.change(project_id, version, wish)

    def step(self, project_id: str, version: int, steps: int) -> None:
        """Undo (-1) or redo (1). Raises StaleError."""
        self._save(project_id, version, lambda project: project.moved(steps))

    def again(self, project_id: str, settings: Mapping[str, Any], *, yes: bool = False) -> None:
        """Make a plate that was stopped or failed; yes: however large it is."""
        project = self.projects.load(project_id)
        wanted = checked(settings, self.projects.files(project_id))
        self.jobs.forget(project_id, plate_key(wanted))
        self._want(project, wanted, IN_HAND, "make_plate_anyway" if yes else "make_plate")

    def so_far(self, project_id: str, key: str) -> bytes:
        """PNG of a plate that is searched for. Raises KeyError when there is none."""
        job = self.jobs.find(project_id, key)
        if job is None or not job.so_far:
            raise KeyError(key)
        return job.so_far

    def stop(self, project_id: str, keys: set[str] | None) -> None:
        """Stop making some plates, or all of a project."""
        self.jobs.stop(project_id, keys)

    def nobody_looks(self, project_id: str) -> None:
        """Leave what is not begun of a project."""
        self.jobs.drop_waiting(project_id)

    def remove(self, project_id: str) -> None:
        """Remove a project for good."""
        self.projects.home(project_id)
        self.jobs.drop_waiting(project_id)
        self.jobs.stop(project_id)
        self.projects.drop(project_id)

    def write_pack(self, project_id: str) -> None:
        """Write the pack of the plate in hand. Raises Img2PlateError when that is not made yet."""
        project = self.projects.load(project_id)
        key = key_of(project.settings)
        made = plate_key(project.settings)
        if not self.shown.facts(project_id, made):
            raise Img2PlateError(NOT_MADE)
        out, plate = self.projects.pack(project_id, key), self.projects.plate(project_id, made)
        self.jobs.forget(project_id, f"pack-{key}")
        arguments = (plate, project.settings, self.projects.files(project_id), out)
        self.jobs.start(Job(project_id, f"pack-{key}", "make_pack", arguments, order=IN_HAND))

    def pack_file(self, project_id: str, key: str, name: str) -> Path:
        """A file of a pack. Raises KeyError for what is none."""
        project, folder = self.projects.load(project_id), self.projects.pack(project_id, key)
        path = folder / f"{project.name}.zip"
        if name in PACK_FILES:
            path = folder / project.name / name
        elif name != path.name:
            raise KeyError(name)
        if not path.is_file():
            raise KeyError(name)
        return path

    def _save(self, project_id: str, version: int, change: Callable[[Project], Project]) -> None:
        """Change a project, unless somebody else did, and have its new plate made."""
        with self._saving:
            old = self.projects.load(project_id)
            if old.version != version:
                raise StaleError
            new = self.projects.save(change(old))
        self._leave(old, new)
        key = plate_key(new.settings)
        job = self.jobs.find(project_id, key)
        if job is not None and job.state not in OPEN:
            self.jobs.forget(project_id, key)
        self._want(new, new.settings, IN_HAND)
        self._tell(project_id, {"what": "saved", "version": new.version})
        if new.version % TIDY_EVERY:
            return
        # Plates that differ by strokes alone are many, and quickly made again.
        kept = (plate_key(step) for step in new.history if TOUCHED not in step)
        self.projects.tidy(new, {key, *kept})

    def _leave(self, old: Project, new: Project) -> None:
        """Stop making the plate that was in hand, unless it is a proof too."""
        if of_the_picture(old.settings) != of_the_picture(new.settings):
            self.jobs.drop_waiting(old.id)  # other proofs are begun when a page looks
        key = plate_key(old.settings)
        proofs = {plate_key(each) for each in self.shown.proposed(old)}
        if key != plate_key(new.settings) and key not in proofs:
            self.jobs.stop(old.id, {key})

    def _begin(self, project: Project) -> None:
        """Begin what a page of this project shows, unless it is begun."""
        base = of_the_picture(project.settings)
        self._want(project, first_look(base), FIRST)
        place = project.id, key_of(base)
        if place not in self.shown.proposals:
            keep = lambda found: self._keep_proofs(project, place, found)  # noqa: E731
            arguments = self.projects.source(project), base
            self.jobs.start(
                Job(project.id, self.shown.propose_key(project), "propose_plates", arguments,
                    order=PROPOSE, then=keep)
            )  # fmt: skip
        self._want(project, project.settings, IN_HAND)
        for number, settings in enumerate(self.shown.proposed(project)):
            self._want(project, settings, PROOFS + number)

    def _keep_proofs(self, project: Project, place: tuple[str, str], found: list[Settings]) -> None:
        """Note what is proposed, and have it made."""
        self.shown.proposals[place] = found
        for number, settings in enumerate(found):
            self._want(project, settings, PROOFS + number)

    def _want(
        self, project: Project, settings: Settings, order: int, task: str = "make_plate"
    ) -> None:
        """Have a plate made, unless it was, or was stopped, or failed."""
        settings = plate_only(settings)
        key = plate_key(settings)
        known = self.jobs.find(project.id, key)
        if self.shown.facts(project.id, key) or (known is not None and known.state not in OPEN):
            return
        source, folder = self.projects.source(project), self.projects.plate(project.id, key)
        is_made = self.shown.facts(project.id, plate_key(untouched(settings))) is not None
        lane = "long" if self._is_long(project, settings) and not is_made else "quick"
        arguments = (source, settings, self.projects.files(project.id), folder)
        self.jobs.start(Job(project.id, key, task, arguments, lane, order))

    def _is_long(self, project: Project, settings: Settings) -> bool:
        """Whether a plate is searched for."""
        shading = settings.get("shading", "auto")
        kind = self.shown.kind(project)
        flat = kind is not None and kind["name"] != Kind.PHOTO.name
        return shading == "search" or (shading == "auto" and not flat)

    def _changed(self, job: Job) -> None:
        """Tell the pages how far a job is."""
        if job.task in ASKED:
            return
        what = {"make_pack": "pack", "propose_plates": "proofs"}
        event = {
            "what": "plate" if job.makes_plate else what.get(job.task, job.task)
        } | job.as_json()
        if job.makes_plate and job.state == "done":
            event["facts"] = job.result
        self._tell(job.project, event)
