"""Figures in a worker: what a page draws of one, its pictures, its pack.

A figure that was made is a folder that is whole: `figure/` with the description and its files,
what is drawn of it as JSON, the cells of its faces.
"""

from __future__ import annotations

import json
import re
import shutil
import tempfile
import tomllib
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np

from img2plate.base.archive import write_zip
from img2plate.base.arrays import Cells
from img2plate.base.errors import FigureError, Img2PlateError
from img2plate.base.lengths import find_paper
from img2plate.pipeline.described import keep_description
from img2plate.pipeline.figure import FigureOptions
from img2plate.pipeline.figure import run as write_figure
from img2plate.pipeline.figure_plates import FOLDER as PLATES
from img2plate.pipeline.figure_plates import write_plates
from img2plate.pipeline.options import PackOptions, Progress
from img2plate.solid.box.build import Figure, build
from img2plate.solid.box.paint import paint
from img2plate.solid.faces import FACES, Size, face_places
from img2plate.solid.file.colourway_table import in_colourway
from img2plate.solid.file.figure_file import read_figure
from img2plate.solid.file.places import Places
from img2plate.solid.file.reader import USUAL_PALETTE
from img2plate.solid.spec import FigureSpec, PartSpec
from img2plate.ui.worktable.wishes.figure import beside, lay_out
from img2plate.ui.worktable.wishes.files import Files, plain
from img2plate.ui.worktable.wishes.settings import Settings
from img2plate.ui.worktable.work.figure_facts import facts_of

FACTS, FACE_CELLS, SOURCE = "figure.json", "faces.npz", "figure"
PICTURES = ("assembled.png", "exploded.png")
MOST_BEADS, MOST_PLATES = 150_000, 400
"""What a page draws; more is for the command line."""
MOST_WORDS = 400
"""Letters of an error."""


def make_figure(step: Settings, files: Files, folder: Path, tell: Progress) -> dict[str, Any]:
    """Read, build and check a figure; write what is drawn of it to `folder`.

    Raises FigureError and other errors of one line, as `img2plate figure` does, with the line.
    """
    folder.parent.mkdir(parents=True, exist_ok=True)
    new = Path(tempfile.mkdtemp(prefix=".new-", dir=folder.parent))
    try:
        tell("reading", 0.0)
        path = lay_out(step, files, new / SOURCE)
        with _plainly(path.parent):
            spec = read_figure(path, beside=partial(beside, path.parent))
            _check_size(spec)
            tables = _tables_of(path, spec)
            _keep_faces(new / FACE_CELLS, spec, tables)
            way = str(step["colourway"])
            if way and way not in spec.colourways:
                raise FigureError(f"{path}: there is no colourway {way!r} any more; choose another")
            tell("joining plates", 0.2)
            figure = build(in_colourway(spec, way) if way else spec)
        tell("drawing", 0.6)
        facts = facts_of(figure, tables) | {"palette_file": _palette_in(path)}
        (new / FACTS).write_text(json.dumps(facts, ensure_ascii=False), encoding="utf-8")
        if not folder.exists():
            new.rename(folder)
    finally:
        shutil.rmtree(new, ignore_errors=True)
    return {"beads": facts["beads"], "plates": len(facts["plates"])}


def draw_figure(folder: Path, step: Settings, tell: Progress) -> None:
    """Draw the pack's pictures of a figure that was made, into its folder; `steps/N.png` too."""
    from img2plate.typeset.figure.drawings import draw_all

    drawn = draw_all(_built(folder, step, tell))
    new = Path(tempfile.mkdtemp(prefix=".new-", dir=folder))
    drawn.assembled.save(new / PICTURES[0])
    drawn.exploded.save(new / PICTURES[1])
    for number, picture in enumerate(drawn.steps, 1):
        picture.save(new / f"{number}.png")
    if (folder / "drawn").exists():
        shutil.rmtree(new, ignore_errors=True)
    else:
        new.rename(folder / "drawn")


def pack_figure(folder: Path, step: Settings, out: Path, tell: Progress) -> list[str]:
    """Write the pack that `img2plate figure` writes, and its zip; returns its files."""
    path = _source(folder, step)
    with _plainly(path.parent):
        pack = write_figure(
            path, _options(step, out), progress=tell, beside=partial(beside, path.parent)
        )
    write_zip(out / f"{pack.folder.name}.zip", pack.files, pack.folder)
    return [file.relative_to(pack.folder).as_posix() for file in pack.files]


