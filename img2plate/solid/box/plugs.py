"""Parts that are plugged into a face of another: noses, legs, lamps on a wall.

The side of such a part that faces its host is open, and its walls end in fingers that go through
the host's face (`ring` says which beads do). So no two walls lie back to back. It is built as a
box one layer longer, in the host's layer, of which only the fingers are there.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from itertools import islice, product

import numpy as np
from numpy.typing import NDArray

from img2plate.base.errors import FigureError
from img2plate.solid.box import tubes
from img2plate.solid.box.insides import build_part
from img2plate.solid.box.laid import Place
from img2plate.solid.box.part import Part, Tips
from img2plate.solid.box.ring import Cell, Ring, Wall, best_rings, smallest_ring
from img2plate.solid.check.lattice import Solid
from img2plate.solid.check.rules import check
from img2plate.solid.faces import FACES, FAR, NORMAL, OPPOSITE, Size, face_places, face_size
from img2plate.solid.spec import OpeningSpec, PartSpec

_TRIALS = 40
"""Rings that are looked at to find the size that would do."""
_MOST_MORE = 3
"""Beads more, over all sides, that it may have."""
LEAST_OUT = 2
"""Layers of a plugged part outside its host, its cap among them."""


def build_plug(spec: PartSpec, host: Part) -> Part:
    """Build a plugged part and cut its host's face for its fingers.

    Raises FigureError when it does not hold, with the size that would do.
    """
    part = _shape(spec)
    _cut(spec, part, host)
    return part


def _shape(spec: PartSpec) -> Part:
    """The part, by the best of its rings with which its plates hold each other."""
    refusal: FigureError | None = None
    longer = lengthened(spec)
    if _is_thin(spec):
        tubes.settled(longer)  # a bar that cannot be says so by itself
    for ring in _rings_for(spec):
        tips = _tips(spec, longer.size, ring)
        try:
            part = build_part(longer, tips)
        except FigureError as error:
            refusal = refusal or error
            continue
        if _is_sound(part) and _is_there(part, tips):
            return part
    would = _size_that_would_do(spec.size, OPPOSITE[_host_face(spec)], spec.faces)
    if would is None and refusal is not None:
        raise refusal
    across = " x ".join(str(n) for n in spec.size)
    what = f"{would[0]} x {would[1]} x {would[2]} would do" if would else "fill its empty cells"
    raise FigureError(
        f"part {spec.name}: {across} beads are too small for walls with a finger each that holds in"
        f" {_named(spec)}, or cells are empty where they begin; {what}"
    )


@cache
def _size_that_would_do(size: Size, opened: str, faces: frozenset[str]) -> Size | None:
    """The next larger part without empty cells that can be plugged in; None for the same size."""
    larger = sorted(product(range(3), repeat=3), key=lambda more: (sum(more), max(more), more))
    for more in (m for m in larger if sum(m) <= _MOST_MORE):
        grown = (size[0] + more[0], size[1] + more[1], size[2] + more[2])
        trial = PartSpec("trial", grown, colour=0, open=frozenset(FACES) - faces - {opened},
                         plug=("host", OPPOSITE[opened]))  # fmt: skip
        if _can_be(trial) and any(
            _holds(trial, ring) for ring in islice(_rings_for(trial), _TRIALS)
        ):
            return grown if grown != size else None
    return None


def _is_thin(spec: PartSpec) -> bool:
    """Whether a part is two beads thick across the way in."""
    return any(spec.size[a] == tubes.THICK for a in range(3) if a != _way_in(spec)[0])


def _can_be(spec: PartSpec) -> bool:
    """Whether a part is not two beads thick, or can be a bar."""
    longer = lengthened(spec)
    try:
        if _is_thin(spec):
            tubes.settled(longer)
    except FigureError:
        return False
    return True


def _holds(spec: PartSpec, ring: Ring) -> bool:
    """Whether a part can be built with a ring."""
    longer = lengthened(spec)
    try:
        return _is_sound(build_part(longer, _tips(spec, longer.size, ring)))
    except FigureError:
        return False


def _is_sound(part: Part) -> bool:
    """Whether the plates of a part by itself hold each other and can be put together."""
    solids = [Solid(panel.name, "", part.voxels(n), _axis(part, n))
              for n, panel in enumerate(part.panels)]  # fmt: skip
    return not check(solids, [s.voxels for s in solids]).findings


def _axis(part: Part, panel: int) -> int:
    return NORMAL[part.panels[panel].seen]


def _is_there(part: Part, tips: Tips) -> bool:
    """Whether each bead that was settled is, and hangs on the wall that it was settled for."""
    owners = {panel.name: number for number, panel in enumerate(part.panels)}
    return all(part.owner[place] == owners[face] for place, face in tips.of.items())


def lengthened(spec: PartSpec) -> PartSpec:
    """The same part one layer longer, into its host; what lies there has its neighbour's colour."""
    axis, step = _way_in(spec)
    size, at = list(spec.size), list(spec.at)
    size[axis] += 1
    shift = 1 if step < 0 else 0
    at[axis] -= shift
    longer = (size[0], size[1], size[2])
    cells = {face: given.ravel()[_same_cells(spec, longer, face)]
             for face, given in spec.cells.items()}  # fmt: skip
    return replace(
        spec, size=longer, at=(at[0], at[1], at[2]), cells=cells,
        open=spec.open | {OPPOSITE[_host_face(spec)]},
        openings=tuple(_moved(spec, longer, opening) for opening in spec.openings),
        shelves=tuple(replace(shelf, level=shelf.level + shift * (axis == 2))
                      for shelf in spec.shelves),
    )  # fmt: skip


