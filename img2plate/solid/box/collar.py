"""The collar of a fin: a plate on the face, two beads wide round the tab, under the shoulders."""

from __future__ import annotations

import numpy as np

from img2plate.colour.palette import Palette
from img2plate.plate.plate import EMPTY, Plate
from img2plate.solid.box.joins import as_seen
from img2plate.solid.box.standing import Standing
from img2plate.solid.piece import Piece

WIDE = 2
"""Beads of it on either side of the tab."""


def make_collar(fin: Standing, palette: Palette, thickness_mm: float) -> Piece:
    """The collar, coloured as the face below it unless a colour is given."""
    along = fin.line[1] - fin.line[0]
    across = np.ones(3, dtype=np.int64)
    across[fin.axis] = 0
    across -= np.abs(along)
    shoulders = np.flatnonzero(fin.cells[fin.out == 1 + fin.spec.collar][0] >= 0)
    first = min(int(fin.tab.min()) - WIDE, int(shoulders.min()))
    last = max(int(fin.tab.max()) + WIDE, int(shoulders.max()))
    columns = np.arange(first, last + 1)
    rows = np.arange(-WIDE, WIDE + 1)
    below = fin.line[0] + columns[None, :, None] * along + rows[:, None, None] * across
    cells = _colours(fin, below)
    cells[WIDE, np.isin(columns, fin.tab)] = EMPTY
    below[..., fin.axis] += fin.step
    face = fin.spec.host[1]
    places, seen = as_seen((below[..., 0], below[..., 1], below[..., 2]), cells, face)
    plate = Plate(seen, palette, f"{fin.spec.name} collar")
    return Piece("collar", fin.spec.name, "collar", plate, places, face, thickness_mm)


def _colours(fin: Standing, below: np.ndarray) -> np.ndarray:
    """(h, w) int16 palette indices, by the face's cells (h, w, 3) that it lies on."""
    if fin.spec.collar_colour is not None:
        return np.full(below.shape[:2], fin.spec.collar_colour, dtype=np.int16)
    inside = below - fin.part.spec.at  # a slot keeps two beads from the edge, so the collar fits
    colours = fin.part.beads[inside[..., 0], inside[..., 1], inside[..., 2]].copy()
    there = colours[colours >= 0]
    colours[colours < 0] = np.bincount(there).argmax()
    return np.asarray(colours, dtype=np.int16)
