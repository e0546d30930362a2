"""Joints beside empty cells, tried again where the first ones do not hold.

Each edge is laid out by itself, so beside empty cells a plate may come out in two pieces, or two
plates meet in one corner alone. Then single beads of edges are settled beforehand, as a person
would do it, and all is laid out again: a bead that hangs on nothing goes to its other face, a strip
of the edge beside a hole joins what lies on either side of it, a corner goes to the third face.
What still does not hold is left as it was, for the checker to say so.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from itertools import islice
from typing import Any

import numpy as np
from numpy.typing import NDArray

from img2plate.base.errors import FigureError
from img2plate.solid.box.laid import Place
from img2plate.solid.box.part import Part, Tips
from img2plate.solid.check.lattice import Exceptions, Finding, Solid
from img2plate.solid.check.rules import check
from img2plate.solid.connected import components
from img2plate.solid.faces import FACES, NORMAL, edge_places, face_places, layer
from img2plate.solid.spec import PartSpec

_ROUNDS, _TRIED = 6, 24
_SMALL = 3
"""Beads of a piece that may go to another face."""
Change = dict[Place, str]
"""Beads that are settled, and the face that each goes to."""


def mended(part: Part, again: Callable[[Tips], Part]) -> Part:
    """A part whose plates hold each other, if settling a few beads is enough; else as it was.

    again: lays the part out anew, with beads that are settled.
    """
    if not any((cells < 0).any() for cells in part.spec.cells.values()):
        return part
    best, wrong, settled = part, _findings(part), Change()
    for _ in range(_ROUNDS):
        if not wrong:
            return best
        for change in islice(_changes(best, wrong[0]), _TRIED):
            try:
                tried = again(Tips(of=settled | change))
            except FigureError:
                continue
            found = _findings(tried)
            if _badness(found) < _badness(wrong):
                best, wrong, settled = tried, found, settled | change
                break
        else:
            return part
    return part if wrong else best


def _findings(part: Part) -> tuple[Finding, ...]:
    """What the checker says of the shell by itself; plates are named as their faces."""
    solids = [
        Solid(panel.name, "", part.voxels(number) - part.spec.at, NORMAL[panel.seen])
        for number, panel in enumerate(part.panels)
    ]
    if not all(len(solid.voxels) for solid in solids):
        return ()  # told of elsewhere
    lids = {role: frozenset(p.name for p in part.panels if p.role == role)
            for role in ("lid", "slide")}  # fmt: skip
    allowed = Exceptions(sliding=lids["slide"], tabbed=lids["lid"],
                         lids=lids["lid"] | lids["slide"])  # fmt: skip
    return check(solids, [solid.voxels for solid in solids], allowed).findings


def _badness(found: tuple[Finding, ...]) -> tuple[int, int]:
    """Plates in pieces count most: as long as there are any, nothing else is looked at."""
    pieces = sum(int(n) - 1 for f in found for n in re.findall(r"in (\d+) pieces", f.words))
    return pieces, len(found)


def _changes(part: Part, finding: Finding) -> Iterator[Change]:
    """Ways to settle beads that may mend what was found, the likeliest first."""
    if " pieces" in finding.words:
        yield from _rejoined(part, finding)
        return
    faces = [word for word in re.findall(r"\w+", finding.words) if word in part.spec.faces]
    if len(faces) != 2:
        return
    one, two = sorted(faces, key=FACES.index)
    edge = _beads(np.stack(edge_places(one, two, part.spec.size), axis=1))
    filled = [(x, y, z) for x, y, z in edge if part.beads[x, y, z] >= 0]
    for place in filled:
        for third in set(_faces_of(part.spec, place)) - set(faces):
            yield {place: third}
    if finding.place is not None:
        filled.sort(key=lambda place: sum(abs(a - b) for a, b in zip(place, finding.place or (),
                                                                      strict=True)))  # fmt: skip
    for place in filled:
        yield from ({place: face} for face in faces if not _is_of(part, place, face))


def _is_of(part: Part, place: Place, face: str) -> bool:
    owner = int(part.owner[place])
    return owner >= 0 and part.panels[owner].name == face


def _faces_of(spec: PartSpec, place: Place) -> list[str]:
    """The faces that have a plate and a bead there."""
    return [face for face in FACES if face in spec.faces
            and place[NORMAL[face]] == layer(face, spec.size)]  # fmt: skip


def _rejoined(part: Part, finding: Finding) -> Iterator[Change]:
    """A piece of a few beads goes to other faces; or a strip of an edge joins two pieces."""
    number = next(n for n, panel in enumerate(part.panels) if panel.name == finding.plate)
    face, places = finding.plate, np.stack(part.panels[number].places, axis=-1)
    labels = components(part.kept(number))
    counts = np.bincount(labels.ravel())[1:]
    for piece in np.flatnonzero(counts <= _SMALL) + 1:
        beads = _beads(places[labels == piece])
        others = [[f for f in _faces_of(part.spec, bead) if f != face] for bead in beads]
        if all(others):
            yield {bead: to[0] for bead, to in zip(beads, others, strict=True)}
            yield {bead: to[-1] for bead, to in zip(beads, others, strict=True)}
    if face not in FACES or not np.array_equal(places, _face(part, face)):
        return
    painted = part.beads[part.panels[number].places] >= 0
    for view in (slice(None), slice(None, None, -1)):
        for turned in (False, True):
            rows = [grid.swapaxes(0, 1) if turned else grid for grid in (labels, places, painted)]
            yield from _bridges(face, rows[0][view], rows[1][view], rows[2][view])


def _beads(places: NDArray[Any]) -> list[Place]:
    """(n, 3) places as tuples."""
    return [(x, y, z) for x, y, z in places.tolist()]


def _face(part: Part, face: str) -> NDArray[np.int64]:
    return np.stack(face_places(face, part.spec.size), axis=-1)


def _bridges(
    face: str, labels: NDArray[Any], places: NDArray[Any], painted: NDArray[Any]
) -> Iterator[Change]:
    """Strips of a face's first row that would join two of its pieces."""
    near = np.where(labels[0] > 0, labels[0], labels[1]) * painted[0]
    start = -1
    for at, label in enumerate(near.tolist()):
        if not painted[0, at]:
            start = -1
        elif label:
            if start >= 0 and near[start] != label:
                yield dict.fromkeys(_beads(places[0, start : at + 1]), face)
            start = at
