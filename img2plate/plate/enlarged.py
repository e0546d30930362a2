"""A plate document that somebody saved enlarged: each bead would count many times.

How many pixels a bead has, the colour changes tell: all of them lie on one raster. A plate may be
drawn on such a raster itself, as a sprite at twice its size is; what the document says of its own
cells decides then, and where it says nothing, only a coarse raster is taken for an enlargement.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np

from img2plate.base.arrays import Cells
from img2plate.base.errors import DocumentError

PLAINLY_ENLARGED = 4
"""Pixels a bead that no plate has by chance or by choice: sprites are made two or three times
their size."""
LEAST_EDGES = 8
"""Lines with a colour change that hardly share a raster by chance."""


def cells_digest(cells: Cells) -> str:
    """Return a short digest of size and cells; tells whether a document was touched up."""
    data = np.ascontiguousarray(cells, dtype="<i2")
    return hashlib.sha256(repr(data.shape).encode() + data.tobytes()).hexdigest()[:20]


def one_pixel_a_bead(path: Path, cells: Cells, about: Mapping[str, Any] | None) -> Cells:
    """The cells (h, w) of a document, reduced when it is a plain enlargement of the plate it names.

    about: what the document says of itself. Raises DocumentError for one that is enlarged beyond
    doubt when there is nothing to check the reduction by.
    """
    times, edges = _raster(cells)
    own = dict(about or {})
    if times < 2 or own.get("cells") == cells_digest(cells):
        return cells
    height, width = cells.shape
    if own.get("size") == [width, height]:
        return cells
    for factor in range(times, 1, -1):
        reduced = np.ascontiguousarray(cells[::factor, ::factor])
        fits = times % factor == 0 and own.get("size") in (None, [*reduced.shape[::-1]])
        if fits and (own.get("size") or own.get("cells") == cells_digest(reduced)):
            return reduced
    if times >= PLAINLY_ENLARGED and edges >= LEAST_EDGES:
        raise DocumentError(
            f"{path} is enlarged: each bead has {times} x {times} pixels",
            remedy=f"save it at one pixel a bead, {width // times} x {height // times} pixels",
        )
    return cells


def _raster(cells: Cells) -> tuple[int, int]:
    """Pixels that all colour changes are apart, on both axes, and how many lines have one."""
    edges = [
        np.flatnonzero((lines[1:] != lines[:-1]).any(axis=1)) + 1 for lines in (cells, cells.T)
    ]
    times = np.gcd.reduce(np.concatenate([*edges, cells.shape]))
    return int(times), sum(map(len, edges))
