"""A part with what is inside it: shelves and dividers, and the openings of its faces.

A plate inside lies square to some walls, with a tab through the middle of each of them, or as near
as windows let it. Two dividers that cross are halved: one has the lower beads of the line where
they meet, the other the upper ones.
"""

from __future__ import annotations

from functools import partial

import numpy as np
from numpy.typing import NDArray

from img2plate.base.arrays import Mask
from img2plate.base.errors import FigureError
from img2plate.plate.plate import EMPTY
from img2plate.solid.box.cut import check_cut, rectangle
from img2plate.solid.box.mend import mended
from img2plate.solid.box.part import RAIL, Panel, Part, Tips, build_shell
from img2plate.solid.faces import FACES, FAR, NORMAL, face_places
from img2plate.solid.lines import on_line
from img2plate.solid.spec import DividerSpec, OpeningSpec, PartSpec, ShelfSpec

TAB_MARGIN = 3
"""Beads that a tab keeps from the ends of its wall."""
_SEEN = {0: "right", 1: "front", 2: "top"}


def build_part(spec: PartSpec, tips: Tips | None = None) -> Part:
    """Build the shell, then put in shelves, dividers and openings.

    tips: beads that are settled already. Raises FigureError with what cannot be built, and where.
    """
    part = build_shell(spec, tips)
    if tips is None:
        part = mended(part, partial(build_shell, spec))
    for shelf in spec.shelves:
        with on_line(shelf.line):
            _put_shelf(part, shelf)
    for divider in spec.dividers:
        with on_line(divider.line):
            _put_divider(part, divider)
    for opening in spec.openings:
        with on_line(opening.line):
            _cut_opening(part, opening)
    return part


def _cut_opening(part: Part, opening: OpeningSpec) -> None:
    """Take an opening's beads out of its face."""
    panel = part.find(opening.face)
    plate = f"{part.spec.name} {opening.face}"
    shape = part.panels[panel].places[0].shape
    mask = rectangle((shape[0], shape[1]), opening.cells, opening.at, opening.name, plate)
    part.cut(panel, mask, opening.name)


def _put_shelf(part: Part, shelf: ShelfSpec) -> None:
    """Lay a plate inside at a level."""
    height, name = part.spec.size[2], f"shelf at {shelf.level}"
    if not 0 < shelf.level < height - 1:
        raise FigureError(f"part {part.spec.name}, {name}: levels go from 1 to {height - 2}")
    inside = _inside(part, 2)
    inside[:, :, : shelf.level] = inside[:, :, shelf.level + 1 :] = False
    if (part.owner[inside] >= 0).any():
        raise FigureError(f"part {part.spec.name}, {name}: another plate lies at that level")
    _put_plate(part, 2, shelf.level, inside, name, "shelf", shelf.colour)


def _put_divider(part: Part, divider: DividerSpec) -> None:
    """Stand a plate inside, from front to back or from left to right."""
    axis, level, size = divider.axis, divider.level, part.spec.size
    side = "left" if axis == 0 else "front"
    name = f"divider {level + 1} from {side}"
    if not 0 < level < size[axis] - 1:
        raise FigureError(
            f"part {part.spec.name}, {name}: inside are beads 2 to {size[axis] - 1} from the {side}"
        )
    inside = _inside(part, axis)
    inside &= np.arange(size[axis]).reshape([-1 if a == axis else 1 for a in range(3)]) == level
    if divider.high:
        inside[:, :, 1 + divider.high :] = False
    crossed = {int(n) for n in np.unique(part.owner[inside]) if n >= 0}
    for number in crossed:
        _halve(part, number, inside, name)
    _put_plate(part, axis, level, inside, name, "divider", divider.colour)


