"""Frames, cards and ruled tables round sprites, and what lies behind the sprites in them."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from img2plate.base.arrays import Mask, Pixels
from img2plate.image.background import clear_background

LEAST_SIDE = 8
"""Cells of a frame's short side."""
LIKE_SIZE = 1
"""Cells by which frames of one size may differ."""


def without_frames(cells: Pixels) -> Pixels:
    """Take off the lines of frames round sprites (h, w, 4), and clear what is behind in them.

    A rectangle with a rim of one colour is a frame when it is ruled into several panels, or when
    there are two of its size: one alone may be a crate.
    """
    from scipy.ndimage import find_objects, label

    regions, _ = label(cells[..., 3] >= 128, np.ones((3, 3)))
    places = [place for place in find_objects(regions) if _sides(place)[0] >= LEAST_SIDE]
    framed = [(place, rules) for place in places if (rules := _rules(cells[place])) is not None]
    sizes = [_sides(place) for place, _ in framed]
    out = cells.copy()
    for (place, rules), size in zip(framed, sizes, strict=True):
        alike = sum(
            all(abs(a - b) <= LIKE_SIZE for a, b in zip(size, o, strict=True)) for o in sizes
        )
        panels = list(_panels(rules))
        if not panels or (alike < 2 and len(panels) < 2):
            continue
        framed_part = out[place]  # a view: what is written to it is written to `out`
        framed_part[rules, 3] = 0
        for panel in panels:
            framed_part[panel] = clear_background(framed_part[panel]).pixels
    return out


def _sides(place: tuple[slice, ...]) -> tuple[int, int]:
    """Short and long side of a place."""
    short, long = sorted(part.stop - part.start for part in place)
    return short, long


def _rules(part: Pixels) -> Mask | None:
    """(h, w) the ruled lines of a rectangle, its rim among them; None when it has no even rim."""
    packed = np.ascontiguousarray(part).view(np.uint32)[..., 0]
    colour = packed[0, 0]
    rows, columns = (packed == colour).all(axis=1), (packed == colour).all(axis=0)
    if part[0, 0, 3] < 128 or not (rows[0] and rows[-1] and columns[0] and columns[-1]):
        return None
    return np.asarray(rows[:, None] | columns)


def _panels(rules: Mask) -> list[tuple[slice, slice]]:
    """The parts between ruled lines that are large enough to hold a sprite."""
    rows, columns = (_runs(np.asarray(~rules.all(axis=axis))) for axis in (1, 0))
    return [
        (row, column)
        for row in rows
        for column in columns
        if min(row.stop - row.start, column.stop - column.start) >= LEAST_SIDE // 2
    ]


def _runs(line: NDArray[np.bool_]) -> list[slice]:
    """Runs of what is true."""
    edges = np.flatnonzero(np.diff(np.concatenate([[0], line.astype(np.int8), [0]])))
    return [slice(int(a), int(b)) for a, b in edges.reshape(-1, 2)]
