"""One [[fin]] of a figure's file: a flat plate that stands out of a face."""

from __future__ import annotations

from collections.abc import Collection, Sequence

from img2plate.base.errors import Img2PlateError, without_marks
from img2plate.image.read import read_picture
from img2plate.solid.faces import FACES
from img2plate.solid.file.face_picture import PictureWish, face_picture
from img2plate.solid.file.reader import Reader
from img2plate.solid.file.toml_table import Table
from img2plate.solid.spec import MOST, FinSpec, PartSpec


def read_fin(
    reader: Reader, table: Table, parts: Sequence[PartSpec], taken: Collection[str]
) -> FinSpec:
    """Read a fin; its picture has a pixel for each bead. Raises FigureError with the key."""
    name = reader.name(table)
    if name in taken:
        raise table.error("name", f"{name!r} is taken by another part, join or fin")
    on = table.text("on")
    host, _, face = on.rpartition(".")
    if host not in {part.name for part in parts} or face not in FACES:
        raise table.error("on", f'{on!r} is not a face of a part, as "body.top"')
    picture = table.text("picture")
    try:
        path = reader.beside(picture)
        size = read_picture(path).size
    except Img2PlateError as error:
        raise table.error("picture", without_marks(str(error))) from error
    if max(size) > MOST:
        raise table.error("picture", f"{picture} is {size[0]} x {size[1]}: a pixel is a bead here,"
                          f" and {MOST} are the most")  # fmt: skip
    cells = face_picture(reader, table, "picture", path, size, PictureWish())
    rows, columns = (cells >= 0).nonzero()
    cells = cells[rows.min() : rows.max() + 1, columns.min() : columns.max() + 1]
    at = table.wholes("at", 2, 1, MOST)
    if at is None:
        raise table.error("at", "is missing: column and row on the face, from 1, of its first bead")
    fin = FinSpec(
        name, (host, face), cells, (at[0] - 1, at[1] - 1), table.flag("upright"),
        table.whole("depth", 1, 1, MOST), table.flag("leans"),
        table.whole("tabs", 1, 1, 10), table.line(),
    )  # fmt: skip
    table.done()
    return fin
