"""Plates of a figure as files of its pack: written, touched up by hand, laid on the figure again.

A plate's file is called by its number and name, as 03-hut-front.png. In a folder of touched plates
it may also be a pack of that name, as other commands write it: 03-hut-front/plate.png.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from img2plate.base.arrays import Cells
from img2plate.base.credit import Credit
from img2plate.base.errors import DocumentError, Img2PlateError, OptionError
from img2plate.base.files import bring_back as bring_back_own
from img2plate.base.near import did_you_mean
from img2plate.pipeline.laid import laid_as
from img2plate.pipeline.options import PackOptions
from img2plate.plate.document import read_plate, write_plate
from img2plate.plate.enlarged import cells_digest
from img2plate.plate.plate import Plate
from img2plate.solid.box.build import Figure
from img2plate.solid.piece import Piece
from img2plate.solid.touched import touch_up

FOLDER, PICTURE = "plates", ".png"
DESCRIBED = "described"
"""In what a plate says of how it was made: the digest of the cells that the description gave it."""
_MOST_LETTERS = 60
"""Of a file's name; a letter takes up to 4 bytes, a name 255."""


def plate_names(pieces: Sequence[Piece]) -> list[str]:
    """What the plates' files are called, without their ending."""
    named = (f"{number:02d} {piece.title}" for number, piece in enumerate(pieces, 1))
    return [re.sub(r"[^\w-]+", "-", name)[:_MOST_LETTERS].strip("-") for name in named]


def write_plates(folder: Path, figure: Figure, options: PackOptions) -> None:
    """Write all plates, each with whose it is and how it is laid out, to a folder that is made."""
    folder.mkdir()
    for name, piece in zip(plate_names(figure.pieces), figure.pieces, strict=True):
        laid = laid_as(replace(options, thickness_mm=min(max(piece.thickness_mm, 0.5), 20.0)))
        described = {DESCRIBED: cells_digest(piece.plate.cells)}
        made = {**described, **piece.plate.made, "figure": figure.spec.name}
        credit = figure.spec.credit
        if credit.title:
            credit = Credit(f"{credit.title}: {piece.title}", credit.author, credit.licence)
        plate = replace(piece.plate, credit=credit.cleaned(), made=made, laid=laid)
        write_plate(folder / f"{name}{PICTURE}", plate)


@dataclass(frozen=True)
class Found:
    """Files of a folder that are plates of a figure, by their numbers from 0, and others."""

    plates: dict[int, Path]
    pictures: tuple[Path, ...]
    """Pictures, or packs, that are called as no plate."""
    others: tuple[Path, ...]


def find_plates(folder: Path, pieces: Sequence[Piece]) -> Found:
    """Look through a folder of plates, or the pack that it is of.

    Raises OptionError when it is none, DocumentError when two files are the same plate.
    """
    folder = folder / FOLDER if (folder / FOLDER).is_dir() else folder
    if not folder.is_dir():
        raise OptionError("is no folder of plates", field="plates", value=str(folder))
    numbers = {_plain(name): number for number, name in enumerate(plate_names(pieces))}
    plates: dict[int, Path] = {}
    pictures, others = list[Path](), list[Path]()
    for name, path, is_picture in _entries(folder):
        number = numbers.get(_plain(name)) if is_picture else None
        if number is None:
            (pictures if is_picture else others).append(path)
        elif number in plates:
            raise DocumentError(f"{plates[number]} and {path} are the same plate; keep one of them")
        else:
            plates[number] = path
    return Found(plates, tuple(pictures), tuple(others))


def _entries(folder: Path) -> Iterator[tuple[str, Path, bool]]:
    """Name, file, and whether it is a picture, of all that is not hidden; of packs their plate."""
    try:
        entries = sorted(folder.iterdir())
    except OSError as error:
        raise OptionError("cannot be read", field="plates", value=str(folder),
                          remedy=error.strerror or "") from error  # fmt: skip
    for entry in entries:
        if entry.name.startswith("."):
            continue
        if (entry / "plate.png").is_file():
            yield entry.name, entry / "plate.png", True
        else:
            yield entry.stem, entry, entry.is_file() and entry.suffix.lower() == PICTURE


def _plain(name: str) -> str:
    """A file's name as all disks have it: some take letters apart, or mind no capitals."""
    return unicodedata.normalize("NFC", name).casefold()


def lay_on(figure: Figure, folder: Path) -> tuple[Figure, tuple[str, ...]]:
    """A figure with the plates of a folder, and notes; plates that it does not hold stay.

    Raises OptionError, DocumentError, and FigureError when a plate breaks a joint.
    """
    found = find_plates(folder, figure.pieces)
    strangers = [path for path in found.pictures if not _is_as_written(path, figure.spec.name)]
    if strangers:
        stranger = strangers[0]
        name = stranger.parent.name if stranger.name == "plate.png" else stranger.stem
        near = did_you_mean(name, plate_names(figure.pieces))
        raise DocumentError(
            f"{stranger} is called as no plate of {figure.spec.name}",
            remedy=near or "name plates as in its pack, and keep other pictures elsewhere",
        )
    if not found.plates:
        raise OptionError("holds no plate", field="plates", value=str(folder),
                          remedy=f"plates are called {plate_names(figure.pieces)[0]}{PICTURE}, ...",
                         )  # fmt: skip
    done, touched = with_plates(figure, found)
    names = ", ".join(str(number + 1) for number in touched)
    plates = f"plate{'s' if len(touched) > 1 else ''} {names}"
    notes = [f"touched up: {plates}" if touched else f"{folder}: all plates are as described"]
    notes += [f"{path} is no plate, and is passed over" for path in found.others]
    notes += [
        f"plate {number + 1} was touched up before its description changed, and is laid on so"
        for number in touched
        if _described(found.plates[number]) not in ("", _digest(figure, number))
    ]
    return done, tuple(notes)


