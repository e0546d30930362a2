"""Tidying: lone beads are merged into what surrounds them, where that costs least.

A lone bead that stands out from everything around it carries the drawing (an eye, a star, a lamp),
and stays.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from img2plate.base.arrays import Cells, Floats, Mask
from img2plate.base.specks import specks_of
from img2plate.colour.difference import delta_E_CIE2000
from img2plate.colour.palette import Palette
from img2plate.colour.spaces import linear2lab

STANDS_OUT_DE = 30.0
"""CIEDE2000 of a cell's target from all its 4 neighbours' from which on it is kept; no source."""
_ROUNDS = 20
_SIDES = ((-1, 0), (1, 0), (0, -1), (0, 1))


def tidy(
    cells: Cells, rgb: Floats, palette: Palette, most: float, *, free: Mask | None = None
) -> Cells:
    """Merge specks until at most a share `most` (0..1) of the beads are specks.

    cells: (h, w) int16; rgb: (h, w, 3) linear light wanted; free: (h, w) bool, cells that may
    change. Returns (h, w) int16. What stands out is kept, so the share may stay above `most`.
    """
    cells = cells.copy()
    lab = linear2lab(np.asarray(rgb, np.float64))
    may = _plain(lab, cells >= 0) if free is None else free & _plain(lab, cells >= 0)
    allowed = int(most * (cells >= 0).sum())
    for _ in range(_ROUNDS):
        specks = specks_of(cells)
        spare = int(specks.sum()) - allowed
        y, x = np.nonzero(specks & may)
        if spare <= 0 or not len(y):
            break
        beads, costs = _cheapest(cells, lab, palette, y, x)
        chosen = _apart(cells.shape, y, x, costs, spare)
        if not len(chosen):
            break
        cells[y[chosen], x[chosen]] = beads[chosen]
    return cells


def _around(plane: NDArray[Any], outside: float) -> NDArray[Any]:
    """(4, h, w, ...) the values above, below, left and right of each cell."""
    border = ((1, 1), (1, 1)) + ((0, 0),) * (plane.ndim - 2)
    wide = np.pad(plane, border, constant_values=outside)
    height, width = plane.shape[:2]
    return np.stack([wide[1 + y : 1 + y + height, 1 + x : 1 + x + width] for y, x in _SIDES])


def _plain(lab: Floats, filled: Mask) -> Mask:
    """Cells whose target is like that of a neighbour: these may be merged."""
    nearest = np.full(filled.shape, np.inf)
    for there, is_filled in zip(_around(lab, 0.0), _around(filled, False), strict=True):
        apart = np.where(is_filled, delta_E_CIE2000(lab, there), np.inf)
        nearest = np.minimum(nearest, apart)
    return np.asarray(nearest < STANDS_OUT_DE)


def _cheapest(
    cells: Cells, lab: Floats, palette: Palette, y: NDArray[np.intp], x: NDArray[np.intp]
) -> tuple[NDArray[np.int16], NDArray[np.float64]]:
    """For each speck the neighbour's bead that suits it best, and what more it is off."""
    options = _around(cells, -1)[:, y, x]
    off = delta_E_CIE2000(lab[y, x], palette.lab[options])
    off = np.where(options >= 0, off, np.inf)
    best = off.argmin(axis=0)
    each = np.arange(len(y))
    own = delta_E_CIE2000(lab[y, x], palette.lab[cells[y, x]])
    return options[best, each].astype(np.int16), np.asarray(off[best, each] - own)


def _apart(
    shape: tuple[int, ...],
    y: NDArray[np.intp],
    x: NDArray[np.intp],
    costs: NDArray[np.float64],
    most: int,
) -> NDArray[np.intp]:
    """The cheapest of them, of neighbours only the cheaper: two that swap would stay specks."""
    place = np.full(shape, np.inf)
    ranks = np.empty(len(costs))
    ranks[np.argsort(costs, kind="stable")] = np.arange(len(costs))
    ranks[~np.isfinite(costs)] = np.inf
    place[y, x] = ranks
    least = _around(place, np.inf).min(axis=0)
    chosen = np.nonzero((ranks < least[y, x]) & np.isfinite(ranks))[0]
    return np.asarray(chosen[np.argsort(ranks[chosen])][:most])
