"""Figures in a worker: what a page draws of one, its pictures, its pack.

A figure that was made is a folder that is whole: `figure/` with the description and its files,
what is drawn of it as JSON, the cells of its faces.
"""

from __future__ import annotations

import base64
import json
import re
import shutil
import tempfile
import tomllib
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from img2plate.base.archive import write_zip
from img2plate.base.arrays import Cells
from img2plate.base.errors import FigureError, Img2PlateError
from img2plate.base.lengths import find_paper
from img2plate.pipeline.figure import FigureOptions
from img2plate.pipeline.figure import run as write_figure
from img2plate.pipeline.options import Progress
from img2plate.solid.box.build import LOOSE_ROLES, Figure, build
from img2plate.solid.box.paint import paint
from img2plate.solid.faces import FACES, Size, face_places
from img2plate.solid.file.figure_file import in_colourway, read_figure
from img2plate.solid.file.places import Places
from img2plate.solid.file.reader import USUAL_PALETTE
from img2plate.solid.joints import Joint, find_joints
from img2plate.solid.piece import Piece
from img2plate.solid.spec import FigureSpec, PartSpec
from img2plate.typeset.figure.plate_list import fit_words, letter_of
from img2plate.typeset.figure.scene import Scene, apart, scenes
from img2plate.ui.worktable.wishes.figure import beside, lay_out
from img2plate.ui.worktable.wishes.files import Files, plain
from img2plate.ui.worktable.wishes.settings import Settings

FACTS, FACE_CELLS, SOURCE = "figure.json", "faces.npz", "figure"
PICTURES = ("assembled.png", "exploded.png")
MOST_BEADS, MOST_PLATES = 150_000, 400
"""What a page draws; more is for the command line."""
MOST_WORDS = 400
"""Letters of an error."""
FIT_STEP_MM = 0.1


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
    options = FigureOptions(
        out=out, colourway=str(step["colourway"]), paper=find_paper(str(step["paper"]))
    )
    with _plainly(path.parent):
        pack = write_figure(path, options, progress=tell, beside=partial(beside, path.parent))
    write_zip(out / f"{pack.folder.name}.zip", pack.files, pack.folder)
    return [file.relative_to(pack.folder).as_posix() for file in pack.files]


def facts_of(figure: Figure, tables: dict[str, int] | None = None) -> dict[str, Any]:
    """What a page shows of a figure: plain types; lengths in beads unless they say mm.

    tables: see `_tables_of`; None when no face can be touched up.
    """
    spec = figure.spec
    places = {piece.title: number for number, piece in enumerate(figure.pieces)}
    joints, shifts = find_joints(figure.pieces), apart(figure)
    used = np.flatnonzero(figure.counts())
    counts = figure.counts()
    return {
        "name": spec.name,
        "size": list(figure.size),
        "span": [side.tolist() for side in figure.span],
        "pitch_mm": spec.model.pitch_mm,
        "beads": figure.bead_count,
        "palette": spec.palette.name,
        "colours": [
            {"place": int(i), "code": spec.palette.beads[i].code, "hex": spec.palette.beads[i].hex,
             "name": spec.palette.beads[i].name, "beads": int(counts[i])}
            for i in used
        ],
        "colourways": list(spec.colourways),
        "loose": list(figure.loose_parts),
        "remarks": list(spec.remarks),
        "plates": [
            _plate(figure, number, joints, shifts[piece.title].tolist(), tables or {})
            for number, piece in enumerate(figure.pieces)
        ],
        "steps": [_step(scene, places) for scene in scenes(figure)],
        "fits": fits_of(figure),
        "thickness_mm": spec.thickness_mm,
    }  # fmt: skip


def fits_of(figure: Figure) -> list[dict[str, Any]]:
    """Of each thickness that plates can be pressed to: verdict, words, lids, holes left."""
    found = []
    model = figure.spec.model
    height = model.bead.height_mm
    tenths = np.arange(round(0.4 * height / FIT_STEP_MM), round(height / FIT_STEP_MM) + 1)
    every = {round(float(t) * FIT_STEP_MM, 2) for t in tenths} | {figure.spec.thickness_mm}
    for mm in sorted(every):
        spec = replace(figure.spec, thickness_mm=mm)
        lid = spec.lid_mm
        pieces = tuple(
            replace(piece, thickness_mm=lid if piece.role in LOOSE_ROLES else mm)
            for piece in figure.pieces
        )
        pressed = Figure(spec, pieces, figure.report)
        found.append({
            "mm": mm, "verdict": model.verdict(mm), "lid_mm": lid, "hole_mm": model.hole_mm(mm),
            "lid_hole_mm": model.hole_mm(lid), "words": fit_words(pressed),
        })  # fmt: skip
    return found


def _plate(
    figure: Figure,
    number: int,
    joints: tuple[Joint, ...],
    shift: list[int],
    tables: dict[str, int],
) -> dict[str, Any]:
    """A plate and its cells: that of a row and column lies at origin + column across + row down."""
    piece = figure.pieces[number]
    is_face = piece.role in ("wall", *LOOSE_ROLES) and piece.group in tables
    outward = [0, 0, 0]
    outward[piece.axis] = piece.outward
    return {
        "name": piece.title,
        "role": piece.role,
        "size": list(piece.plate.size),
        "beads": piece.plate.bead_count,
        "cells": base64.b64encode(piece.plate.cells.astype("<i2").tobytes()).decode(),
        "outward": outward,
        **_laid(piece),
        "is_lid": piece.role in LOOSE_ROLES,
        "apart": shift,
        "face": [tables[piece.group], piece.seen] if is_face else None,
        "meets": [
            {"letter": letter_of(joint), "plate": joint.sides[1 - side].piece,
             "at": [joint.sides[side].column, joint.sides[side].row]}
            for joint in joints for side in (0, 1) if joint.sides[side].piece == number
        ],
    }  # fmt: skip


def _laid(piece: Piece) -> dict[str, Any]:
    """Where the first cell lies, and how far it is to the next column and row."""
    places: NDArray[np.int64] = np.stack(piece.places, axis=-1)
    height, width = places.shape[:2]
    origin = places[0, 0]
    across = places[0, 1] - origin if width > 1 else np.zeros(3, np.int64)
    down = places[1, 0] - origin if height > 1 else np.zeros(3, np.int64)
    normal = np.zeros(3, np.int64)
    normal[piece.axis] = piece.outward
    if width == 1:  # a strip of one column: any way in its layer that is square to the other
        across = np.cross(down, normal)
    if height == 1:
        down = np.cross(normal, across)
    return {"origin": origin.tolist(), "across": across.tolist(), "down": down.tolist()}


def _step(scene: Scene, places: dict[str, int]) -> dict[str, Any]:
    """A step of putting it together."""
    return {
        "words": scene.words,
        "there": [places[piece.title] for piece in scene.there],
        "coming": [places[piece.title] for piece in scene.coming],
        "shift": None if scene.shift is None else scene.shift.tolist(),
    }


def _check_size(spec: FigureSpec) -> None:
    """Refuse what a page would take too long for."""
    beads = sum(_shell(part.size) for part in spec.parts)
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
    faces = part.faces | ({"top"} if part.lid == "slide" else set())
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