def with_plates(figure: Figure, found: Found) -> tuple[Figure, tuple[int, ...]]:
    """A figure with plates that were found, and the numbers from 0 of those that are otherwise.

    A plate that a pack was written with, and nobody touched since, is as described now.
    Raises DocumentError, and FigureError when a plate breaks a joint.
    """
    cells = {
        number: _cells(path, number, figure.pieces[number])
        for number, path in sorted(found.plates.items())
        if not _is_as_written(path, figure.spec.name, figure.pieces[number].title)
    }
    cells = {n: c for n, c in cells.items() if (c != figure.pieces[n].plate.cells).any()}
    done = touch_up(figure, cells) if cells else figure
    pieces = list(done.pieces)
    for number in cells:
        plate = pieces[number].plate
        marked = replace(plate, made={**plate.made, DESCRIBED: _digest(figure, number)})
        pieces[number] = replace(pieces[number], plate=marked)
    return replace(done, pieces=tuple(pieces)), tuple(cells)


def _digest(figure: Figure, number: int) -> str:
    return cells_digest(figure.pieces[number].plate.cells)


def _described(path: Path) -> str:
    """Digest of the cells that a plate's file says it was given; empty when it says nothing."""
    try:
        return str(read_plate(path).made.get(DESCRIBED, ""))
    except Img2PlateError:
        return ""


def _is_as_written(path: Path, figure: str = "", title: str = "") -> bool:
    """Whether a plate's file is as a description gave it; of that figure and plate, if named."""
    try:
        plate = read_plate(path)
    except Img2PlateError:  # an editor's, or no plate at all
        return False
    is_its = figure in ("", plate.made.get("figure")) and title in ("", plate.name)
    return is_its and plate.made.get(DESCRIBED) == cells_digest(plate.cells)


def _cells(path: Path, number: int, piece: Piece) -> Cells:
    """(h, w) cells of a plate's file; where a cell looks as described it is as described."""
    plate = read_plate(path, piece.plate.palette)
    if plate.size != piece.plate.size:
        (wide, high), (width, height) = plate.size, piece.plate.size
        raise DocumentError(
            f"{path} is {wide} x {high} beads, plate {number + 1}, {piece.title}, is {width} x"
            f" {height}; keep its size"
        )
    # Two beads of a palette may have one colour: a pixel editor cannot tell them apart.
    looks = np.array([*(bead.srgb for bead in plate.palette.beads), (-1, -1, -1)])
    same = (looks[plate.cells] == looks[piece.plate.cells]).all(axis=-1)
    return np.where(same, piece.plate.cells, plate.cells).astype(np.int16)


def keep_touched(old: Path, new: Path, figure: Figure) -> tuple[str, ...]:
    """Keep what was touched up in the plates of an older pack and is not in the new one's.

    A run must not lose that work. Returns notes.
    """
    if not (old / FOLDER).is_dir():
        return ()
    plates = dict(zip(map(_plain, plate_names(figure.pieces)), figure.pieces, strict=True))
    found = [
        path
        for name, path, is_picture in _entries(old / FOLDER)
        if is_picture and path.parent == old / FOLDER
        and _is_other_work(path, plates.get(_plain(name)))
    ]  # fmt: skip
    if not found:
        return ()
    number = 1
    while (kept := f"{FOLDER}-touched-{number}") and (old / kept).exists():
        number += 1
    (new / kept).mkdir()
    for path in found:
        (new / kept / path.name).write_bytes(path.read_bytes())
    return (f"plates that were touched up are kept in {kept}; `plates` lays them on",)


def _is_other_work(path: Path, piece: Piece | None) -> bool:
    """Whether a plate's file holds cells that no description has, and the new plate neither."""
    return not _is_as_written(path) and not (piece and _shows(path, piece.plate))


def _shows(path: Path, plate: Plate) -> bool:
    """Whether a file shows the cells of a plate, in its palette."""
    try:
        return np.array_equal(read_plate(path, plate.palette).cells, plate.cells)
    except Img2PlateError:
        return False


def bring_back(old: Path, target: Path) -> None:
    """Put the user's own files of a replaced pack into the new one, those among its plates too."""
    stood = target.exists()
    bring_back_own(old, target)
    if not stood or not (old / FOLDER).is_dir():
        return
    for entry in (old / FOLDER).iterdir():
        is_plate = entry.is_file() and entry.suffix.lower() == PICTURE
        if not is_plate and not (target / FOLDER / entry.name).exists():
            entry.rename(target / FOLDER / entry.name)
