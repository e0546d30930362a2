"""The plate document: an indexed PNG, one pixel per bead, that any pixel editor can touch up.

The palette's codes and how the plate was made lie beside the pixels as JSON in an iTXt chunk (W3C
PNG, ISO/IEC 15948), with how its pack was laid out. Title, author and licence lie in another, as
XMP, where other programs find them. With our chunk, reading back is exact. When an editor drops the
chunk or the index, colours are matched to the palette; a colour that is not in it is refused, with
its cell.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from img2plate.base.arrays import Cells, Pixels
from img2plate.base.bead import BeadSize
from img2plate.base.credit import Credit
from img2plate.base.errors import DocumentError, PictureError
from img2plate.colour.palette import Bead, Palette
from img2plate.colour.spaces import hex2srgb, srgb2hex
from img2plate.image import xmp
from img2plate.image.png import Png, read_png, write_indexed_png
from img2plate.plate.enlarged import cells_digest, one_pixel_a_bead
from img2plate.plate.plate import EMPTY, Plate

KEYWORD = "img2plate"
VERSION = 1
MOST_COLOURS = 255
"""An indexed PNG has 256 entries (ISO/IEC 15948, PLTE), and one stands for 'no bead'."""


def write_plate(path: Path, plate: Plate) -> None:
    """Write a plate document.

    Raises DocumentError when the plate uses over 255 colours.
    """
    entries = _entries(plate)
    place = np.full(len(plate.palette) + 1, len(entries), dtype=np.uint8)
    place[entries] = np.arange(len(entries))
    # The last place is reached by index -1: an empty cell.
    colours = [plate.palette.beads[entry].srgb for entry in entries]
    write_indexed_png(
        path,
        place[plate.cells],
        [*colours, (0, 0, 0)],
        clear=len(entries),
        texts={KEYWORD: json.dumps(_describe(plate, entries), ensure_ascii=False)},
        plain_texts={xmp.KEYWORD: xmp.write_xmp(plate.credit)} if any(plate.credit.words) else {},
    )


def _entries(plate: Plate) -> list[int]:
    """Palette indices in the PNG's order: the whole palette when it fits, else what is used."""
    if len(plate.palette) <= MOST_COLOURS:
        return list(range(len(plate.palette)))
    used = [int(index) for index in np.flatnonzero(plate.counts())]
    if len(used) > MOST_COLOURS:
        raise DocumentError(
            f"the plate uses {len(used)} colours, a plate document holds {MOST_COLOURS};"
            " choose a smaller `palette`"
        )
    return used


def _describe(plate: Plate, entries: list[int]) -> dict[str, Any]:
    """Put all that the pixels do not say into plain JSON types."""
    palette, size = plate.palette, plate.palette.bead_size
    return {
        "version": VERSION,
        "name": plate.name,
        "palette": {
            "name": palette.name,
            "note": palette.note,
            "pitch_mm": palette.pitch_mm,
            "bead_mm": [size.outer_mm, size.hole_mm, size.height_mm],
            "beads": [_row(bead) for bead in palette.beads],
        },
        "entries": entries,
        "made": dict(plate.made),
        **({"laid": dict(plate.laid)} if plate.laid else {}),
        "cells": cells_digest(plate.cells),
        "size": list(plate.size),
    }


def _row(bead: Bead) -> list[str]:
    """One colour; companions only where the palette names its own."""
    own = [bead.lighter, bead.darker] if bead.lighter or bead.darker else []
    return [bead.code, bead.name, srgb2hex(bead.srgb), bead.finish, *own]


def read_plate(path: Path, palette: Palette | None = None) -> Plate:
    """Read a plate document, touched up or not.

    A palette that is given takes the place of the one in the document. Raises PictureError when
    the file cannot be read, DocumentError when there is no palette, or a pixel is not in it.
    """
    return _plate(path, read_png(path), palette)


def holds_other_work(path: Path, plate: Plate) -> bool:
    """Whether a plate document holds what no run wrote, and what is not the plate itself.

    What cannot be read as a document was not written by a run.
    """
    try:
        png = read_png(path)
    except PictureError:
        return path.is_file()
    return _is_touched(path, png) and not _shows(path, png, plate)


def _plate(path: Path, png: Png, palette: Palette | None) -> Plate:
    """The plate that a PNG stands for; a palette that is given takes the place of its own."""
    about = _about(path, png)
    if palette is None and about is None:
        raise DocumentError(f"{path} does not say which palette it is in; name its `palette`")
    entries: list[int] = []
    if palette is None and about is not None:
        palette, entries = _palette_of(path, about), about["entries"]
    assert palette is not None
    cells = one_pixel_a_bead(path, _cells(path, png, palette, entries), about)
    if not (cells >= 0).any():
        raise DocumentError(f"{path} has no bead in it; every pixel is see-through")
    about = about or {}
    name, made, laid = about.get("name", path.stem), about.get("made", {}), about.get("laid", {})
    credit = _credit(path, png)
    return Plate(cells, palette, str(name), _mapping(path, made), credit, _mapping(path, laid))


