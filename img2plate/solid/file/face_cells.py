"""The cells of one face: from a colour's code, a picture, or a plate made before."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from img2plate.base.arrays import Cells
from img2plate.base.errors import FigureError, Img2PlateError, without_marks
from img2plate.plate.document import read_plate
from img2plate.plate.plate import EMPTY
from img2plate.solid.faces import FACES, Size, face_size
from img2plate.solid.file.face_picture import PictureWish, face_picture, picture_wish
from img2plate.solid.file.reader import Reader
from img2plate.solid.file.toml_table import Table

PICTURES = (".png", ".jpg", ".jpeg", ".gif", ".webp", ".bmp", ".tif", ".tiff")


SIDES = ("front", "right", "back", "left")
"""Once round a part."""


def all_faces(reader: Reader, faces: Table, size: Size) -> dict[str, Cells]:
    """The cells of all faces that are described, of a part of a size.

    `around` is one picture wrapped round the four sides from the front's left edge to the right,
    `sides` is one for each of them; a face that has its own keeps it. Raises as `face_cells`.
    """
    cells: dict[str, Cells] = {}
    for face in FACES:
        if faces.has(face):
            cells[face] = face_cells(reader, faces, face, face_size(face, size))
        elif face in SIDES and faces.has("sides"):
            again = faces.replaced(faces.values())
            cells[face] = face_cells(reader, again, "sides", face_size(face, size))
    if faces.has("sides"):
        faces.take("sides")
    if faces.has("around"):
        # Neighbours share the beads of their edge: one column of the picture for both.
        wide, deep, high = size
        whole = face_cells(reader, faces, "around", (2 * (wide + deep) - 4, high))
        starts = (0, wide - 1, wide + deep - 2, 2 * wide + deep - 3)
        ring = np.concatenate([whole, whole[:, :1]], axis=1)
        for face, start in zip(SIDES, starts, strict=True):
            cells.setdefault(face, ring[:, start : start + face_size(face, size)[0]])
    faces.done()
    return cells


def face_cells(reader: Reader, faces: Table, face: str, size: tuple[int, int]) -> Cells:
    """(h, w) cells for a face of a size (width, height) in beads.

    Raises FigureError with the key, PictureError or DocumentError for the file.
    """
    if faces.is_text(face):
        value = faces.text(face)
        if value.lower().endswith(PICTURES):
            path = _beside(reader, faces, face, value)
            return face_picture(reader, faces, face, path, size, PictureWish())
        return np.full(size[::-1], reader.code(faces, face, value), dtype=np.int16)
    if not faces.is_table(face):
        raise faces.error(face, "is neither a picture, nor a colour's code, nor a table of them")
    return _of_table(reader, faces.table(face), size)


def _of_table(reader: Reader, table: Table, size: tuple[int, int]) -> Cells:
    """(h, w) cells of a face that is described by a table."""
    ways = -1 if table.flag("mirror") else 1
    ground = reader.colour(table, "ground")
    wish = picture_wish(table)
    picture, plate = table.text("picture", ""), table.text("plate", "")
    colour = reader.colour(table, "colour")
    if sum((bool(picture), bool(plate), colour is not None)) != 1:
        raise table.error("picture", "give one of picture, plate or colour")
    table.done()
    if picture:
        path = _beside(reader, table, "picture", picture)
        drawn = face_picture(reader, table, "picture", path, size, wish)
        return _on_ground(drawn, ground)[:, ::ways]
    if plate:
        return _on_ground(_plate(reader, table, plate, size), ground)[:, ::ways]
    return np.full(size[::-1], colour, dtype=np.int16)


def _plate(reader: Reader, table: Table, name: str, size: tuple[int, int]) -> Cells:
    """A plate document of the face's size, by the codes of its colours."""
    try:
        plate = read_plate(_beside(reader, table, "plate", name))
    except FigureError:
        raise
    except Img2PlateError as error:
        raise table.error("plate", without_marks(str(error))) from error
    if plate.size != size:
        raise table.error(
            "plate", f"{name} is {plate.size[0]} x {plate.size[1]}, the face {size[0]} x {size[1]}"
        )
    change = np.full(len(plate.palette) + 1, EMPTY, dtype=np.int16)
    for index in np.flatnonzero(plate.counts()):
        change[index] = reader.code(table, "plate", plate.palette.beads[index].code)
    return np.asarray(change[plate.cells])


def _beside(reader: Reader, table: Table, key: str, name: str) -> Path:
    """Where a file is that a key names. Raises FigureError with the key."""
    try:
        return reader.beside(name)
    except Img2PlateError as error:
        raise table.error(key, str(error)) from None


def _on_ground(cells: Cells, ground: int | None) -> Cells:
    """Fill empty cells with a colour, when one is given."""
    return cells if ground is None else np.where(cells < 0, np.int16(ground), cells)
