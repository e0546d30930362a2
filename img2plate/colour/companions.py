"""Companions: the lighter and the darker bead that go with a base colour, and families of them.

The rule, in OKLab (B. Ottosson, 2020), whose hue stays where it is when a colour gets lighter:
of the colours with the same finish and the same hue (within 30 degrees, greys with greys) that are
0.03 to 0.34 of lightness away, the one nearest to the base moved by one step of 0.12, where a turn
of hue counts double and a change of chroma half; among greys, any tint counts double. The figures
are our own choice, by eye.
What a palette file names itself comes first.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from img2plate.base.errors import PaletteError
from img2plate.colour.palette import Palette

STEP = 0.12
"""One step of OKLab lightness (black 0, white 1)."""
NEAREST, FARTHEST = 0.03, 0.34
"""How far in lightness a companion may be."""
SAME_HUE_DEGREES = 30.0
GREY_CHROMA = 0.035
"""OKLab chroma under which a colour counts as grey."""


@dataclass(frozen=True)
class Companions:
    """Palette indices of the two companions; None where the palette has none."""

    lighter: int | None
    darker: int | None


def find_companions(palette: Palette) -> tuple[Companions, ...]:
    """Find both companions of every colour, in the palette's order.

    Raises PaletteError when the palette names a companion that it does not have.
    """
    lighter, darker = _by_rule(palette, +1), _by_rule(palette, -1)
    return tuple(
        Companions(
            _named(palette, bead.lighter, lighter[index]),
            _named(palette, bead.darker, darker[index]),
        )
        for index, bead in enumerate(palette.beads)
    )


def same_hue(palette: Palette) -> NDArray[np.bool_]:
    """(n, n) whether two colours are of one hue and finish; greys are of one hue."""
    a, b = palette.oklab[:, 1], palette.oklab[:, 2]
    hue, grey = np.degrees(np.arctan2(b, a)), np.hypot(a, b) < GREY_CHROMA
    apart = np.abs((hue[:, None] - hue + 180) % 360 - 180)
    both_grey, no_grey = grey[:, None] & grey, ~grey[:, None] & ~grey
    finish = np.array([bead.finish for bead in palette.beads])
    near = both_grey | (no_grey & (apart <= SAME_HUE_DEGREES))
    return np.asarray(near & (finish[:, None] == finish))


def family(palette: Palette, base: int) -> NDArray[np.intp]:
    """Indices of all that goes with a colour, itself too: its hue, and companions of companions."""
    member = same_hue(palette)[base].copy()
    found = find_companions(palette)
    reached, ahead = {base}, [base]
    while ahead:
        pair = found[ahead.pop()]
        new = {index for index in (pair.lighter, pair.darker) if index is not None} - reached
        reached |= new
        ahead += new
    member[list(reached)] = True
    return np.flatnonzero(member)


def _by_rule(palette: Palette, sign: int) -> list[int | None]:
    """The companion of each colour on one side by the rule above."""
    colours = palette.oklab
    chroma = np.hypot(colours[:, 1], colours[:, 2])
    rise = sign * (colours[:, 0] - colours[:, None, 0])
    allowed = same_hue(palette) & (rise >= NEAREST) & (rise <= FARTHEST)
    duller = chroma - chroma[:, None]
    # What is left of a distance in the a, b plane once chroma is taken out is the turn of hue.
    plane2 = np.sum((colours[:, None, 1:] - colours[:, 1:]) ** 2, axis=2)
    turn2 = np.maximum(plane2 - duller**2, 0)
    grey = chroma < GREY_CHROMA
    tint2 = np.where(grey[:, None] & grey, 4 * plane2, duller**2 / 4 + 4 * turn2)
    away = np.sqrt((rise - STEP) ** 2 + tint2)
    away[~allowed] = np.inf
    best = away.argmin(axis=1)
    return [int(b) if np.isfinite(away[i, b]) else None for i, b in enumerate(best)]


def _named(palette: Palette, code: str, otherwise: int | None) -> int | None:
    """Index of the companion that the palette names, else the rule's."""
    if not code:
        return otherwise
    if code not in palette.by_code:
        raise PaletteError(f"palette {palette.name} names a companion {code!r} that it lacks")
    return palette.by_code[code]
