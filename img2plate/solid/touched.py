"""A figure whose plates were touched up: judged again, and what breaks it told by its cell.

Colours are free. Cells that gained or lost their bead make strokes, each a patch of such cells
that touch. When the checker refuses the whole, strokes are laid on one after the other, and the
one with which it first refuses is to blame (found by halving).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from img2plate.base.arrays import Cells, Mask
from img2plate.base.errors import FigureError
from img2plate.base.words import many
from img2plate.solid.box.build import Figure
from img2plate.solid.box.cut import cell_name
from img2plate.solid.box.judged import look_at
from img2plate.solid.check.lattice import Finding
from img2plate.solid.check.rules import Report
from img2plate.solid.connected import components
from img2plate.solid.joints import Joint
from img2plate.solid.piece import Piece


@dataclass(frozen=True, eq=False)
class _Stroke:
    """Cells side by side on one plate that gained or lost their bead."""

    plate: int
    cells: Mask
    """(h, w)."""


def touch_up(figure: Figure, cells: Mapping[int, Cells]) -> Figure:
    """The figure with other cells on some of its plates, by their numbers from 0; same sizes.

    Joints keep their letters. Raises FigureError that names plate, column and row, joint and what
    to do, when the plates would not go together any more.
    """
    strokes = [stroke for number in sorted(cells) for stroke in _strokes(figure, number, cells)]
    pieces = _with(figure, cells, strokes)
    report = _judge(figure, pieces) if strokes else figure.report
    if report.findings:
        last, report = _first_bad(figure, cells, strokes, report)
        raise _refusal(figure, cells, strokes[last], report.findings[0])
    return replace(figure, pieces=pieces, report=report, joints_before=figure.joints)


def _strokes(figure: Figure, number: int, cells: Mapping[int, Cells]) -> list[_Stroke]:
    """Patches of a plate's cells that gained or lost their bead."""
    changed = (cells[number] >= 0) != figure.pieces[number].plate.filled
    labels = components(changed)
    return [_Stroke(number, labels == label) for label in range(1, int(labels.max()) + 1)]


def _with(
    figure: Figure, cells: Mapping[int, Cells], strokes: Sequence[_Stroke]
) -> tuple[Piece, ...]:
    """All plates in their new colours, with some of the strokes."""
    pieces = list(figure.pieces)
    laid = {}
    for number, new in cells.items():
        old = pieces[number].plate.cells
        laid[number] = np.where((old >= 0) & (new >= 0), new, old)
    for stroke in strokes:
        laid[stroke.plate][stroke.cells] = cells[stroke.plate][stroke.cells]
    for number, done in laid.items():
        plate = replace(pieces[number].plate, cells=done.astype(np.int16))
        pieces[number] = replace(pieces[number], plate=plate)
    return tuple(pieces)


def _judge(figure: Figure, pieces: Sequence[Piece]) -> Report:
    return look_at(figure.spec, pieces, figure.rods, figure.hinges, held=figure.held)


def _first_bad(
    figure: Figure, cells: Mapping[int, Cells], strokes: Sequence[_Stroke], report: Report
) -> tuple[int, Report]:
    """A stroke with which the checker refuses what it took without it, and what it says then."""
    good, bad = 0, len(strokes)
    while bad - good > 1:
        middle = (good + bad) // 2
        found = _judge(figure, _with(figure, cells, strokes[:middle]))
        if found.findings:
            bad, report = middle, found
        else:
            good = middle
    return bad - 1, report


def _refusal(
    figure: Figure, cells: Mapping[int, Cells], stroke: _Stroke, finding: Finding
) -> FigureError:
    """What a stroke breaks, where, and what to do."""
    piece, number = figure.pieces[stroke.plate], stroke.plate
    joints = [joint for joint in figure.joints if number in joint.plates]
    named = [j for j in joints if _other(figure, j, number).title in finding.words]
    lines = {joint.number: _line_of(piece, _other(figure, joint, number)) for joint in joints}
    met = [j for j in named or joints if (lines[j.number] & stroke.cells).any()]
    on_line = np.any([lines[joint.number] for joint in met], axis=0) if met else stroke.cells
    here = _place(piece, finding) & stroke.cells
    row, column = np.argwhere(here if here.any() else on_line & stroke.cells)[0].tolist()
    how, todo = _hands(cells[number][stroke.cells] >= 0)
    where = f", at {_letters(named)}" if named else f" ({_letters(met)})" if met else ""
    return FigureError(
        f"{figure.spec.name}: plate {number + 1}, {piece.title}, {cell_name(row, column)}:"
        f" {how}, {_said(figure, finding, piece)}{where}; {todo}"
    )


def _hands(filled: Mask) -> tuple[str, str]:
    """What was done to cells, (n,) whether each has a bead now, and what to do about it."""
    number = len(filled)
    beads = "this bead" if number == 1 else f"these {many(number, 'cell')}"
    if filled.all():
        return f"with {beads}", f"take {'it' if number == 1 else 'beads'} out again"
    if not filled.any():
        return f"without {beads}", f"put {'it' if number == 1 else 'beads'} back, in any colour"
    return f"as {beads} are now", "make it as it was, in any colour"


def _said(figure: Figure, finding: Finding, piece: Piece) -> str:
    """What the checker found, as a part of a sentence that has named the plate."""
    if finding.words.startswith("a bead is in "):
        pair = finding.words.removeprefix("a bead is in ").split(" and in ")
        return f"{next((p for p in pair if p != piece.title), pair[0])} has a bead there, too"
    title, _, words = finding.words.partition(": ")
    if title not in {each.title for each in figure.pieces}:
        return finding.words.replace(": their fingers are", " have fingers")
    if words.startswith(("nothing ", "neither ", "no ", "a ", "its ", "fewer ")):
        return words if title == piece.title else finding.words
    if words == "is no flat plate":  # in any other way touching up cannot make it so
        words = "has no bead left"
    be = "is " if words.startswith(("in ", "gripped ")) else ""
    return f"{'it' if title == piece.title else title} {be}{words}"


def _other(figure: Figure, joint: Joint, number: int) -> Piece:
    """The plate on the other side of a joint."""
    one, two = joint.plates
    return figure.pieces[two if one == number else one]


def _line_of(piece: Piece, other: Piece) -> Mask:
    """(h, w) cells of a plate in the layer of another one, which are those of their joint.

    None of them where either slopes otherwise than the other.
    """
    if piece.turn != other.turn:
        return np.zeros(piece.plate.cells.shape, dtype=bool)
    low, high = other.voxels.min(axis=0), other.voxels.max(axis=0)
    near = [(at >= low[a]) & (at <= high[a]) for a, at in enumerate(piece.places)]
    return np.asarray(near[0] & near[1] & near[2])


def _place(piece: Piece, finding: Finding) -> Mask:
    """(h, w) the cell of a plate that the checker names."""
    if finding.place is None:
        return np.zeros(piece.plate.cells.shape, dtype=bool)
    found = [axis == at for axis, at in zip(piece.places, finding.place, strict=True)]
    return np.asarray(found[0] & found[1] & found[2])


def _letters(joints: Sequence[Joint]) -> str:
    """ "joint A", "joints A and C"."""
    names = [joint.letter for joint in joints]
    if len(names) == 1:
        return f"joint {names[0]}"
    return f"joints {', '.join(names[:-1])} and {names[-1]}"
