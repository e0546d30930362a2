"""The nearest bead for each colour, exactly: of equals, the first in the palette."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from img2plate.base.arrays import Floats
from img2plate.colour.difference import delta_E_CIE2000, delta_E_HyAB
from img2plate.colour.formulas import HUE_WEIGHT, Formula, delta_E_HyAB_hue, find_formula
from img2plate.colour.palette import Palette

FEW_PAIRS = 100_000
"""Up to so many pairs numpy does at once, sooner than the compiled loops are loaded."""


def nearest(
    linear: Floats, palette: Palette, *, difference: str = "ciede2000"
) -> NDArray[np.int16]:
    """Index of the nearest bead for each linear-light colour (..., 3); of equals, the first.

    Raises OptionError for an unknown difference.
    """
    formula = find_formula(difference)
    flat = np.asarray(linear, dtype=np.float64).reshape(-1, 3)
    beads = formula.to_space(palette.linear)
    distinct, where = _distinct(flat, FEW_PAIRS // len(palette))
    if distinct is not None:
        all_pairs = formula.pairs(formula.to_space(distinct)[:, None, :], beads[None, :, :])
        found = all_pairs.argmin(axis=1).astype(np.int16)[where]
    else:
        found = _by_loops(formula.to_space(flat), beads, formula)
    return np.asarray(found.reshape(np.shape(linear)[:-1]), dtype=np.int16)


def _distinct(
    colours: NDArray[np.float64], most: int
) -> tuple[NDArray[np.float64] | None, NDArray[np.int64]]:
    """Distinct colours and where each cell finds its own; None when they are over `most`."""
    if len(colours) > 100 * most:  # a photo: sorting would be for nothing
        return None, np.empty(0, np.int64)
    # One column of bytes sorts much faster than three of floats.
    keys = np.ascontiguousarray(colours).view("V24")[:, 0]
    _, first, where = np.unique(keys, return_index=True, return_inverse=True)
    return (colours[first] if len(first) <= most else None), where


def _by_loops(colours: Floats, beads: Floats, formula: Formula) -> NDArray[np.int16]:
    """Compiled loops over colours and beads (n, 3) in one space."""
    from img2plate.plate.shade.match_loops import nearest_ciede2000, nearest_hue, nearest_plain

    points: NDArray[np.float64] = np.ascontiguousarray(colours, dtype=np.float64)
    targets: NDArray[np.float64] = np.ascontiguousarray(beads, dtype=np.float64)
    if formula.pairs is delta_E_CIE2000:
        return nearest_ciede2000(points, targets)
    if formula.pairs is delta_E_HyAB_hue:
        return nearest_hue(points, targets, HUE_WEIGHT)
    return nearest_plain(points, targets, formula.pairs is delta_E_HyAB)
