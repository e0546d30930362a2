"""Sprites keep their drawing: flat areas and lines stay whole, and what touches stays apart."""

from __future__ import annotations

import numpy as np

from img2plate.base.arrays import Cells, Mask
from img2plate.colour.palette import Palette
from img2plate.colour.spaces import linear2bytes
from img2plate.image.grid import Grid
from img2plate.plate.shade.apart import KEEP_APART_DE, Colours, colours_of, pull_apart
from img2plate.plate.shade.match import nearest

_MOST_COLOURS = 32
"""Of a drawing in chosen colours. More are the shades of soft edges and of light: kept apart, two
shades of one green would become a green and a pink bead."""


def match_sprite(
    grid: Grid,
    palette: Palette,
    *,
    difference: str = "hyab-hue",
    keep_apart: float = KEEP_APART_DE,
) -> tuple[Cells, tuple[str, ...]]:
    """(h, w) int16 nearest beads, one bead a colour, and notes on colours that became one.

    Colours that touch and fall on one bead are pulled apart when another bead lies within
    `keep_apart` (CIEDE2000) of one of them. A colour that the palette has is kept exactly.
    """
    colours = _colours(grid, palette)
    cells = np.full(grid.cover.shape, -1, np.int16)
    if colours is None:
        cells[grid.filled] = nearest(grid.rgb[grid.filled], palette, difference=difference)
        return cells, ()
    choice = nearest(colours.rgb, palette, difference=difference).astype(np.int64)
    notes = pull_apart(colours, choice, palette, keep_apart)
    cells[grid.filled] = choice[colours.labels[grid.filled]]
    return cells, notes


def drawn_cells(grid: Grid, palette: Palette) -> Mask:
    """(h, w) bool: cells that shading must leave alone.

    These are cells with an equal cell among their 8 neighbours (flat areas, outlines) and cells
    whose colour the palette has.
    """
    shown = linear2bytes(grid.rgb).astype(np.int32) @ [65536, 256, 1]
    codes = np.where(grid.filled, shown, -1)
    wide = np.pad(codes, 1, constant_values=-2)
    height, width = codes.shape
    steps = [(y, x) for y in range(3) for x in range(3) if (y, x) != (1, 1)]
    around = [wide[y : y + height, x : x + width] for y, x in steps]
    owned = palette.srgb.astype(np.int32) @ [65536, 256, 1]
    return np.asarray(grid.filled & (np.any(around == codes, axis=0) | np.isin(codes, owned)))


def _colours(grid: Grid, palette: Palette) -> Colours | None:
    """Take the sprite's colours apart; None when there are too many for a drawing in colours."""
    labels = np.full(grid.cover.shape, -1, np.int64)
    rgb, where, counts = np.unique(
        grid.rgb[grid.filled], axis=0, return_inverse=True, return_counts=True
    )
    if len(rgb) > _MOST_COLOURS:
        return None
    labels[grid.filled] = where.reshape(-1)
    return colours_of(rgb, labels, counts, palette)
