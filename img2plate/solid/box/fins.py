"""Fins: flat plates that stand out of a face, upright in a slot: ears, wings, signs, tails.

Seen along the face, with a tab in the middle of its lowest row and a shoulder on either side of it:

      FFFFFF
      FFFFFF        F the fin, its lowest row on the face
    hhhFFFFhhh      h the host; the tab fills its slot, and may reach further in

With a collar, a plate of two beads all round the tab lies on the face and the shoulders stand on
it. Fins that cross on one face are halved into each other (`halved`).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from img2plate.base.arrays import Cells
from img2plate.base.errors import FigureError
from img2plate.colour.palette import Palette
from img2plate.plate.plate import EMPTY, Plate
from img2plate.solid.box.collar import make_collar
from img2plate.solid.box.cut import cell_name
from img2plate.solid.box.halved import halve
from img2plate.solid.box.joins import as_seen
from img2plate.solid.box.lean import Support, lean_words
from img2plate.solid.box.part import Part
from img2plate.solid.box.standing import Standing
from img2plate.solid.check.lattice import Held
from img2plate.solid.faces import FAR, NORMAL
from img2plate.solid.fit.model import FitModel
from img2plate.solid.lines import on_line
from img2plate.solid.piece import Piece
from img2plate.solid.spec import FinSpec

_SHOULDERED = 4
"""Beads of the lowest row for each tab: two of it and a shoulder on either side."""
_SEEN = {0: "right", 1: "front", 2: "top"}


@dataclass(frozen=True, eq=False)
class Fin:
    """A fin's plates, how far it sways, in words, and what that counts on."""

    pieces: tuple[Piece, ...]
    said: str
    held: tuple[Held, ...]


def make_fins(
    specs: Sequence[FinSpec],
    parts: Mapping[str, Part],
    palette: Palette,
    thickness_mm: float,
    model: FitModel,
) -> list[Fin]:
    """Cut the slots of all fins, halve those that cross, and make them.

    Raises FigureError when one does not hold, or would lean too far.
    """
    standing = []
    for spec in specs:
        with on_line(spec.line):
            standing.append(_stand(spec, parts))
    for one, two in combinations(standing, 2):
        with on_line(two.spec.line):
            halve(one, two)
    made = []
    for fin in standing:
        with on_line(fin.spec.line):
            made.append(_make(fin, palette, thickness_mm, model))
    return made


def _stand(spec: FinSpec, parts: Mapping[str, Part]) -> Standing:
    """A fin with its tab, before its slot is cut."""
    part, face = parts[spec.host[0]], spec.host[1]
    panel = part.find(face)
    line = _line(spec, part, panel)
    tab = _tab(spec)
    rows, wide = spec.cells.shape
    deep = spec.depth + spec.collar
    cells = np.concatenate([spec.cells, np.full((deep, wide), EMPTY, np.int16)])
    cells[rows:, tab] = spec.cells[-1, tab]
    out = np.arange(rows + spec.collar, -spec.depth, -1)
    return Standing(spec, part, panel, line, cells, out, NORMAL[face], 1 if face in FAR else -1)


def _make(fin: Standing, palette: Palette, thickness_mm: float, model: FitModel) -> Fin:
    """Cut its slot, put it in, and say how far it sways."""
    spec = fin.spec
    inward = max(_cut(fin))
    support = Support(inward, spec.collar, fin.held_at)
    said = lean_words(spec, support, thickness_mm, model, _behind(fin))
    places = [np.broadcast_to(fin.line[:, a], fin.cells.shape).copy() for a in range(3)]
    places[fin.axis] = places[fin.axis] + fin.out[:, None] * fin.step
    across = next(a for a in range(3) if np.ptp(places[a]) == 0)
    turned, seen = as_seen((places[0], places[1], places[2]), fin.cells, _SEEN[across])
    plate = Plate(seen, palette, spec.name)
    pieces = [Piece("fin", spec.name, "fin", plate, turned, _SEEN[across], thickness_mm)]
    if spec.collar:
        pieces.append(make_collar(fin, palette, thickness_mm))
    level = int(fin.line[0, fin.axis])
    layers = {-inward, int(spec.collar), fin.held_at}
    held = tuple(Held(pieces[0].title, fin.axis, level + n * fin.step) for n in sorted(layers))
    return Fin(tuple(pieces), said, held)


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
    filled = lowest_run(spec.cells)
    least = _SHOULDERED * spec.tabs
    if len(filled) < least or np.ptp(filled) + 1 != len(filled):
        raise FigureError(
            f"{spec.name}: its lowest row has to be one run of at least {least} beads, 2 of them"
            f" over {'the' if spec.tabs == 1 else 'each'} tab and a shoulder on either side"
        )
    shares = np.array_split(filled, spec.tabs)
    return np.concatenate([share[_shoulder(share) : -_shoulder(share)] for share in shares])


def lowest_run(cells: Cells) -> NDArray[np.intp]:
    """Columns of a fin's lowest row that have a bead."""
    return np.flatnonzero(cells[-1] >= 0)


def _shoulder(share: NDArray[np.intp]) -> int:
    """Beads on either side of a tab, of those that it shares with its shoulders."""
    return max(1, len(share) // 5)


def _cut(fin: Standing) -> list[int]:
    """Cut the slot into the face and into each plate behind it that the tab reaches.

    Returns how many layers behind the face each of them is, from 0.
    """
    found = []
    part, tab, inward = fin.part, fin.line[fin.tab], -fin.step
    for number in range(len(part.panels)):
        places = np.stack(part.panels[number].places, axis=-1) + part.spec.at
        if np.ptp(places[..., fin.axis]) != 0:
            continue
        behind = int(places[0, 0, fin.axis] - tab[0, fin.axis]) * inward
        if not 0 <= behind < fin.spec.depth or (behind == 0) != (number == fin.panel):
            continue
        moved = tab.copy()
        moved[:, fin.axis] += behind * inward
        mask = (places[:, :, None, :] == moved).all(axis=-1).any(axis=-1)
        if mask.sum() == len(tab):
            part.cut(number, mask, fin.spec.name)
            found.append(behind)
    return found


def _behind(fin: Standing) -> dict[int, str]:
    """Layers behind a face, from 1, that another plate of the part lies in, and its name."""
    part, axis = fin.part, fin.axis
    levels = [(int(np.ptp(p.places[axis])), int(p.places[axis].flat[0])) for p in part.panels]
    here = levels[fin.panel][1]
    return {abs(at - here): part.panels[n].name for n, (flat, at) in enumerate(levels)
            if flat == 0 and at != here}  # fmt: skip
