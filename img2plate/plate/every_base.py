"""Of many colours to recolour to, those that are worth to be shown beside each other."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from img2plate.colour.palette import Palette
from img2plate.plate.recolouring import Recolouring

APART = 0.1
"""Distance in OKLab from which two colours are told apart across a table; by eye."""


def every_base(palette: Palette, ways: Sequence[Recolouring]) -> list[Recolouring]:
    """The ways in which the target has the shades it needs, no two alike, nor like what there is.

    Where no target has the shades, all that the base can become are looked at. The order is kept.
    """
    others = [way for way in ways if way.target != way.base]
    reached = [way for way in others if way.changed[way.base] == way.target]
    full = [way for way in reached if not way.notes] or reached
    if not full:
        return []
    targets = [way.target for way in full]
    apart = np.linalg.norm(palette.oklab[targets][:, None] - palette.oklab, axis=2)
    nearest = apart[:, full[0].base].copy()
    chosen = set[int]()
    while nearest.max() >= APART:  # the farthest from all that are chosen
        best = int(nearest.argmax())
        chosen.add(best)
        nearest = np.minimum(nearest, apart[:, targets[best]])
    return [way for number, way in enumerate(full) if number in chosen]
