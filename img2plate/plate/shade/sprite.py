"""Sprites keep their drawing: flat areas and lines stay whole, and what touches stays apart."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from img2plate.base.arrays import Cells, Mask
from img2plate.colour.difference import delta_E_CIE2000
from img2plate.colour.palette import Palette
from img2plate.colour.spaces import linear2bytes, linear2lab, srgb2hex
from img2plate.image.grid import Grid
from img2plate.plate.shade.match import nearest

KEEP_APART_DE = 15.0
ALIKE_DE = 5.0
"""CIEDE2000 below which two colours of a sprite may become one bead without a word; no source."""
_MOST_COLOURS = 32
"""Of a drawing in chosen colours. More are the shades of soft edges and of light: kept apart, two
shades of one green would become a green and a pink bead."""


@dataclass(frozen=True, eq=False)
class _Colours:
    """The distinct colours of a sprite and the beads they get."""

    rgb: NDArray[np.float32]
    """(n, 3) linear light."""
    labels: NDArray[np.int64]
    """(h, w) index of each cell's colour; -1 for none."""
    counts: NDArray[np.int64]
    off: NDArray[np.float64]
    """(n, m) CIEDE2000 of each colour from each bead."""
    touching: NDArray[np.bool_]
    """(n, n): they meet along a cell's side."""


def match_sprite(
    grid: Grid,
    palette: Palette,
    *,
    difference: str = "hyab",
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
    notes = _pull_apart(colours, choice, palette, keep_apart)
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


def _colours(grid: Grid, palette: Palette) -> _Colours | None:
    """Take the sprite's colours apart; None when there are too many for a drawing in colours."""
    labels = np.full(grid.cover.shape, -1, np.int64)
    rgb, where, counts = np.unique(
        grid.rgb[grid.filled], axis=0, return_inverse=True, return_counts=True
    )
    if len(rgb) > _MOST_COLOURS:
        return None
    labels[grid.filled] = where.reshape(-1)
    lab = linear2lab(rgb.astype(np.float64))
    off = delta_E_CIE2000(lab[:, None], palette.lab[None])
    return _Colours(rgb, labels, counts, np.asarray(off), _touching(labels, len(rgb)))


def _touching(labels: NDArray[np.int64], count: int) -> NDArray[np.bool_]:
    """(count, count) bool: which labels meet along a side."""
    touching = np.zeros((count, count), np.bool_)
    for one, two in ((labels[1:], labels[:-1]), (labels[:, 1:], labels[:, :-1])):
        both = (one >= 0) & (two >= 0) & (one != two)
        touching[one[both], two[both]] = touching[two[both], one[both]] = True
    return touching


def _pull_apart(
    colours: _Colours, choice: NDArray[np.int64], palette: Palette, keep_apart: float
) -> tuple[str, ...]:
    """Give one of two colours that merged another bead, in `choice`; returns notes."""
    lab = linear2lab(colours.rgb.astype(np.float64))
    unlike = np.asarray(delta_E_CIE2000(lab[:, None], lab[None]))
    one, two = np.nonzero(np.triu(colours.touching & (unlike >= ALIKE_DE)))
    pulled, merged = [], []
    for a, b in sorted(zip(one, two, strict=True), key=lambda pair: -unlike[pair]):
        if choice[a] != choice[b]:
            continue
        moves = [move for c in (a, b) for move in _moves(colours, choice, int(c), keep_apart)]
        if moves:
            _, colour, bead = min(moves)
            choice[colour] = bead
            pulled.append(f"{_hex(colours.rgb[colour])} became {palette.beads[bead].name}")
        else:
            name = palette.beads[choice[a]].name
            merged.append(f"{_hex(colours.rgb[a])} and {_hex(colours.rgb[b])} both became {name}")
    notes = []
    if pulled:
        notes.append(f"colours that touch were kept apart: {_few(pulled)}")
    if merged:
        notes.append(f"colours that touch became one (see `keep_apart`): {_few(merged)}")
    return tuple(notes)


def _moves(
    colours: _Colours, choice: NDArray[np.int64], colour: int, keep_apart: float
) -> list[tuple[float, int, int]]:
    """Other beads for a colour: (what it costs over all its cells, colour, bead)."""
    off = colours.off[colour]
    if off[choice[colour]] < 1e-9:  # the palette has this very colour
        return []
    taken = choice[colours.touching[colour]]
    beads = [int(k) for k in np.nonzero(off <= keep_apart)[0] if k not in taken]
    return [
        (float((off[k] - off[choice[colour]]) * colours.counts[colour]), colour, k) for k in beads
    ]


def _hex(linear: NDArray[np.float32]) -> str:
    """#RRGGBB of a linear-light colour."""
    red, green, blue = linear2bytes(linear).tolist()
    return srgb2hex((red, green, blue))


def _few(texts: list[str]) -> str:
    """The first three, and how many more."""
    more = f" and {len(texts) - 3} more" if len(texts) > 3 else ""
    return "; ".join(texts[:3]) + more
