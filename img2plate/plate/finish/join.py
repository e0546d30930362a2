"""Beads that make one piece of a plate that comes in several."""

from __future__ import annotations

from dataclasses import replace
from typing import NamedTuple

import numpy as np

from img2plate.base.arrays import Cells, Mask
from img2plate.base.errors import OptionError
from img2plate.colour.palette import Palette
from img2plate.plate.finish.edge import outlined
from img2plate.plate.plate import Plate
from img2plate.plate.strength.bridges import find_bridges
from img2plate.plate.strength.strength import pieces_of

WAYS = ("outline", "backing", "bridges")
_CLEAR = ("clear", "transparent", "translucent")
"""Finishes of beads that one sees through."""


class Joined(NamedTuple):
    """A plate in one piece, and what was done."""

    plate: Plate
    note: str


def parse_join(text: str) -> tuple[str, str]:
    """Read `WAY[:CODE]`. Raises OptionError."""
    way, _, code = text.partition(":")
    if way not in WAYS or text.endswith(":"):
        raise OptionError(
            f"is none of {', '.join(WAYS)}, or one of them with a colour, as in bridges:CODE",
            field="join",
            value=text,
        )
    return way, code


def join(plate: Plate, way: str, code: str) -> Joined:
    """Join all pieces: `way` is one of `WAYS`, `code` the colour, empty for the way's usual one.

    Bridges take the colour of the bead that is nearest; an outline the darkest of the palette; a
    backing the first see-through bead. Raises OptionError for a palette without one.
    """
    bead = colour_of(plate.palette, way, code)
    _, before = pieces_of(plate.filled)
    if before < 2:
        return Joined(plate, "nothing to join: it is one piece")
    cells, added = plate.cells, 0
    if way == "outline":
        cells = outlined(cells, bead, 1)
    elif way == "backing":
        cells = _backed(cells, bead)
    added = int(np.count_nonzero(cells >= 0)) - plate.bead_count
    bridges = find_bridges(cells >= 0)
    cells = _laid(cells, bridges.cells, bead)
    many = int(bridges.cells.sum())
    said = {"outline": f"an outline of {added:,} beads", "backing": f"a backing of {added:,} beads"}
    parts = [said[way]] if added else []
    if many:
        parts.append(_bridges(many, bridges.least))
    return Joined(replace(plate, cells=cells), f"{before} pieces joined by {' and '.join(parts)}")


def colour_of(palette: Palette, way: str, code: str) -> int:
    """Palette index of what is added, -1 for the colour of the nearest bead."""
    if code:
        return palette.index(code, "join")
    if way == "bridges":
        return -1
    if way == "outline":
        return int(np.asarray(palette.lab)[:, 0].argmin())
    clear = [place for place, bead in enumerate(palette.beads) if bead.finish in _CLEAR]
    if not clear:
        raise OptionError(
            f"palette {palette.name} has no clear bead for a backing",
            field="join",
            remedy="name a colour, as in backing:CODE",
        )
    return clear[0]


def nearest_beads(cells: Cells) -> Cells:
    """(h, w) int16: of each cell the palette index of the bead that is nearest to it."""
    from scipy import ndimage

    _, at = ndimage.distance_transform_edt(cells < 0, return_indices=True)
    return np.asarray(cells[tuple(at)], np.int16)


def _backed(cells: Cells, bead: int) -> Cells:
    """All empty cells of the convex hull of the beads filled."""
    from skimage.morphology import convex_hull_image

    found = cells.copy()
    found[convex_hull_image(cells >= 0) & (cells < 0)] = bead
    return found


def _laid(cells: Cells, where: Mask, bead: int) -> Cells:
    """Beads laid on empty cells; -1 for the colour of the nearest each."""
    return np.where(where, nearest_beads(cells) if bead < 0 else np.int16(bead), cells)


def _bridges(many: int, least: int) -> str:
    """How many beads the bridges take, and how few any would."""
    beads = "1 bead" if many == 1 else f"{many:,} beads"
    known = "no fewer would do" if many == least else f"no fewer than {least:,} could do"
    return f"bridges of {beads} ({known})"
