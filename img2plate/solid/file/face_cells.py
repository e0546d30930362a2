"""The cells of one face: from a colour's code, a picture, or a plate made before."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Literal

import numpy as np

from img2plate.base.arrays import Cells
from img2plate.base.errors import Img2PlateError, without_marks
from img2plate.image.opened import SourceOptions
from img2plate.image.read import read_picture
from img2plate.image.sizing import SizeWish
from img2plate.image.target import read_target, sprite_target
from img2plate.plate.document import read_plate
from img2plate.plate.plate import EMPTY
from img2plate.plate.shade.shading import shade
from img2plate.plate.shade.viewing import usual_viewing
from img2plate.solid.file.reader import Reader
from img2plate.solid.file.toml_table import Table

if TYPE_CHECKING:
    Fit = Literal["cover", "contain", "stretch"]

FITS: tuple[Fit, ...] = ("contain", "cover", "stretch")
PICTURES = (".png", ".jpg", ".jpeg", ".gif", ".webp", ".bmp", ".tif", ".tiff")


def face_cells(reader: Reader, faces: Table, face: str, size: tuple[int, int]) -> Cells:
    """(h, w) cells for a face of a size (width, height) in beads.

    Raises FigureError with the key, PictureError or DocumentError for the file.
    """
    if faces.is_text(face):
        value = faces.text(face)
        if value.lower().endswith(PICTURES):
            return _picture(reader, faces, face, value, size, "contain", None)
        return np.full(size[::-1], reader.code(faces, face, value), dtype=np.int16)
    if not faces.is_table(face):
        raise faces.error(face, "is neither a picture, nor a colour's code, nor a table of them")
    table = faces.table(face)
    ground = reader.colour(table, "ground")
    fit = next(f for f in FITS if f == table.choice("fit", FITS, FITS[0]))
    picture, plate = table.text("picture", ""), table.text("plate", "")
    colour = reader.colour(table, "colour")
    if sum((bool(picture), bool(plate), colour is not None)) != 1:
        raise table.error("picture", "give one of picture, plate or colour")
    table.done()
    if picture:
        return _picture(reader, table, "picture", picture, size, fit, ground)
    if plate:
        return _on_ground(_plate(reader, table, plate, size), ground)
    return np.full(size[::-1], colour, dtype=np.int16)


def _picture(
    reader: Reader, table: Table, key: str, name: str, size: tuple[int, int], fit: Fit,
    ground: int | None,
) -> Cells:  # fmt: skip
    """A picture brought to the face's size: a sprite in whole multiples, a photo shaded."""
    try:
        path = reader.folder / name
        seen = read_picture(path)
        if seen.size == size:  # one pixel a bead, even where a coarser grid would do
            target = sprite_target(seen.pixels, None, seen.name)
        else:
            target = read_target(path, SizeWish(*size, fit), SourceOptions())
    except Img2PlateError as error:
        raise table.error(key, without_marks(str(error))) from error
    viewing = replace(usual_viewing(target.grid, reader.palette), picture=target.fine)
    shaded = shade(target.grid, reader.palette, viewing=viewing)
    return _on_ground(shaded.cells, ground)


def _plate(reader: Reader, table: Table, name: str, size: tuple[int, int]) -> Cells:
    """A plate document of the face's size, by the codes of its colours."""
    try:
        plate = read_plate(reader.folder / name)
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


def _on_ground(cells: Cells, ground: int | None) -> Cells:
    """Fill empty cells with a colour, when one is given."""
    return cells if ground is None else np.where(cells < 0, np.int16(ground), cells)
