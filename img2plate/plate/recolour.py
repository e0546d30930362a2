"""Colourways: the same plate in other colours, keeping its light and shade (see `recolouring`)."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from img2plate.plate.plate import Plate
from img2plate.plate.recolouring import Recolouring, recolourings
from img2plate.plate.usage import usage_of


@dataclass(frozen=True, eq=False)
class Colourway:
    """One way to colour a plate."""

    target: int
    """Palette index of the colour that the base became."""
    plate: Plate
    changed: dict[int, int]
    """Palette index before and after, of each recoloured colour."""
    notes: tuple[str, ...]
    """What could not be kept, a sentence each."""


def recolour(
    plate: Plate,
    targets: Sequence[int],
    *,
    base: int | None = None,
    keep: Sequence[int] = (),
    also: Sequence[int] = (),
) -> list[Colourway]:
    """Make one colourway for each target, a palette index; `base` is found when it is not given.

    Shades in `keep` are left as they are, colours in `also` go with the base though they seem no
    shades of it. A base that is its own target leaves the plate unchanged. Raises OptionError when
    the plate does not use the base or a colour of `also`, or the base is to be kept.
    """
    found = recolourings(usage_of(plate), targets, base=base, keep=keep, also=also)
    return recoloured(plate, found)


def recoloured(plate: Plate, ways: Sequence[Recolouring]) -> list[Colourway]:
    """The plate in each of these ways, named after the target."""
    codes = [bead.code for bead in plate.palette.beads]
    found = []
    for way in ways:
        named = replace(plate, name=f"{plate.name}-{codes[way.target]}")
        if way.target != way.base:
            cells = way.table(len(codes))[plate.cells]
            made = {**plate.made, "recoloured": f"{codes[way.base]} to {codes[way.target]}"}
            named = replace(named, cells=cells, made=made)
        found.append(Colourway(way.target, named, way.changed, way.notes))
    return found
