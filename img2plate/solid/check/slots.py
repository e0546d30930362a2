"""Does a plate that slopes lie on another one, whose tabs go through its slots aslant?"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby

import numpy as np
from numpy.typing import NDArray

from img2plate.solid.check.aslant import direction, line_of, middles_mm, pressed, turn_of
from img2plate.solid.check.lattice import Finding, Solid
from img2plate.solid.check.oriented import TOLERANCE_MM
from img2plate.solid.connected import components

LEAST_TAB = 2
LOOSE_SHARE = 0.25
"""A slot may be a cell longer than its tab needs where a share of a bead less would be too short:
what is measured of slots may say that they are a little shorter than beads make them."""
REST_MM = 0.1
"""A plate that lies on shoulders is no further from them."""


@dataclass(frozen=True)
class _Crossing:
    """Where an upright plate goes through one that slopes; mm along the latter's normal."""

    along: NDArray[np.int64]
    """(n,) places of the upright plate's columns along the line, in the other's own places."""
    low: NDArray[np.float64]
    """(n,) the lower corner of each column's top, over the sloping plate's middle."""
    high: NDArray[np.float64]
    """(n,) the higher corner of it."""
    row: float
    """Where they cross, in the sloping plate's own rows of beads."""
    needed: float
    """How long a slot has to be, mm."""


def held_by(slope: Solid, wall: Solid) -> tuple[list[Finding], bool]:
    """What is wrong where a plate that slopes lies on another; whether that one holds it."""
    line = line_of(slope, wall)
    found = None if line is None else _crossing(slope, wall, *line)
    if line is None or found is None:
        return [], False
    half = pressed(slope).thick_mm / 2
    through = found.low >= half - TOLERANCE_MM
    if (through != (found.high > -half + TOLERANCE_MM)).any():
        words = f"{wall.name}: a tab does not go all the way through {slope.name}"
        return [Finding(words, wall.name)], False
    if not through.any():
        return [], False
    rests = ~through & (found.high >= -half - REST_MM)
    tabs, shoulders = found.along[through], found.along[rests]
    middle = tabs.mean()
    if not len(shoulders) or not shoulders.min() < middle < shoulders.max():
        words = f"{slope.name}: does not lie on {wall.name} on either side of its tabs"
        return [Finding(words, slope.name)], False
    words = _what_is_wrong(slope, wall, line[0], found, tabs)
    return ([Finding(words, wall.name)] if words else []), not words


def _crossing(slope: Solid, wall: Solid, mine: int, theirs: int) -> _Crossing | None:
    """Where two plates cross that share a line along an axis of either; None: they do not."""
    normal = direction(slope, slope.axis)
    middles = middles_mm(wall)
    pitch = pressed(slope).pitch_mm
    across = (middles - middles_mm(slope)[0]) @ normal
    if across.mean() > 0:
        normal, across = -normal, -across
    up = 3 - wall.axis - theirs
    steep = float(direction(wall, up) @ normal)
    foot = middles[0] - direction(wall, up) * (across[0] / steep)
    place = (foot / pitch - turn_of(slope).shift) @ turn_of(slope).matrix - 0.5
    row = float(place[3 - slope.axis - mine])
    rows = slope.voxels[:, 3 - slope.axis - mine]
    if not rows.min() - 0.5 < row < rows.max() + 0.5:
        return None
    places = (middles / pitch - turn_of(slope).shift) @ turn_of(slope).matrix - 0.5
    columns = np.rint(places[:, mine]).astype(np.int64)
    near = (columns >= slope.voxels[:, mine].min()) & (columns <= slope.voxels[:, mine].max())
    if not near.any():
        return None
    across = across[near]
    along, column = np.unique(columns[near], return_inverse=True)
    top = np.full(len(along), -np.inf)
    np.maximum.at(top, column, across)
    top += pressed(wall).wide_mm / 2 * abs(steep)
    aslant = float(direction(wall, wall.axis) @ normal)
    side = pressed(wall).thick_mm / 2 * abs(aslant)
    needed = pressed(wall).thick_mm + pressed(slope).thick_mm * abs(aslant)
    return _Crossing(along, top - side, top + side, row, needed / abs(steep))


def _what_is_wrong(
    slope: Solid, wall: Solid, mine: int, found: _Crossing, tabs: NDArray[np.int64]
) -> str:
    """Why slots do not hold the tabs in them; empty when they do."""
    down = 3 - slope.axis - mine
    rows, columns = (slope.voxels[:, a] - slope.voxels[:, a].min() + 1 for a in (down, mine))
    kept = np.zeros((int(rows.max()) + 2, int(columns.max()) + 2), dtype=bool)
    kept[rows.astype(int), columns.astype(int)] = True
    holes = components(~kept)
    row = round(found.row - float(slope.voxels[:, down].min()) + 1 - 1e-6)
    first = int(slope.voxels[:, mine].min()) - 1
    here = pressed(slope)
    for _, run in groupby(enumerate(tabs.tolist()), key=lambda n: n[1] - n[0]):
        run_ = [place - first for _, place in run]
        number = int(holes[row, run_[0]])
        hole = holes == number
        across = np.flatnonzero(hole.any(axis=0))
        high = int(hole.any(axis=1).sum())
        if number == holes[0, 0]:
            return f"{wall.name}: a tab has no slot that is closed all round in {slope.name}"
        if across.tolist() != run_ or hole.sum() != high * len(run_):
            return f"{wall.name}: nothing grips both ends of a tab in {slope.name}"
        if len(run_) < LEAST_TAB:
            return f"{wall.name}: a tab of a single bead stands in {slope.name}"
        shorter = high * here.pitch_mm - here.wide_mm
        if high > 1 and found.needed < shorter - LOOSE_SHARE * here.pitch_mm:
            return f"{wall.name}: a slot in {slope.name} is longer than its tab needs"
    return ""
