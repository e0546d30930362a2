"""The colours of a plate as roles that a reader fills: bases, each with its light and its shade.

A group is what `recolour` changes together: a base and its shades on the plate, by hue and by where
they lie (see `shades`), less what belongs to an earlier group. Numbers run through all groups, and
a group is called after the number of its base: 3 is "colour 3", its lighter bead 4 "colour 3
light".
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from img2plate.plate.plate import Plate
from img2plate.plate.recolouring import main_colour
from img2plate.plate.shades import shades
from img2plate.plate.usage import usage_of


@dataclass(frozen=True)
class Role:
    """One colour of a plate, to be filled with any bead."""

    number: int
    """From 1."""
    index: int
    """Palette index of the bead that the plate has there."""
    name: str
    step: int
    """0 for the base, 1, 2, ... for what is lighter, -1, -2, ... for what is darker."""
    beads: int


@dataclass(frozen=True)
class Group:
    """Roles that are chosen together: the base, then lighter ones, then darker ones."""

    roles: tuple[Role, ...]

    @property
    def base(self) -> Role:
        """The one the others are lighter or darker than."""
        return self.roles[0]


def find_groups(plate: Plate) -> tuple[Group, ...]:
    """All colours of a plate in groups, those with the most beads first."""
    usage = usage_of(plate)
    counts, free = usage.counts, usage.counts > 0
    found: list[tuple[int, list[int]]] = []
    while free.any():
        base = main_colour(usage, among=free)
        members = [index for index in shades(usage, base).tolist() if free[index]]
        free[members] = False
        found.append((base, members))
    found.sort(key=lambda group: (-int(counts[group[1]].sum()), group[0]))
    groups, number = [], 1
    for base, members in found:
        groups.append(_group(plate, base, members, number))
        number += len(members)
    return tuple(groups)


def _group(plate: Plate, base: int, members: list[int], number: int) -> Group:
    """Name and number the members, from a number on."""
    counts, lightness = plate.counts(), plate.palette.oklab[:, 0]
    members = sorted(members, key=lambda index: (float(lightness[index]), index))
    at = members.index(base)
    order = [*members[at:], *reversed(members[:at])]
    steps = np.arange(len(members)) - at
    step_of = dict(zip(members, steps.tolist(), strict=True))
    return Group(
        tuple(
            Role(number + place, index, _name(number, step_of[index]), step_of[index],
                 int(counts[index]))
            for place, index in enumerate(order)
        )
    )  # fmt: skip


def _name(base: int, step: int) -> str:
    """Such as colour 3, colour 3 light, colour 3 shade 2."""
    words = [f"colour {base}"]
    if step:
        words.append("light" if step > 0 else "shade")
    if abs(step) > 1:
        words.append(str(abs(step)))
    return " ".join(words)
