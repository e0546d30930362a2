"""Where plates stand in a drawing: together, pulled apart, or part-way through assembly."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from math import ceil
from typing import Any

import numpy as np
from numpy.typing import NDArray

from img2plate.solid.box.build import Figure
from img2plate.solid.check.lattice import Step
from img2plate.solid.joints import Joint
from img2plate.solid.piece import Piece
from img2plate.typeset.figure.groups import groups_of
from img2plate.typeset.figure.slabs import Slab
from img2plate.typeset.figure.step_words import first_words, push_words, way_words

Shift = NDArray[Any]
"""(3,) beads along x, y, z; whole ones, but for what slopes or comes along a slope."""
Box = tuple[Shift, Shift]
"""First and last place."""
APART = 0.7
"""How far walls move out, as a share of their part's longest side."""
_ROOM = 3
"""Beads between groups that are pulled apart."""


def slab_of(
    figure: Figure, piece: Piece, shift: Shift | None = None, *, faint: bool = False
) -> Slab:
    """A plate as a slab, perhaps moved."""
    model, t = figure.spec.model, piece.thickness_mm
    voxels, turn = piece.voxels, piece.turn
    if shift is not None and turn is not None:
        turn = turn.moved(shift)
    elif shift is not None:
        voxels = voxels + np.rint(shift).astype(np.int64)
    colours = piece.plate.cells[piece.plate.filled]
    pitch = model.pitch_mm
    return Slab(voxels, colours, piece.axis, t / pitch, model.hole_mm(t) / pitch, faint, turn)


def step_of(figure: Figure, piece: Piece) -> Step:
    """How a plate comes into its group."""
    return next(s for s in figure.report.orders[piece.group] if s.name == piece.title)


def apart(figure: Figure) -> dict[str, Shift]:
    """For each plate's title, where it stands when the figure is pulled apart."""
    shifts = {piece.title: _out(figure, piece) for piece in figure.pieces}
    by_group = groups_apart(figure, shifts)
    return {p.title: shifts[p.title] + by_group[p.group] for p in figure.pieces}


def _out(figure: Figure, piece: Piece) -> Shift:
    """A wall moves out along its normal; lids and what slides along the way they come."""
    shift = np.zeros(3, dtype=np.int64)
    if piece.role in ("shelf", "divider"):
        return shift
    members = [p for p in figure.pieces if p.group == piece.group]
    collar = next((p for p in members if p.role == "collar"), None)
    if collar is not None:  # the fin stands off it on the way it came
        reach = int(np.ptp(members[0].voxels[:, collar.axis])) // 2 + 2
        shift[collar.axis] = 0 if piece is collar else collar.outward * reach
        return shift
    if piece.role in ("strip", "fin"):
        if len(members) > 1:
            shift[piece.axis] = 2 * (1 if piece is members[0] else -1)
        return shift
    low, high = _bounds(members)
    reach = ceil(APART * float((high - low).max() + 1))
    if piece.turn is not None:
        return piece.normal * reach
    if piece.role == "slide":
        step = step_of(figure, piece)
        shift[step.axis] = step.step * reach
        shift[piece.axis] += piece.outward * reach
        return shift
    shift[piece.axis] = piece.outward * reach
    return shift


def groups_apart(figure: Figure, shifts: Mapping[str, Shift] | None = None) -> dict[str, Shift]:
    """How far each group stands off, by name, its plates together or moved by `shifts`.

    Groups go with what they stand on, then on the way they come, until no box has two.
    """
    placed: list[Box] = []
    moved: dict[str, Shift] = {}
    for step in _group_steps(figure):
        low, high = _box(figure, step.name, shifts)
        shift = _carried(figure, step, moved)
        while any(_meet((low + shift, high + shift), box, _ROOM) for box in placed):
            shift[step.axis] += step.step
        placed.append((low + shift, high + shift))
        moved[step.name] = shift
    return moved


def _group_steps(figure: Figure) -> list[Step]:
    """Steps of what is made of plates; rods are not."""
    made = {piece.group for piece in figure.pieces}
    return [step for step in figure.report.orders[""] if step.name in made]


def _box(figure: Figure, group: str, shifts: Mapping[str, Shift] | None = None) -> Box:
    """First and last place of a group, perhaps with its plates moved."""
    members = [p for p in figure.pieces if p.group == group]
    off = [shifts[p.title] if shifts else 0 for p in members]
    lows = [p.bounds[0] + o for p, o in zip(members, off, strict=True)]
    highs = [p.bounds[1] + o for p, o in zip(members, off, strict=True)]
    return np.min(lows, axis=0), np.max(highs, axis=0)


