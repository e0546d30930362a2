"""Who gets each corner of a box, and with it the pattern of each edge.

A corner bead lies in three faces and goes to one of them. It must hang on its plate, so one of the
two edges it shares with that plate starts with two beads of it. Best are faces square to the
longest side: their corners then lie on the two shorter kinds of edges, and all twelve edges can be
the same read from either end. Short edges need other choices, which a small search finds.

A box of 3 x 3 x 3 cannot be built, and is refused. Each of its eight corners would need an edge PPQ
of its own whose far corner is the other plate's. Going on from there, such edges close to hexagons
around the box, and a hexagon takes six corners: two are left over, with nothing to hang on.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from itertools import product

from img2plate.base.errors import FigureError
from img2plate.solid.box.fingers import choose_finger, patterns
from img2plate.solid.faces import FACES, FAR, NORMAL, Size, edges_of

Corner = tuple[bool, bool, bool]
"""Whether it is at the far end of x, y and z."""
Edge = tuple[str, str]
_BOTH = (False, True)
CORNERS: tuple[Corner, ...] = tuple(product(_BOTH, _BOTH, _BOTH))


@dataclass(frozen=True)
class Wishes:
    """What a part asks of its joints."""

    finger: int = 0
    """Beads of a finger; 0: chosen by the edge's length."""
    lids: frozenset[str] = frozenset()
    """Faces that lift off: they own no corner and have one tab on each edge."""


@cache
def plan_edges(size: Size, faces: frozenset[str], wishes: Wishes) -> Mapping[Edge, str]:
    """Find a pattern for each edge of a box with the given faces.

    Raises FigureError when there is none.
    """
    choices = _corner_choices(size, faces, wishes.lids)
    for owners in _assignments(size, faces, wishes, choices, {}):
        found = _fit_edges(size, faces, owners, wishes)
        if found is not None:
            return found
    raise FigureError(
        f"a box of {size[0]} x {size[1]} x {size[2]} beads with these faces has no joints that"
        " hold; make it larger, or choose another lid"
    )


def _corner_choices(
    size: Size, faces: frozenset[str], lids: frozenset[str]
) -> dict[Corner, list[str]]:
    """For each corner of three faces those that may have it, faces of the longest side first."""
    # A lid owns no corner; were its opposite to own some, edges between would be lopsided.
    with_lid = {NORMAL[face] for face in lids}
    axes = sorted(range(3), key=lambda axis: (axis in with_lid, -size[axis]))
    full = [corner for corner in CORNERS if len(faces_at(corner, faces)) == 3]
    return {
        corner: [
            f
            for axis in axes
            for f in faces_at(corner, faces)
            if NORMAL[f] == axis and f not in lids
        ]
        for corner in full
    }


def _assignments(
    size: Size,
    faces: frozenset[str],
    wishes: Wishes,
    choices: Mapping[Corner, list[str]],
    owners: dict[Corner, str],
) -> Iterator[dict[Corner, str]]:
    """Give corners away one by one, as long as every edge whose ends are known can be jointed."""
    if len(owners) == len(choices):
        yield owners
        return
    corner = list(choices)[len(owners)]
    for face in choices[corner]:
        tried = owners | {corner: face}
        known = (
            (edge, ends)
            for edge, ends in _edges_and_ends(faces)
            if corner in ends and all(c in tried or c not in choices for c in ends)
        )
        if all(_words(size, edge, ends, tried, wishes) for edge, ends in known):
            yield from _assignments(size, faces, wishes, choices, tried)


def faces_at(corner: Corner, faces: frozenset[str]) -> list[str]:
    """Faces that meet at a corner."""
    return [f for f in FACES if f in faces and corner[NORMAL[f]] == (f in FAR)]


def _fit_edges(
    size: Size,
    faces: frozenset[str],
    owners: Mapping[Corner, str],
    wishes: Wishes,
) -> dict[Edge, str] | None:
    """Choose among each edge's patterns so that every corner hangs on its plate."""
    options: list[tuple[Edge, tuple[Corner, Corner], tuple[str, ...]]] = []
    for edge, ends in _edges_and_ends(faces):
        words = _words(size, edge, ends, owners, wishes)
        if not words:
            return None
        options.append((edge, ends, words))
    options.sort(key=lambda option: len(option[2]))
    return _choose(options, frozenset(owners), {})


def _choose(
    options: list[tuple[Edge, tuple[Corner, Corner], tuple[str, ...]]],
    loose: frozenset[Corner],
    chosen: dict[Edge, str],
) -> dict[Edge, str] | None:
    """Depth first over the edges; `loose` are corners that hang on nothing yet."""
    if not options:
        return None if loose else chosen
    edge, (first, last), words = options[0]
    for word in words:
        held = {first} if word[0] == word[1] != "F" else set()
        held |= {last} if word[-1] == word[-2] != "F" else set()
        found = _choose(options[1:], loose - held, chosen | {edge: word})
        if found is not None:
            return found
    return None


def _words(
    size: Size,
    edge: Edge,
    ends: tuple[Corner, Corner],
    owners: Mapping[Corner, str],
    wishes: Wishes,
) -> tuple[str, ...]:
    """Patterns for one edge; a lid is always spelled Q."""
    length = size[3 - NORMAL[edge[0]] - NORMAL[edge[1]]]
    turned = edge[0] in wishes.lids
    first, second = edge[::-1] if turned else edge
    letters = {first: "P", second: "Q"}
    start, end = (letters.get(owners[c], "F") if c in owners else "N" for c in ends)
    finger = wishes.finger or choose_finger(length)
    words = patterns(length, start, end, finger, lid=second in wishes.lids)
    return tuple(w.translate({80: "Q", 81: "P"}) for w in words) if turned else words


@cache
def _edges_and_ends(faces: frozenset[str]) -> tuple[tuple[Edge, tuple[Corner, Corner]], ...]:
    """All edges with the corners at their two ends."""
    return tuple((edge, _ends(edge)) for edge in edges_of(faces))


def _ends(edge: Edge) -> tuple[Corner, Corner]:
    """Corners at the near and the far end of an edge."""
    along = 3 - NORMAL[edge[0]] - NORMAL[edge[1]]
    place = [False, False, False]
    for face in edge:
        place[NORMAL[face]] = face in FAR
    near, far = list(place), list(place)
    near[along], far[along] = False, True
    return (near[0], near[1], near[2]), (far[0], far[1], far[2])
