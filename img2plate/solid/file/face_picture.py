"""A picture brought to the size of a face, or refused with what would do."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np

from img2plate.base.arrays import Cells
from img2plate.base.errors import Img2PlateError, without_marks
from img2plate.image.read import read_picture
from img2plate.image.sizing import Fit, SizeWish, frame
from img2plate.image.source_options import SOURCES, SourceOptions
from img2plate.image.target import Target, read_target, sprite_target
from img2plate.plate.shade.looks import BALANCED, LOOKS
from img2plate.plate.shade.shading import SHADINGS, ShadingOptions, shade
from img2plate.plate.shade.viewing import usual_viewing
from img2plate.solid.file.reader import Reader
from img2plate.solid.file.toml_table import Table

FITS: dict[str, Fit] = {"contain": "contain", "cover": "cover", "stretch": "stretch"}


@dataclass(frozen=True)
class PictureWish:
    """How a picture is laid on a face, and how its beads are chosen."""

    fit: Fit | None = None
    """None: it has to be of the face's shape already."""
    has_ground: bool = False
    """Whether cells that it leaves empty are filled."""
    source: str = "auto"
    shading: ShadingOptions = field(default_factory=ShadingOptions)


def picture_wish(table: Table) -> PictureWish:
    """Read `fit`, `source`, `shading` and `look` of a face's table, as `make` takes them."""
    fit = table.choice("fit", FITS, "")
    source = table.choice("source", SOURCES, "auto")
    shading = table.choice("shading", ("auto", *SHADINGS), "auto")
    look = table.choice("look", LOOKS, BALANCED)
    return PictureWish(
        FITS.get(fit), table.has_had("ground"), source, ShadingOptions(shading=shading, look=look)
    )


def face_picture(
    reader: Reader, table: Table, key: str, path: Path, size: tuple[int, int], wish: PictureWish
) -> Cells:
    """(h, w) cells of a picture on a face of a size in beads: a sprite by its pixels, else shaded.

    What was done to a picture of another size is told in the reader's remarks. Raises FigureError
    with the key for a picture that cannot be read, or is of another size without a `fit`.
    """
    try:
        target, remarks = _target(path, size, wish)
        viewing = replace(usual_viewing(target.grid, reader.palette), picture=target.fine)
        shaded = shade(target.grid, reader.palette, wish.shading, viewing)
    except Img2PlateError as error:
        raise table.error(key, without_marks(str(error))) from error
    if remarks:
        notes = "; ".join(without_marks(note) for note in (*remarks, *shaded.notes))
        reader.remarks.append(f"{table.where}, {path.name}: {notes}")
    return shaded.cells


def _target(path: Path, size: tuple[int, int], wish: PictureWish) -> tuple[Target, tuple[str, ...]]:
    """The grid of a picture on a face, and what was done to get there; nothing to tell is ()."""
    seen = read_picture(path)
    if _is_multiple(size, seen.size) and wish.source in ("auto", "sprite"):
        # One pixel a bead, or a square of them, even where a coarser grid would do.
        times = size[0] // seen.size[0]
        told = () if times == 1 else (f"each pixel on {times} x {times} beads",)
        return sprite_target(seen.pixels, SizeWish(*size), seen.name), told
    target = read_target(path, SizeWish(*size, wish.fit or "contain"), SourceOptions(wish.source))
    pixels = target.pixels.shape[1], target.pixels.shape[0]
    if target.told.kind.is_sprite and _is_multiple(size, pixels):
        return target, target.notes
    if wish.fit is None:
        if target.told.kind.is_sprite or frame(pixels, SizeWish(*size)).size != size:
            raise Img2PlateError(_wrong_size(path.name, pixels, size, target))
        target = read_target(path, SizeWish(*size, "stretch"), SourceOptions(wish.source))
    done = f"{pixels[0]} x {pixels[1]} pixels brought to {size[0]} x {size[1]} beads"
    empty = int(np.count_nonzero(~target.grid.filled))
    left = (
        (f"{empty} cells stay empty, `ground` would fill them",)
        if empty and not wish.has_ground
        else ()
    )
    return target, (done, *target.notes, *left)


def _is_multiple(size: tuple[int, int], of: tuple[int, int]) -> bool:
    """Whether a size is so many times another, both ways."""
    times = size[0] // of[0]
    return (of[0] * times, of[1] * times) == size


def _wrong_size(name: str, pixels: tuple[int, int], size: tuple[int, int], target: Target) -> str:
    """What the sizes are, and what can be said about it."""
    have, need = f"{pixels[0]} x {pixels[1]}", f"{size[0]} x {size[1]}"
    kind = "taken as a sprite of " if target.told.kind.is_sprite else ""
    shape = "" if target.told.kind.is_sprite else ", of another shape"
    return (
        f"{name} is {kind}{have} pixels{shape}, the face is {need} beads; draw it {need}, or say"
        f' how it is to fit: {{picture = "{name}", fit = "contain", ground = "CODE"}} (or fit ='
        ' "cover", "stretch"), with source = "photo" if its pixels are no beads'
    )