def _bounds(pieces: Sequence[Piece]) -> Box:
    """First and last place of some plates."""
    lows, highs = zip(*(piece.bounds for piece in pieces), strict=True)
    return np.min(lows, axis=0), np.max(highs, axis=0)


def _meet(one: Box, two: Box, room: int) -> bool:
    """Whether two boxes are nearer than some beads to each other."""
    return bool((one[0] - room <= two[1]).all() and (one[1] + room >= two[0]).all())


def _carried(figure: Figure, step: Step, moved: Mapping[str, Shift]) -> Shift:
    """How far the groups have moved that a group touches: the farthest along its way."""
    mine = _box(figure, step.name)
    touching = [shift for name, shift in moved.items() if _meet(mine, _box(figure, name), 1)]
    start = max(touching, key=lambda s: int(s[step.axis]) * step.step, default=None)
    return np.zeros(3, dtype=np.int64) if start is None else start.copy()


@dataclass(frozen=True, eq=False)
class Scene:
    """One step of putting a figure together."""

    words: str
    there: tuple[Piece, ...]
    coming: tuple[Piece, ...]
    shift: Shift | None
    """How far what comes stands off, on the way it comes; None: it is laid down."""


def scenes(figure: Figure) -> list[Scene]:
    """All steps: sub-assemblies first, equal ones once; then whole groups."""
    found: list[Scene] = []
    joints = figure.joints
    numbers = {piece.title: number for number, piece in enumerate(figure.pieces)}
    for group in groups_of(figure):
        there: tuple[Piece, ...] = ()
        steps = figure.report.orders[group.name]
        for place, step in enumerate(steps if len(steps) > 1 else ()):
            number = numbers[step.name]
            piece = figure.pieces[number]
            shift, words = None, first_words(number)
            if place:
                shift = _coming((piece,), step, there)
                words = push_words([number], {numbers[p.title] for p in there}, joints)
                words += f", {way_words(step)}"
            found.append(Scene(f"{group.words}: {words}", there, (piece,), shift))
            there = (*there, piece)
    return found + _group_scenes(figure, numbers, joints)


def _group_scenes(
    figure: Figure, numbers: Mapping[str, int], joints: Sequence[Joint]
) -> list[Scene]:
    """Whole parts and strips put together."""
    found: list[Scene] = []
    there: tuple[Piece, ...] = ()
    for step in figure.report.orders[""]:
        members = tuple(p for p in figure.pieces if p.group == step.name)
        if there and not members:  # a rod, which is no plate
            words = f"{step.name}: put the rod in {way_words(step)}"
            found.append(Scene(words, there, (), None))
        elif there:
            shift = _coming(members, step, there)
            mine, others = ([numbers[p.title] for p in some] for some in (members, there))
            words = f"{step.name}: {push_words(mine, set(others), joints)}, {way_words(step)}"
            found.append(Scene(words, there, members, shift))
        there = (*there, *members)
    return found


def slabs_of(figure: Figure, scene: Scene) -> list[Slab]:
    """A step as it is drawn: what is there is faint, what comes stands off the way it came.

    A plate that is laid down lies level, also one that slopes in the end.
    """
    first = None if scene.there or len(scene.coming) != 1 else scene.coming[0]
    if first is not None and first.turn is not None:
        return [slab_of(figure, replace(first, turn=first.turn.levelled(first.normal)))]
    return [
        *(slab_of(figure, piece, faint=True) for piece in scene.there),
        *(slab_of(figure, piece, scene.shift) for piece in scene.coming),
    ]


def _coming(pieces: Sequence[Piece], step: Step, there: Sequence[Piece]) -> Shift:
    """How far something stands off before it is pushed in."""
    if step.along is not None:
        along = np.array(step.along)
        around = np.concatenate([p.corners for p in there]) @ along
        mine = np.concatenate([p.corners for p in pieces]) @ along
        shift = along * max(5.0, float(around.max() - mine.min()) + 1)
        return shift if all(p.turn for p in pieces) else np.rint(shift).astype(np.int64)
    (low, high), (first, last) = _bounds(pieces), _bounds(there)
    shift = np.zeros(3, dtype=np.int64)
    if step.step > 0:
        shift[step.axis] = max(3, int(last[step.axis] - low[step.axis]) + 2)
    else:
        shift[step.axis] = -max(3, int(high[step.axis] - first[step.axis]) + 2)
    return shift