def _mapping(path: Path, value: Any) -> dict[str, Any]:
    """A part of our chunk that has names and values."""
    if not isinstance(value, dict):
        raise _damaged(path, KEYWORD)
    return dict(value)


def _credit(path: Path, png: Png) -> Credit:
    """What the XMP chunk says; nothing when there is none."""
    try:
        return xmp.read_xmp(png.texts[xmp.KEYWORD]) if xmp.KEYWORD in png.texts else Credit()
    except ValueError:
        raise _damaged(path, "XMP") from None


def _damaged(path: Path, what: str) -> DocumentError:
    """The error for a note beside the pixels that cannot be read."""
    return DocumentError(
        f"{path}: its {what} note is damaged",
        remedy="save it without metadata, and name its `palette`",
    )


def _is_touched(path: Path, png: Png) -> bool:
    """Whether somebody changed a document after it was written."""
    try:
        cells, about = _plate(path, png, None).cells, _about(path, png)
    except DocumentError:
        return True
    return about is None or about.get("cells") != cells_digest(cells)


def _shows(path: Path, png: Png, plate: Plate) -> bool:
    """Whether a document has the cells of a plate, in its palette."""
    try:
        return np.array_equal(_plate(path, png, plate.palette).cells, plate.cells)
    except DocumentError:
        return False


def _about(path: Path, png: Png) -> dict[str, Any] | None:
    """Decode our chunk; None when there is none."""
    if KEYWORD not in png.texts:
        return None
    try:
        about = json.loads(png.texts[KEYWORD])
        version = int(about["version"])
    except (ValueError, KeyError, TypeError):
        raise _damaged(path, KEYWORD) from None
    if version > VERSION:
        raise DocumentError(f"{path} was written by a newer version; update img2plate to read it")
    return dict(about)


def _palette_of(path: Path, about: dict[str, Any]) -> Palette:
    """Build the palette that our chunk describes."""
    try:
        facts = about["palette"]
        beads = tuple(
            Bead(str(code), str(name), hex2srgb(colour), str(finish), *map(str, own))
            for code, name, colour, finish, *own in facts["beads"]
        )
        size = BeadSize(*(float(mm) for mm in facts["bead_mm"]))
        palette = Palette(facts["name"], beads, float(facts["pitch_mm"]), size, facts["note"])
        about["entries"] = [int(entry) for entry in about["entries"]]
        if not all(0 <= entry < len(beads) for entry in about["entries"]):
            raise ValueError("entry")
    except (ValueError, KeyError, TypeError):
        raise _damaged(path, KEYWORD) from None
    return palette


def _cells(path: Path, png: Png, palette: Palette, entries: list[int]) -> Cells:
    """Turn pixels into palette indices, by PNG index where it is ours, else by colour."""
    if png.indices is None:
        return _match_pixels(path, png.pixels, palette)
    table = np.full(256, -2, dtype=np.int16)
    for place, colour in enumerate(png.colours):
        rgb = (int(colour[0]), int(colour[1]), int(colour[2]))
        if colour[3] == 0:
            table[place] = EMPTY
        elif place < len(entries) and palette.beads[entries[place]].srgb == rgb:
            table[place] = entries[place]
        elif colour[3] == 255:
            table[place] = palette.by_srgb.get(rgb, -2)
    cells = table[png.indices]
    _refuse_strange(path, cells, png.pixels, palette)
    return cells


def _match_pixels(path: Path, pixels: Pixels, palette: Palette) -> Cells:
    """Look each distinct colour up in the palette."""
    packed = np.ascontiguousarray(pixels).view(np.uint32)[..., 0]
    distinct, where = np.unique(packed, return_inverse=True)
    colours = distinct.view(np.uint8).reshape(-1, 4)
    found = [_lookup(colour, palette) for colour in colours]
    cells = np.array(found, dtype=np.int16)[where].reshape(packed.shape)
    _refuse_strange(path, cells, pixels, palette)
    return cells


def _lookup(colour: NDArray[np.uint8], palette: Palette) -> int:
    """Palette index of one RGBA colour: -1 see-through, -2 not in the palette."""
    red, green, blue, alpha = (int(channel) for channel in colour)
    if alpha == 0:
        return EMPTY
    return palette.by_srgb.get((red, green, blue), -2) if alpha == 255 else -2


def _refuse_strange(path: Path, cells: Cells, pixels: Pixels, palette: Palette) -> None:
    """Raise DocumentError for the first pixel whose colour is not in the palette."""
    strange = np.argwhere(cells == -2)
    if not len(strange):
        return
    y, x = (int(number) for number in strange[0])
    red, green, blue, alpha = (int(channel) for channel in pixels[y, x])
    colour = srgb2hex((red, green, blue)) + ("" if alpha == 255 else f" at opacity {alpha}/255")
    more = f" ({len(strange)} such cells)" if len(strange) > 1 else ""
    raise DocumentError(
        f"{path}: column {x + 1}, row {y + 1} is {colour}, which palette {palette.name} does not"
        f" have{more}; paint it in a palette colour, or name another `palette`"
    )
