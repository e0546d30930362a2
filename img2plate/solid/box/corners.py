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
from functools import cache, cached_property
from itertools import islice, product
from typing import TypeAlias

from img2plate.base.errors import FigureError
from img2plate.solid.box.fingers import choose_finger, patterns_on
from img2plate.solid.faces import FACES, FAR, NORMAL, Size, edges_of

Corner = tuple[bool, bool, bool]
"""Whether it is at the far end of x, y and z."""
Edge = tuple[str, str]
Owners: TypeAlias = "Mapping[Corner, str]"
_BOTH = (False, True)
_MOST_TRIED = 7000
"""Ways to give the corners away that are looked at: all of them, 3^8."""
CORNERS: tuple[Corner, ...] = tuple(product(_BOTH, _BOTH, _BOTH))


@dataclass(frozen=True)
class Wishes:
    """What a part asks of its joints."""

    finger: int = 0
    """Beads of a finger; 0: chosen by the edge's length."""
    lids: frozenset[str] = frozenset()
    """Faces that lift off: they own no corner and have one tab on each edge."""
    masks: tuple[tuple[Edge, str], ...] = ()
    """Edges with gaps, or with beads that only one of the two plates can hold; see `fingers`."""

    corners: tuple[tuple[Corner, str], ...] = ()
    """Corners that are settled, and the face that each goes to."""

    @cached_property
    def of_edge(self) -> dict[Edge, str]:
        """The masks by their edges."""
        return dict(self.masks)

    def mask(self, edge: Edge, size: Size) -> str:
        """What may be of whom along an edge."""
        found = self.of_edge.get(edge)
        return found or "*" * size[3 - NORMAL[edge[0]] - NORMAL[edge[1]]]


@dataclass(frozen=True)
class _Option:
    """The patterns that an edge may have, and which of its corners hang on their plate by each."""

    edge: Edge
    words: tuple[str, ...]
    held: tuple[frozenset[Corner], ...]

    @cached_property
    def reach(self) -> frozenset[Corner]:
        """Corners that any of the patterns holds."""
        return frozenset().union(*self.held)


class _Words:
    """The patterns of each edge of a box, by who has its two ends."""

    def __init__(self, size: Size, wishes: Wishes) -> None:
        self._size, self._wishes = size, wishes
        self._known: dict[tuple[Edge, str | None, str | None], _Option] = {}

    def option(self, edge: Edge, ends: tuple[Corner, Corner], owners: Owners) -> _Option:
        """Patterns for one edge; ends that nobody has yet, or that are no corners, are free."""
        key = edge, owners.get(ends[0]), owners.get(ends[1])
        if key not in self._known:
            letters = {edge[0]: "P", edge[1]: "Q", None: "N"}
            start, end = (letters.get(owner, "F") for owner in key[1:])
            lid = "".join(letters[face] for face in edge if face in self._wishes.lids)
            mask = self._wishes.mask(edge, self._size)
            words = _one_of_each_hold(_words_on(mask, start, end, self._wishes.finger, lid))
            held = (zip(ends, _holds(word), strict=True) for word in words)
            corners = tuple(frozenset(c for c, holds in each if holds) for each in held)
            self._known[key] = _Option(edge, words, corners)
        return self._known[key]


@cache
def plan_edges(size: Size, faces: frozenset[str], wishes: Wishes) -> Mapping[Edge, str]:
    """Find a pattern for each edge of a box with the given faces.

    Raises FigureError when there is none.
    """
    choices = _corner_choices(size, faces, wishes)
    words = _Words(size, wishes)
    for owners in islice(_assignments(faces, words, choices, {}), _MOST_TRIED):
        found = _fit_edges(faces, owners, words)
        if found is not None:
            return found
    raise FigureError(_why_not(size, faces, wishes))


def _why_not(size: Size, faces: frozenset[str], wishes: Wishes) -> str:
    """What stands against all joints, and what size would do."""
    for (one, two), mask in wishes.masks:
        if not patterns_on(mask, "N", "N", wishes.finger or choose_finger(len(mask))):
            return (
                f"{one} and {two} have too few beads in common along their edge for a joint; fill"
                " empty cells beside it, or make the part larger"
            )
    if wishes.masks:
        return (
            "no joints hold with the empty cells at the edges of its faces; fill some near a corner"
        )
    said = f"{size[0]} x {size[1]} x {size[2]} beads are too small for joints that hold"
    larger = sorted(product(range(4), repeat=3), key=lambda more: (sum(more), max(more), more))
    for more in larger[1:]:
        grown = (size[0] + more[0], size[1] + more[1], size[2] + more[2])
        choices, words = _corner_choices(grown, faces, wishes), _Words(grown, wishes)
        if any(_fit_edges(faces, owners, words)
               for owners in _assignments(faces, words, choices, {})):  # fmt: skip
            return f"{said}; {grown[0]} x {grown[1]} x {grown[2]} would do"
    return f"{said}; leave another face open, or choose another lid"


