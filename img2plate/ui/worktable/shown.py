"""What a page shows of projects: plates that are made, how far the others are, proofs, the pack."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

from img2plate.base.errors import Img2PlateError
from img2plate.base.files import pack_files
from img2plate.image.kind.kind import Kind
from img2plate.ui.worktable.estimate import Known
from img2plate.ui.worktable.store.projects import Project, Projects
from img2plate.ui.worktable.wishes.of_the_pack import pack_only, plate_key, with_pack_of
from img2plate.ui.worktable.wishes.proofs import first_look, words_for
from img2plate.ui.worktable.wishes.settings import (
    Settings,
    checked,
    command_line,
    error_words,
    key_of,
    of_the_picture,
)
from img2plate.ui.worktable.work.cut import counted_in, laid_in
from img2plate.ui.worktable.work.jobs import OPEN, Jobs
from img2plate.ui.worktable.work.kept import FACTS

NOT_MADE = "the plate is not made yet; wait a moment"


class Shown:
    """Reads what is there; begins nothing."""

    def __init__(self, projects: Projects, jobs: Jobs) -> None:
        self._projects, self._jobs = projects, jobs
        self.proposals: dict[tuple[str, str], list[Settings]] = {}
        """Settings of proofs by project and the key of what holds for the picture."""

    def listed(self) -> list[dict[str, Any]]:
        """Earlier projects, the newest first."""
        return [
            {"id": each.id, "name": each.name, "saved": each.saved, "key": self.made(each)}
            for each in self._projects.listed()
        ]

    def made(self, project: Project) -> str:
        """The key of the plate in hand, if it was made; else empty."""
        key = plate_key(project.settings)
        return key if self.facts(project.id, key) else ""

    def facts(self, project_id: str, key: str) -> dict[str, Any] | None:
        """Facts of a plate; None when it is not made yet."""
        path = self._projects.plate(project_id, key) / FACTS
        try:
            return dict(json.loads(path.read_text(encoding="utf-8")))
        except (OSError, ValueError):
            return None

    def known(self, project: Project) -> Known | None:
        """The plate that says most of what others of the picture would take; None before any."""
        for step in reversed(project.history[: project.at + 1]):
            for settings in (step, first_look(of_the_picture(step))):
                facts = self.facts(project.id, plate_key(settings))
                if facts and "laid" in facts:  # those of an older version do not have it
                    return Known(settings, facts)
        return None

    def state(self, project: Project) -> dict[str, Any]:
        """All that a page shows of a project."""
        settings = project.settings
        kind = self.kind(project)
        hand = self._card(project, settings, kind)
        return {
            "id": project.id,
            "name": project.name,
            "version": project.version,
            "settings": settings,
            "can_undo": project.at > 0,
            "can_redo": project.at < len(project.history) - 1,
            "command": command_line(project.file_name, settings),
            "kind": kind,
            "hand": hand,
            "proofs": self._cards(project, kind),
            "proposing": self._is_open(project.id, self.propose_key(project)),
            "pack": self._pack(project),
        }

    def kind(self, project: Project) -> dict[str, Any] | None:
        """What the picture was taken for; None when it is not known yet."""
        for settings in (project.settings, first_look(of_the_picture(project.settings))):
            if facts := self.facts(project.id, plate_key(settings)):
                return dict(facts["kind"])
        return None

    def proposed(self, project: Project) -> list[Settings]:
        """The proofs that are proposed, the quickest second."""
        base = of_the_picture(project.settings)
        found = self.proposals.get((project.id, key_of(base)), [])
        return [*found[:1], first_look(base), *found[1:]]

    def _cards(self, project: Project, kind: dict[str, Any] | None) -> list[dict[str, Any]]:
        """All proofs; of those that look alike the first."""
        cards, seen = [], set()
        for settings in self.proposed(project):
            card = self._card(project, settings, kind)
            alike = card["facts"]["digest"] if card["facts"] else card["key"]
            if alike not in seen:
                cards.append(card)
            seen.add(alike)
        return cards

    def _card(
        self, project: Project, settings: Settings, kind: dict[str, Any] | None
    ) -> dict[str, Any]:
        """A plate as a page shows it: what it is, and how far it is.

        A pack that a plate cannot have is told as what went wrong; the plate is shown all the same.
        """
        settings = with_pack_of(settings, project.settings)
        key = plate_key(settings)
        facts, job = self.facts(project.id, key), self._jobs.find(project.id, key)
        about: dict[str, Any] = {"key": key, "state": "stopped"}
        if facts:
            about["state"] = "done"
        elif job:
            about = job.as_json()
        if facts:
            try:
                facts = self.with_pack(project.id, facts, settings)
            except Img2PlateError as error:
                about |= {"state": "failed", "error": error_words(error)}
        words = words_for(settings, Kind[kind["name"]] if kind else None)
        return about | {"settings": settings, "words": words, "facts": facts}

    def with_pack(
        self, project_id: str, facts: dict[str, Any], settings: Settings
    ) -> dict[str, Any]:
        """Facts of a plate, with those of the pack that is asked for. Raises Img2PlateError."""
        found = {"work": facts["work"], "holds": facts["holds"]}
        if pack_only(settings):
            folder = self._projects.plate(project_id, plate_key(settings))
            found = counted_in(folder, settings, self._projects.files(project_id))
        return facts | found | {"notes": [*found["work"], *found["holds"], *facts["notes"]]}

    def laid(self, project_id: str, settings: Mapping[str, Any]) -> dict[str, Any]:
        """Where seams lie, for settings of a plate that is made. Raises Img2PlateError."""
        files = self._projects.files(project_id)
        wanted = checked(settings, files)
        key = plate_key(wanted)
        if not self.facts(project_id, key):
            raise Img2PlateError(NOT_MADE)
        return laid_in(self._projects.plate(project_id, key), wanted, files)

    def _pack(self, project: Project) -> dict[str, Any]:
        """The pack of the plate in hand: how far it is, and its files."""
        key = key_of(project.settings)
        job = self._jobs.find(project.id, f"pack-{key}")
        about = job.as_json() if job else {"state": "none"}
        folder = self._projects.pack(project.id, key)
        held = pack_files(template=bool(project.settings.get("template")))
        names = [f"{project.name}.zip", *sorted(held)]
        if about["state"] in ("none", "done"):  # what was made long ago may be tidied away
            is_there = (folder / names[0]).is_file()
            about = {"state": "done", "files": names} if is_there else {"state": "none"}
        return about | {"key": key}

    def propose_key(self, project: Project) -> str:
        """The job that proposes."""
        return f"propose-{key_of(of_the_picture(project.settings))}"

    def _is_open(self, project_id: str, key: str) -> bool:
        """Whether a job is on its way."""
        job = self._jobs.find(project_id, key)
        return job is not None and job.state in OPEN