def publishable(folder: Path, step: Settings, pack: Path) -> None:
    """Write what `publish` takes from a figure's pack: its description and its plates."""
    path, options = _source(folder, step), _options(step, pack.parent)
    look = partial(beside, path.parent)
    pack.mkdir()
    keep_description(pack, path, options, look)
    spec = read_figure(path, colourway=options.colourway, beside=look)
    write_plates(pack / PLATES, build(spec), options.pack)


def _options(step: Settings, out: Path) -> FigureOptions:
    """What `img2plate figure` is asked for."""
    pack = PackOptions(out=out, paper=find_paper(str(step["paper"])))
    return FigureOptions(colourway=str(step["colourway"]), pack=pack)


def _check_size(spec: FigureSpec) -> None:
    """Refuse what a page would take too long for."""
    beads = sum(_shell(part.size) for part in spec.parts)
    beads += sum(roof.cells.size * (1 + roof.pitched) for roof in spec.roofs)
    plates = sum(len(part.faces) + len(part.shelves) for part in spec.parts) + len(spec.joins)
    if beads > MOST_BEADS or plates > MOST_PLATES:
        raise FigureError(
            f"about {beads:,} beads on {plates:,} plates are more than this page draws"
            f" ({MOST_BEADS:,} on {MOST_PLATES}); `img2plate figure` makes them"
        )


def _shell(size: Size) -> int:
    width, depth, height = size
    return 2 * (width * depth + width * height + depth * height)


def _tables_of(path: Path, spec: FigureSpec) -> dict[str, int]:
    """The number of the `[[part]]` of each part whose faces can be touched up, by its name.

    Not of several that one table makes, nor of mirror images: a stroke on one would change others.
    """
    text = path.read_bytes().decode("utf-8-sig")
    tables, places = tomllib.loads(text)["part"], Places(text)
    made = Counter(part.line for part in spec.parts)
    lines = {
        places.line(("part", number)): number
        for number, table in enumerate(tables)
        if "mirror" not in table
    }
    return {
        part.name: lines[part.line]
        for part in spec.parts
        if made[part.line] == 1 and part.line in lines
    }


def _keep_faces(path: Path, spec: FigureSpec, tables: dict[str, int]) -> None:
    """Write the cells of faces, as the description has them, to be touched up by hand."""
    cells = {
        f"{tables[part.name]}.{face}": each
        for part in spec.parts
        if part.name in tables
        for face, each in _face_cells(part)
    }
    np.savez(path, allow_pickle=False, **cells)


def _face_cells(part: PartSpec) -> Iterator[tuple[str, Cells]]:
    """Faces and their cells, those that are not described as they are filled."""
    faces = part.faces | ({part.lid_on} if part.lid == "slide" else set())
    painted = paint(part, faces)
    for face in FACES:
        if face in faces:
            filled = painted[face_places(face, part.size)]
            yield face, part.cells.get(face, np.asarray(filled, np.int16))


def _palette_in(path: Path) -> str:
    """The palette's name in a description that was read."""
    figure = tomllib.loads(path.read_text(encoding="utf-8-sig")).get("figure", {})
    return str(figure.get("palette", USUAL_PALETTE))


def _source(folder: Path, step: Settings) -> Path:
    """The description in the folder of a figure that was made."""
    return folder / SOURCE / plain(str(step["text"]))


def _built(folder: Path, step: Settings, tell: Progress) -> Figure:
    """A figure that was made, once more."""
    path = _source(folder, step)
    tell("reading", 0.0)
    way = str(step["colourway"])
    spec = read_figure(path, colourway=way, beside=partial(beside, path.parent))
    tell("drawing", 0.3)
    return build(spec)


@contextmanager
def _plainly(folder: Path) -> Iterator[None]:
    """Errors inside are one line, not a long one, and call files by their names alone."""
    try:
        yield
    except Img2PlateError as error:
        words = re.sub(r"\s+", " ", str(error).replace(f"{folder}/", "").replace(str(folder), ""))
        if len(words) > MOST_WORDS:
            words = words[:MOST_WORDS] + " ..."
        plainly = type(error)(words)
        plainly.line = error.line
        raise plainly from None