def _corner_choices(size: Size, faces: frozenset[str], wishes: Wishes) -> dict[Corner, list[str]]:
    """For each corner of three faces those that may have it, faces of the longest side first."""
    # A lid owns no corner; were its opposite to own some, edges between would be lopsided.
    with_lid = {NORMAL[face] for face in wishes.lids}
    axes = sorted(range(3), key=lambda axis: (axis in with_lid, -size[axis]))
    empty = {
        corner
        for edge, ends in _edges_and_ends(faces)
        for corner, kind in zip(ends, _both_ends(wishes.mask(edge, size)), strict=True)
        if kind == "-"
    }
    full = [c for c in CORNERS if len(faces_at(c, faces)) == 3 and c not in empty]
    settled = dict(wishes.corners)
    return {
        corner: [
            f
            for axis in axes
            for f in faces_at(corner, faces)
            if NORMAL[f] == axis and f not in wishes.lids and settled.get(corner, f) == f
        ]
        for corner in full
    }


def _both_ends(mask: str) -> tuple[str, str]:
    """First and last letter."""
    return mask[0], mask[-1]


def _assignments(
    faces: frozenset[str],
    words: _Words,
    choices: Mapping[Corner, list[str]],
    owners: dict[Corner, str],
) -> Iterator[dict[Corner, str]]:
    """Give corners away one by one, as long as every edge whose ends are known can be jointed."""
    if len(owners) == len(choices):
        yield owners
        return
    corner = list(choices)[len(owners)]
    known = [
        (edge, ends)
        for edge, ends in _edges_and_ends(faces)
        if corner in ends and all(c == corner or c in owners or c not in choices for c in ends)
    ]
    for face in choices[corner]:
        tried = owners | {corner: face}
        if all(words.option(edge, ends, tried).words for edge, ends in known):
            yield from _assignments(faces, words, choices, tried)


def faces_at(corner: Corner, faces: frozenset[str]) -> list[str]:
    """Faces that meet at a corner."""
    return [f for f in FACES if f in faces and corner[NORMAL[f]] == (f in FAR)]


def _fit_edges(
    faces: frozenset[str], owners: Mapping[Corner, str], words: _Words
) -> dict[Edge, str] | None:
    """Choose among each edge's patterns so that every corner hangs on its plate."""
    options = [words.option(edge, ends, owners) for edge, ends in _edges_and_ends(faces)]
    if not all(option.words for option in options):
        return None
    if not set(owners) <= set().union(*(option.reach for option in options)):
        return None
    options.sort(key=lambda option: len(option.words))
    still = [set().union(*(o.reach for o in options[n:])) for n in range(len(options) + 1)]
    return _choose(options, still, frozenset(owners), {})


def _choose(
    options: list[_Option],
    still: list[set[Corner]],
    loose: frozenset[Corner],
    chosen: dict[Edge, str],
) -> dict[Edge, str] | None:
    """Depth first over the edges; `loose` are corners that hang on nothing yet.

    still: for each option those that it, or a later one, could hold.
    """
    if len(chosen) == len(options):
        return None if loose else chosen
    if not loose <= still[len(chosen)]:
        return None
    option = options[len(chosen)]
    for word, held in zip(option.words, option.held, strict=True):
        found = _choose(options, still, loose - held, chosen | {option.edge: word})
        if found is not None:
            return found
    return None


@cache
def _holds(word: str) -> tuple[bool, bool]:
    """Whether the corner beads at either end hang on their plate along this edge."""
    return word[0] == word[1] != "F", word[-1] == word[-2] != "F"


@cache
def _one_of_each_hold(words: tuple[str, ...]) -> tuple[str, ...]:
    """The best of the words that hold the same corners; for the corners they are all alike."""
    best: dict[tuple[bool, bool], str] = {}
    for word in words:
        best.setdefault(_holds(word), word)
    return tuple(best.values())


@cache
def _words_on(mask: str, start: str, end: str, finger: int, lid: str) -> tuple[str, ...]:
    """Patterns for an edge of which one plate may be a lid; `fingers` always spells it Q."""
    finger = finger or choose_finger(len(mask))
    if lid != "P":
        return patterns_on(mask, start, end, finger, lid=bool(lid))
    swap = str.maketrans("PQpq", "QPqp")
    turned = (text.translate(swap) for text in (mask, start, end))
    words = patterns_on(*turned, finger, lid=True)
    return tuple(word.translate(swap) for word in words)


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
