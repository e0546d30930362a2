"""The distinct colours of a grid, with how often each is wanted."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from img2plate.base.arrays import Floats
from img2plate.colour.formulas import find_formula
from img2plate.colour.palette import Palette
from img2plate.colour.spaces import linear2bytes

MOST_DISTINCT = 40_000
"""Beyond so many, colours that share the upper five bits of each channel count as one."""


@dataclass(frozen=True, eq=False)
class Distinct:
    """Colours that are wanted."""

    linear: NDArray[np.float64]
    """(n, 3) linear light."""
    where: NDArray[np.int64]
    """(cells,) each cell's colour."""
    counts: NDArray[np.int64]
    """(n,) cells of each colour."""


def distinct_colours(linear: Floats) -> Distinct:
    """Gather the distinct linear-light colours of (cells, 3)."""
    flat = np.ascontiguousarray(linear, dtype=np.float64).reshape(-1, 3)
    _, first, where, counts = np.unique(
        flat.view("V24")[:, 0], return_index=True, return_inverse=True, return_counts=True
    )
    if len(first) <= MOST_DISTINCT:
        return Distinct(flat[first], where.reshape(-1), counts)
    bins = (linear2bytes(flat) >> 3).astype(np.int64) @ [1024, 32, 1]
    _, where, counts = np.unique(bins, return_inverse=True, return_counts=True)
    where = where.reshape(-1)
    sums = [np.bincount(where, flat[:, c]) for c in range(3)]
    return Distinct(np.stack(sums, axis=1) / counts[:, None], where, counts)


def differences(linear: Floats, palette: Palette, difference: str) -> NDArray[np.float64]:
    """(n, beads) difference of linear-light colours (n, 3) from each bead, by a formula's name.

    Raises OptionError for an unknown one.
    """
    formula = find_formula(difference)
    colours, beads = formula.to_space(linear), formula.to_space(palette.linear)
    return np.asarray(formula.pairs(colours[:, None], beads[None]), dtype=np.float64)
