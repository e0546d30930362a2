"""Drawings: one bead a flat colour, colours that touch kept apart, grey in neutral beads."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from img2plate.base.arrays import Cells, Floats, Mask
from img2plate.colour.formulas import find_formula
from img2plate.colour.palette import Palette
from img2plate.colour.spaces import linear2lab
from img2plate.image.grid import Grid
from img2plate.plate.shade.apart import KEEP_APART_DE, colours_of, pull_apart
from img2plate.plate.shade.distinct import differences, distinct_colours

GREY_CHROMA, GREY_BEAD = 5.0, 10.0
"""A colour of so little chroma (CIELAB) gets a bead of at most so much, as in the search."""


def match_drawing(
    grid: Grid,
    palette: Palette,
    *,
    difference: str = "hyab-hue",
    keep_apart: float = KEEP_APART_DE,
) -> tuple[Cells, tuple[str, ...]]:
    """(h, w) int16 nearest beads, one bead a flat colour, and notes on colours that became one.

    Flat colours that touch are pulled apart as those of sprites are; what is shaded gets the bead
    nearest to each cell. Grey takes neutral beads when one is near.
    """
    cells = np.full(grid.cover.shape, -1, np.int16)
    cells[grid.filled] = nearest_neutral(grid.rgb[grid.filled], palette, difference)
    if grid.flat is None or not (grid.flat >= 0).any():
        return cells, ()
    flat = grid.filled & (grid.flat >= 0)
    _, first, where, counts = np.unique(
        grid.flat[flat], return_index=True, return_inverse=True, return_counts=True
    )
    labels = np.full(flat.shape, -1, np.int64)
    labels[flat] = where.reshape(-1)
    rgb = grid.rgb[flat][first]
    colours = colours_of(rgb, labels, counts, palette)
    colours.off[_colourful(linear2lab(rgb.astype(np.float64)), palette)] = np.inf
    choice = cells[flat][first].astype(np.int64)
    notes = pull_apart(colours, choice, palette, keep_apart, fair=True)
    cells[flat] = choice[labels[flat]]
    return cells, notes


def nearest_neutral(linear: Floats, palette: Palette, difference: str) -> NDArray[np.int16]:
    """(n,) the nearest bead for linear-light colours (n, 3); for a grey a neutral one if near."""
    wanted = distinct_colours(linear)
    off = differences(wanted.linear, palette, difference)
    least = off.min(axis=1, keepdims=True)
    refused = _colourful(linear2lab(wanted.linear), palette)
    allowed = np.where(refused, np.inf, off)
    near = allowed.min(axis=1, keepdims=True) <= least + find_formula(difference).grey_slack
    best = np.where(near, allowed, off).argmin(axis=1).astype(np.int16)
    return np.asarray(best[wanted.where])


def _colourful(lab: Floats, palette: Palette) -> Mask:
    """(n, beads) bool: beads with too much chroma for greys of CIELAB (n, 3)."""
    grey = np.hypot(lab[:, 1], lab[:, 2]) <= GREY_CHROMA
    chroma = np.hypot(palette.lab[:, 1], palette.lab[:, 2])
    return np.asarray(grey[:, None] & (chroma > GREY_BEAD)[None])
