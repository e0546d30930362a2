"""Fins: flat plates that stand out of a face, upright in a slot: ears, wings, signs, tails.

Seen along the face, with a tab in the middle of its lowest row and a shoulder on either side of it:

      FFFFFF
      FFFFFF        F the fin, its lowest row on the face
    hhhFFFFhhh      h the host; the tab fills its slot, and may reach further in
"""

from __future__ import annotations

from collections.abc import Mapping
from math import asin, degrees, hypot, radians, sin

import numpy as np
from numpy.typing import NDArray

from img2plate.base.errors import FigureError
from img2plate.colour.palette import Palette
from img2plate.plate.plate import EMPTY, Plate
from img2plate.solid.box.cut import cell_name
from img2plate.solid.box.joins import as_seen
from img2plate.solid.box.part import Part
from img2plate.solid.faces import FAR, NORMAL
from img2plate.solid.fit.model import FitModel
from img2plate.solid.piece import Piece
from img2plate.solid.spec import FinSpec

LEAN_DEGREES, LEAN_BEADS = 6.0, 4
"""A fin that leans more and stands higher needs a second layer to hold it; a guess."""
_SHOULDERED = 4
"""Beads of the lowest row for each tab: two of it and a shoulder on either side."""
_SEEN = {0: "right", 1: "front", 2: "top"}


def make_fin(
    spec: FinSpec, parts: Mapping[str, Part], palette: Palette, thickness_mm: float, model: FitModel
) -> tuple[Piece, str]:
    """Cut the slot and make the fin; also how far it sways, in words.

    Raises FigureError when it does not hold, or would lean too far.
    """
    part, face = parts[spec.host[0]], spec.host[1]
    panel = part.find(face)
    line = _line(spec, part, panel)
    tab = _tab(spec)
    axis, step = NORMAL[face], 1 if face in FAR else -1
    layers = _cut(spec, part, panel, line[tab], axis, -step)
    said = _lean(spec, layers, thickness_mm, model, _behind(part, panel, axis))
    rows, wide = spec.cells.shape
    cells = np.concatenate([spec.cells, np.full((spec.depth, wide), EMPTY, np.int16)])
    cells[rows:, tab] = spec.cells[-1, tab]
    out = np.arange(rows, -spec.depth, -1)[:, None] * step
    places = [np.broadcast_to(line[:, a], cells.shape).copy() for a in range(3)]
    places[axis] = places[axis] + out
    across = next(a for a in range(3) if np.ptp(places[a]) == 0)
    turned, seen = as_seen((places[0], places[1], places[2]), cells, _SEEN[across])
    plate = Plate(seen, palette, spec.name)
    return Piece("fin", spec.name, "fin", plate, turned, _SEEN[across], thickness_mm), said


def _line(spec: FinSpec, part: Part, panel: int) -> NDArray[np.int64]:
    """(w, 3) figure coordinates of the host's cells below each column of the fin."""
    x, y, z = part.panels[panel].places
    height, width = x.shape
    column, row = spec.at
    run = np.arange(spec.cells.shape[1])
    rows, columns = (row + run, column + 0 * run) if spec.upright else (row + 0 * run, column + run)
    if min(column, row) < 0 or rows.max() >= height or columns.max() >= width:
        raise FigureError(
            f"{spec.name}: {len(run)} beads from {cell_name(row, column)} reach over"
            f" {' '.join(spec.host)}, which is {width} x {height}"
        )
    return np.stack([axis[rows, columns] for axis in (x, y, z)], axis=1) + part.spec.at


def _tab(spec: FinSpec) -> NDArray[np.intp]:
    """Columns of the tabs: those of the lowest row but for shoulders at both ends and between."""
    filled = np.flatnonzero(spec.cells[-1] >= 0)
    least = _SHOULDERED * spec.tabs
    if len(filled) < least or np.ptp(filled) + 1 != len(filled):
        raise FigureError(
            f"{spec.name}: its lowest row has to be one run of at least {least} beads, 2 of them"
            f" over {'the' if spec.tabs == 1 else 'each'} tab and a shoulder on either side"
        )
    shares = np.array_split(filled, spec.tabs)
    return np.concatenate([share[_shoulder(share) : -_shoulder(share)] for share in shares])


def _shoulder(share: NDArray[np.intp]) -> int:
    """Beads on either side of a tab, of those that it shares with its shoulders."""
    return max(1, len(share) // 5)


def _cut(
    spec: FinSpec, part: Part, panel: int, tab: NDArray[np.int64], axis: int, inward: int
) -> list[int]:
    """Cut the slot into the face and into each plate behind it that the tab reaches.

    Returns how many layers behind the face each of them is, from 0.
    """
    found = []
    for number in range(len(part.panels)):
        places = np.stack(part.panels[number].places, axis=-1) + part.spec.at
        if np.ptp(places[..., axis]) != 0:
            continue
        behind = int(places[0, 0, axis] - tab[0, axis]) * inward
        if not 0 <= behind < spec.depth or (behind == 0) != (number == panel):
            continue
        moved = tab.copy()
        moved[:, axis] += behind * inward
        mask = (places[:, :, None, :] == moved).all(axis=-1).any(axis=-1)
        if mask.sum() == len(tab):
            part.cut(number, mask, spec.name)
            found.append(behind)
    return found


def _behind(part: Part, panel: int, axis: int) -> dict[int, str]:
    """Layers behind a face, from 1, that another plate of the part lies in, and its name."""
    levels = [(int(np.ptp(p.places[axis])), int(p.places[axis].flat[0])) for p in part.panels]
    here = levels[panel][1]
    return {abs(at - here): part.panels[n].name for n, (flat, at) in enumerate(levels)
            if flat == 0 and at != here}  # fmt: skip


def _lean(
    spec: FinSpec, layers: list[int], t: float, model: FitModel, behind: dict[int, str]
) -> str:
    """How far a fin sways, in words. Raises FigureError where it would lean too far.

    layers: those that its tab goes through, from 0; behind: those that it could reach.
    """

    def angle_at(layer: int) -> float:
        return lean_degrees(model.opening_mm(1, t), layer * model.pitch_mm + t, t)

    angle = angle_at(max(layers))
    high = len(spec.cells) * model.pitch_mm
    said = f"{spec.name} leans up to {angle:.1f} degrees, {_sway(high, angle)} at its top"
    if angle <= LEAN_DEGREES or len(spec.cells) <= LEAN_BEADS or spec.may_lean:
        return said
    good = next((n for n in sorted(behind) if angle_at(n) <= LEAN_DEGREES), 0)
    if good:
        offer = f"`depth = {good + 1}` lets its tab reach the {behind[good]}"
    else:
        good = next((n for n in range(1, spec.depth + 40) if angle_at(n) <= LEAN_DEGREES), 1)
        offer = (
            f"put a shelf or a divider {good} layers behind the face and say `depth = {good + 1}`"
        )
    raise FigureError(
        f"{said}: too far for {len(spec.cells)} beads of height; {offer}, so that it sways"
        f" {_sway(high, angle_at(good))}, or say `leans = true`"
    )


def _sway(high_mm: float, angle: float) -> str:
    """How far the top of a fin moves, in words."""
    return f"{high_mm * sin(radians(angle)):.1f} mm"


def lean_degrees(slot_mm: float, depth_mm: float, thickness_mm: float) -> float:
    """Angle a at which a plate in a slot touches both its rims: s cos a - h sin a = t."""
    if slot_mm <= thickness_mm:
        return 0.0
    long = hypot(slot_mm, depth_mm)
    return degrees(asin(slot_mm / long) - asin(thickness_mm / long))