def _same_cells(spec: PartSpec, longer: Size, face: str) -> NDArray[np.int64]:
    """(h, w) number of the cell of the part's own face that each cell of the longer one repeats."""
    axis, step = _way_in(spec)
    across, down = face_size(face, spec.size)
    numbers = np.zeros(spec.size, dtype=np.int64)
    numbers[face_places(face, spec.size)] = np.arange(across * down).reshape(down, across)
    places = list(face_places(face, longer))
    places[axis] = np.clip(places[axis] - (step < 0), 0, spec.size[axis] - 1)
    return np.asarray(numbers[places[0], places[1], places[2]])


def _moved(spec: PartSpec, longer: Size, opening: OpeningSpec) -> OpeningSpec:
    """An opening at the same beads of the longer part."""
    wide, high = face_size(opening.face, spec.size)
    across, down = opening.cells
    column, row = opening.at or ((wide - across) // 2, (high - down) // 2)
    again = _same_cells(spec, longer, opening.face) == 0
    first = np.argwhere(again)[-1]  # the layer in the host repeats the first cell before it
    return replace(opening, at=(column + int(first[1]), row + int(first[0])))


def _rings_for(spec: PartSpec) -> Iterator[Ring]:
    """Rings for the walls that a part has, the best first; none for a part without room."""
    axis, _ = _way_in(spec)
    cap = _host_face(spec) in spec.faces
    if spec.size[axis] < (LEAST_OUT if cap else LEAST_OUT - 1):
        return
    first, second = (a for a in range(3) if a != axis)
    walls = frozenset((int(NORMAL[face] == second), int(face in FAR))
                      for face in spec.faces if NORMAL[face] != axis)  # fmt: skip
    place = spec.size[first], spec.size[second]
    if spec.size[axis] <= LEAST_OUT:
        yield from best_rings(place, walls, at_corners=True)
        smallest = smallest_ring(place)
        if smallest and cap and len(walls) == len(FACES) - 2:
            yield smallest
    yield from best_rings(place, walls, at_corners=False)


def _tips(spec: PartSpec, longer: Size, ring: Ring) -> Tips:
    """What a ring settles of the longer part."""
    axis, step = _way_in(spec)
    level = longer[axis] - 1 if step > 0 else 0
    first, second = (a for a in range(3) if a != axis)

    def place(cell: Cell, at: int) -> Place:
        found = [0, 0, 0]
        found[axis], found[first], found[second] = at, cell[0], cell[1]
        return found[0], found[1], found[2]

    def face(wall: Wall) -> str:
        wanted = second if wall[0] else first
        return next(f for f in FACES if NORMAL[f] == wanted and (f in FAR) == bool(wall[1]))

    wide, high = longer[first], longer[second]
    edge = [cell for cell in product(range(wide), range(high))
            if cell[0] in (0, wide - 1) or cell[1] in (0, high - 1)]  # fmt: skip
    of = {place(cell, level): face(wall) for cell, wall in ring.through.items()}
    of |= {place(cell, level - step): face(wall) for cell, wall in ring.above.items()}
    outer = level - LEAST_OUT * step
    of |= {place(cell, outer): face(wall) if wall else _host_face(spec)
           for cell, wall in ring.cap.items()}  # fmt: skip
    return Tips(tuple(place(cell, level) for cell in edge if cell not in ring.through), of)


def _cut(spec: PartSpec, part: Part, host: Part) -> None:
    """Cut the slots for all fingers into the host's face."""
    panel = host.find(_host_face(spec))
    axis, step = _way_in(spec)
    level = part.spec.at[axis] + (part.spec.size[axis] - 1 if step > 0 else 0)
    beads = np.concatenate([part.voxels(number) for number in range(len(part.panels))])
    wanted = beads[beads[:, axis] == level]
    places = np.stack(host.panels[panel].places, axis=-1) + host.spec.at
    mask = (places[:, :, None, :] == wanted).all(axis=-1).any(axis=-1)
    if mask.sum() != len(wanted):
        height, width = mask.shape
        raise FigureError(
            f"{spec.name}: reaches over {_named(spec)}, which is {width} x {height} cells"
        )
    try:
        host.cut(panel, mask, spec.name)
    except FigureError as error:
        raise FigureError(
            f"{error.reason}; its walls need 3 beads to the edge of the face"
        ) from None


def _host_face(spec: PartSpec) -> str:
    """The face of another part that a part is plugged into; its own cap looks the same way."""
    assert spec.plug is not None
    return spec.plug[1]


def _named(spec: PartSpec) -> str:
    assert spec.plug is not None
    return " ".join(spec.plug)


def _way_in(spec: PartSpec) -> tuple[int, int]:
    """Axis and direction from the part into its host."""
    face = _host_face(spec)
    return NORMAL[face], -1 if face in FAR else 1
