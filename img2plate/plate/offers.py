"""Other colours for a group of roles: some bases of the palette, with what lies beside them.

A lighter role gets the base's lighter companion, the next one that bead's, and so on. Where a
colour has too few companions, its beads are those that `recolour` would take.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from img2plate.colour.companions import Companions, find_companions
from img2plate.colour.palette import Palette
from img2plate.plate.plate import Plate
from img2plate.plate.recolouring import recolourings
from img2plate.plate.roles import Group
from img2plate.plate.shades import shades
from img2plate.plate.usage import usage_of

LIGHTNESS = 0.5
"""How much a base's lightness may differ for the same gain in hue or chroma, both in OKLab."""


@dataclass(frozen=True)
class Offer:
    """A base, and the bead of each role of the group."""

    base: int
    beads: tuple[int, ...]
    """Palette indices, in the order of the group's roles."""


def offers(plate: Plate, group: Group, most: int) -> tuple[Offer, ...]:
    """At most so many other ways to fill a group, far from each other and from what it is.

    About as light as the base, as the roles of other groups are drawn beside it; by hue.
    """
    palette, base = plate.palette, group.base.index
    ways = _with_companions(palette, group)
    if len(ways) < most:
        ways = {**_recoloured(plate, group), **ways}
    chosen: list[int] = [base]
    colours = palette.oklab
    while len(chosen) <= most:
        near = np.linalg.norm(colours[:, None, 1:] - colours[chosen, 1:], axis=2).min(axis=1)
        away = np.abs(colours[:, 0] - colours[base, 0])
        gain = np.where(_is_new(palette, chosen), near - LIGHTNESS * away, -np.inf)
        gain[[index not in ways for index in range(len(palette))]] = -np.inf
        best = int(gain.argmax())
        if not np.isfinite(gain[best]):
            break
        chosen.append(best)
    hue = np.arctan2(colours[:, 2], colours[:, 1])
    return tuple(Offer(i, ways[i]) for i in sorted(chosen[1:], key=lambda i: (float(hue[i]), i)))


def _is_new(palette: Palette, chosen: list[int]) -> NDArray[np.bool_]:
    """(n,) whether a bead has the finish of the first chosen one, and the colour of none."""
    finish = np.array([bead.finish for bead in palette.beads])
    alike = (palette.srgb[:, None] == palette.srgb[chosen]).all(axis=2).any(axis=1)
    return np.asarray((finish == finish[chosen[0]]) & ~alike)


def _with_companions(palette: Palette, group: Group) -> dict[int, tuple[int, ...]]:
    """The beads of each role by base, of all bases that have enough companions."""
    pairs, ways = find_companions(palette), {}
    for base in range(len(palette)):
        beads = [_companion(pairs, base, role.step) for role in group.roles]
        whole = tuple(bead for bead in beads if bead is not None)
        if len(whole) == len(set(beads)) == len(group.roles):
            ways[base] = whole
    return ways


def _companion(pairs: tuple[Companions, ...], base: int, step: int) -> int | None:
    """So many companions lighter, or darker; None where there is none."""
    found: int | None = base
    for _ in range(abs(step)):
        if found is None:
            break
        found = pairs[found].lighter if step > 0 else pairs[found].darker
    return found


def _recoloured(plate: Plate, group: Group) -> dict[int, tuple[int, ...]]:
    """The beads of each role by base, as `recolour` changes the group alone."""
    base, own = group.base.index, [role.index for role in group.roles]
    usage = usage_of(plate)
    keep = [index for index in shades(usage, base).tolist() if index not in own]
    ways = recolourings(usage, range(len(plate.palette)), base=base, keep=keep)
    return {
        way.target: tuple(way.changed[index] for index in own)
        for way in ways
        if way.changed[base] == way.target
    }
