"""Does what lies inside a box come out of it? Judged from places alone."""

from __future__ import annotations

from itertools import product

import numpy as np

from img2plate.solid.check.lattice import Exceptions, Finding, Solid, places_of
from img2plate.solid.check.order import way_is_free


def tray_findings(group: str, solids: list[Solid], allowed: Exceptions) -> list[Finding]:
    """What is wrong with a group that lies in another: it floats, or never comes out again."""
    mine = [solid for solid in solids if solid.group == group]
    whole = Solid(group, "", np.concatenate([solid.voxels for solid in mine]), 2)
    others = [solid for solid in solids if solid.group != group]
    found = []
    under = whole.voxels - np.array([0, 0, 1])
    if not places_of(under) & set().union(*(other.places for other in others)):
        found.append(Finding(f"{group}: lies on nothing", mine[0].name))
    left = [solid for solid in others if solid.name not in allowed.lids]
    if not any(way_is_free(whole, left, axis, step) for axis, step in product(range(3), (1, -1))):
        found.append(Finding(f"{group}: does not come out, with all lids off", mine[0].name))
    return found
