"""Faces of figures under one's hands: their cells, and strokes on them."""

from __future__ import annotations

import json
import tempfile
import tomllib
from pathlib import Path
from typing import Any

import numpy as np

from img2plate.base.arrays import Cells
from img2plate.colour.palette_file import bundled_names, find_palette
from img2plate.plate.document import write_plate
from img2plate.plate.plate import Plate
from img2plate.solid.file.edit import with_value
from img2plate.ui.worktable.figures import Figures
from img2plate.ui.worktable.store.projects import NotMadeError, Project
from img2plate.ui.worktable.wishes.figure import (
    keep_text,
    made_key,
    text_of,
    with_file,
    words_of,
)
from img2plate.ui.worktable.wishes.files import plain, safe_name
from img2plate.ui.worktable.wishes.settings import Settings
from img2plate.ui.worktable.wishes.touched import Touched
from img2plate.ui.worktable.work.figures import FACE_CELLS, FACTS, SOURCE


class FigureFaces:
    """The faces of all figures. Methods may be called from any thread."""

    def __init__(self, figures: Figures) -> None:
        self._figures = figures
        self._hands: dict[tuple[str, str], Cells] = {}
        """Cells of faces by project and the word of their plate: they may not be built yet."""

    def face(self, project_id: str, part: int, face: str) -> tuple[str, Plate]:
        """Key and plate of a face, as the newest description has it.

        Raises NotMadeError when that is not built yet, KeyError when there is no such face.
        """
        project = self._figures.projects.load(project_id)
        key = made_key(project.settings)
        if not (self._figures.built.folder(project_id, key) / FACTS).is_file():
            raise NotMadeError(key)
        return key, self._face_in(project, key, part, face)

    def touch(
        self, project_id: str, version: int, part: int, face: str, stroke: dict[str, Any]
    ) -> None:
        """A stroke by hand on a face: it becomes a plate of the project, named in the description.

        Raises StaleError, OptionError, FigureError, NotMadeError, KeyError.
        """
        files = self._figures.projects.files(project_id)

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

        self._figures.save(project_id, version, changed)

    def _face_now(self, project: Project, part: int, face: str, word: str) -> Plate:
        """The face that a stroke goes on, also while the stroke before is being built."""
        key = made_key(project.settings)
        if (self._figures.built.folder(project.id, key) / FACTS).is_file():
            return self._face_in(project, key, part, face)
        cells = self._hands.get((project.id, word))
        drawn = self._figures.built.drawn(project)
        if cells is None or not drawn:
            raise NotMadeError(key)
        return Plate(cells, self._face_in(project, drawn, part, face).palette)

    def _face_in(self, project: Project, key: str, part: int, face: str) -> Plate:
        """A face of a figure that is built."""
        folder = self._figures.built.folder(project.id, key)
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
