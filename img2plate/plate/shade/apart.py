"""Colours that touch and would fall on one bead are pulled apart when another bead is near."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from img2plate.colour.difference import delta_E_CIE2000
from img2plate.colour.palette import Palette
from img2plate.colour.spaces import linear2bytes, linear2lab, srgb2hex

KEEP_APART_DE = 15.0
ALIKE_DE = 5.0
"""CIEDE2000 below which two colours of a sprite may become one bead without a word; no source."""


@dataclass(frozen=True, eq=False)
class Colours:
    """The distinct colours of a sprite or a drawing, and how near the beads are."""

    rgb: NDArray[np.float32]
    """(n, 3) linear light."""
    labels: NDArray[np.int64]
    """(h, w) index of each cell's colour; -1 for none."""
    counts: NDArray[np.int64]
    off: NDArray[np.float64]
    """(n, m) CIEDE2000 of each colour from each bead."""
    touching: NDArray[np.bool_]
    """(n, n): they meet along a cell's side."""


def colours_of(
    rgb: NDArray[np.float32],
    labels: NDArray[np.int64],
    counts: NDArray[np.int64],
    palette: Palette,
) -> Colours:
    """Compare colours with beads, and see which of them touch; arguments as in `Colours`."""
    lab = linear2lab(rgb.astype(np.float64))
    off = delta_E_CIE2000(lab[:, None], palette.lab[None])
    return Colours(rgb, labels, counts, np.asarray(off), _touching(labels, len(rgb)))


def _touching(labels: NDArray[np.int64], count: int) -> NDArray[np.bool_]:
    """(count, count) bool: which labels meet along a side."""
    touching = np.zeros((count, count), np.bool_)
    for one, two in ((labels[1:], labels[:-1]), (labels[:, 1:], labels[:, :-1])):
        both = (one >= 0) & (two >= 0) & (one != two)
        touching[one[both], two[both]] = touching[two[both], one[both]] = True
    return touching


def pull_apart(
    colours: Colours,
    choice: NDArray[np.int64],
    palette: Palette,
    keep_apart: float,
    *,
    fair: bool = False,
) -> tuple[str, ...]:
    """Give one of two colours that merged another bead, in `choice`; returns notes.

    fair: not for a bead that is further off by more than the two colours differ.
    """
    lab = linear2lab(colours.rgb.astype(np.float64))
    unlike = np.asarray(delta_E_CIE2000(lab[:, None], lab[None]))
    one, two = np.nonzero(np.triu(colours.touching & (unlike >= ALIKE_DE)))
    pulled, merged = [], []
    for a, b in sorted(zip(one, two, strict=True), key=lambda pair: -unlike[pair]):
        if choice[a] != choice[b]:
            continue
        more = float(unlike[a, b]) if fair else np.inf
        moves = [move for c in (a, b) for move in _moves(colours, choice, int(c), keep_apart, more)]
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
    colours: Colours, choice: NDArray[np.int64], colour: int, keep_apart: float, more: float
) -> list[tuple[float, int, int]]:
    """Other beads for a colour: (what it costs over all its cells, colour, bead)."""
    off = colours.off[colour]
    own = off[choice[colour]]
    if own < 1e-9:  # the palette has this very colour
        return []
    taken = choice[colours.touching[colour]]
    beads = [int(k) for k in np.nonzero(off <= min(keep_apart, own + more))[0] if k not in taken]
    return [(float((off[k] - own) * colours.counts[colour]), colour, k) for k in beads]


def _hex(linear: NDArray[np.float32]) -> str:
    """#RRGGBB of a linear-light colour."""
    red, green, blue = linear2bytes(linear).tolist()
    return srgb2hex((red, green, blue))


def _few(texts: list[str]) -> str:
    """The first three, and how many more."""
    more = f" and {len(texts) - 3} more" if len(texts) > 3 else ""
    return "; ".join(texts[:3]) + more