def _halve(part: Part, number: int, inside: NDArray[np.bool_], name: str) -> None:
    """Make room for a divider in another one: it keeps the lower beads where they meet."""
    panel = part.panels[number]
    if panel.role != "divider":
        raise FigureError(
            f"part {part.spec.name}, {name}: goes through {panel.name}; say how `high` it is"
        )
    _lower(part, number)
    line = np.argwhere(inside & (part.owner == number))
    column = part.owner[line[0, 0], line[0, 1], 1:-1] == number
    if np.flatnonzero(column).max() + 1 > line[:, 2].max() or len(line) < 2:
        raise FigureError(
            f"part {part.spec.name}, {name}: {panel.name} stands higher; name the lower one first"
        )
    middle = np.sort(line[:, 2])[len(line) // 2]
    for x, y, z in line.tolist():
        if z >= middle:
            part.owner[x, y, z] = -1
        else:
            inside[x, y, z] = False


def _lower(part: Part, number: int) -> None:
    """Take a divider's top row and tab away: the other one is lowered in over it."""
    tab = part.owner[:, :, -1] == number
    if tab.any():
        part.owner[:, :, -1][tab] = part.find("top")
        row = part.owner[:, :, -2] == number
        part.owner[:, :, -2][row], part.beads[:, :, -2][row] = -1, EMPTY


def _inside(part: Part, axis: int) -> NDArray[np.bool_]:
    """(W, D, H) where a plate inside, square to an axis, may have beads.

    Not in a wall, nor in or over a lid that slides, nor against one that lifts.
    """
    inside = np.zeros(part.spec.size, dtype=bool)
    inside[1:-1, 1:-1, 1:-1] = True
    lid, side = NORMAL[part.spec.lid_on], part.spec.lid_on in FAR
    layers = np.moveaxis(inside, lid, 0)[:: -1 if side else 1]
    if part.spec.lid == "slide":
        layers[:RAIL] = False
    elif part.spec.lid == "lift" and lid != axis:
        layers[1] = False
    return inside


def _put_plate(
    part: Part, axis: int, level: int, inside: NDArray[np.bool_], name: str, role: str, colour: int
) -> None:
    """Put a plate in where `inside` says, with a tab through each wall that it ends at."""
    number = len(part.panels)
    seen = _SEEN[axis]
    part.panels.append(Panel(name, role, seen, face_places(seen, part.spec.size, level)))
    for wall in FACES:
        if wall not in part.spec.faces or NORMAL[wall] == axis:
            continue
        panel = part.find(wall)
        near = _beside(part, panel, inside)
        if part.panels[panel].role == "lid" or not near.any():
            continue
        mask = _slot_for_tab(part, panel, near, axis, name)
        x, y, z = (places[mask] for places in part.panels[panel].places)
        part.owner[x, y, z] = number
    part.owner[inside] = number
    part.beads[inside] = colour


def _beside(part: Part, panel: int, inside: NDArray[np.bool_]) -> Mask:
    """(h, w) cells of a wall that a plate inside ends at."""
    places = list(part.panels[panel].places)
    axis = NORMAL[part.panels[panel].seen]
    level = places[axis].flat[0]
    places[axis] = places[axis] + (1 if level == 0 else -1)
    return np.asarray(inside[places[0], places[1], places[2]])


def _slot_for_tab(part: Part, panel: int, near: Mask, axis: int, name: str) -> Mask:
    """(h, w) where a tab goes through a wall: in the middle of where the plate ends at it.

    Raises FigureError when there is no room.
    """
    kept = part.kept(panel)
    plate = f"{part.spec.name} {part.panels[panel].name}"
    rows, columns = np.nonzero(near)
    across_plate = part.panels[panel].places[axis]
    upright = bool(across_plate[0, 0] != across_plate[0, -1])
    view = kept.T if upright else kept
    line = int((columns if upright else rows)[0])
    ends = (rows if upright else columns).min(), (rows if upright else columns).max()
    first, last = int(ends[0]), int(ends[1])
    across = last - first + 3
    usual = max(2, (across - 2 * TAB_MARGIN) // 2)
    usual += (across - usual) % 2
    # The wall has to go on to both sides and at both ends of the slot.
    whole = np.asarray(view[line - 1 : line + 2].all(axis=0)).tolist()
    refusal: FigureError | None = None
    for tab in range(usual, 1, -1):
        room = [(abs(2 * start + tab - 1 - first - last), start)
                for start in range(max(2, first), min(last - tab + 2, len(whole) - tab - 1))
                if all(whole[start - 2 : start + tab + 2])]  # fmt: skip
        for _, start in sorted(room):
            mask = np.zeros_like(view)
            mask[line, start : start + tab] = True
            mask = mask.T if upright else mask
            try:
                check_cut(kept, mask, name, plate)
            except FigureError as error:
                refusal = refusal or error
                continue
            return mask
    if refusal is not None:
        raise refusal
    where = f"column {line + 1}" if upright else f"row {line + 1}"
    raise FigureError(
        f"{plate}, {name}: no room in {where} for a tab of 2 beads with 2 beads of wall on"
        f" either side; choose another {'place' if upright else 'level'}, or move the windows"
    )
