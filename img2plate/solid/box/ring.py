"""Which beads of a plugged part's walls go through the face of its host, and which stand on it.

The walls end in a ring of cells on the host's layer. Each wall puts one run of them through, its
finger, and stands on host beads beside it, its shoulder. Seen along the way in, of 4 x 4 beads:

    S S h E        S, E, N, W: fingers of the four walls
    h . . E        h: host under a wall's shoulder
    W . . h        .: host inside the part, in one piece with the rest through h
    W h N N

Between fingers of two walls lies host, so that each is gripped at both ends and on both sides.
Walls of two beads have no finger; the two others then lie side by side:

    h W W h
    h E E h

From 4 x 4 and 3 x 5 all runs can be two beads; 3 x 4 and 3 x 3 do with fingers of one bead, but
3 x 5 holds in no way with 2 layers outside: `bench/bench_small_plugs.py` goes through all. Tried
by brute force in `tests/solid/test_plugs.py`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import cache
from itertools import islice, product

Cell = tuple[int, int]
"""Place on the ring along the two axes that are not the way in, from 0."""
Wall = tuple[int, int]
"""Axis, 0 or 1, that a wall is square to, and 0 or 1 for the near or the far one."""
WORDS_TRIED, WORDS_OF_FOUR = 6, 9
"""Runs of a wall that are looked at, the best first; more of a wall of up to four beads."""
RINGS_TRIED = 40


@dataclass(frozen=True)
class Finger:
    """Where a wall of some beads goes in."""

    start: int
    stop: int
    own: tuple[int, ...] = ()
    """Ends of the wall whose corner bead above the ring has to be its own."""

    def badness(self, beads: int) -> tuple[bool, int, int]:
        """Single beads, runs that are not about half of the wall, and lopsided ones are worse."""
        length = self.stop - self.start
        wanted = max(2, beads // 2 - (beads // 2 + beads) % 2)
        return length < 2, abs(length - wanted), abs(self.start + self.stop - beads)


@dataclass(frozen=True)
class Ring:
    """Whose each cell is that goes through, and each corner bead above that is settled."""

    through: Mapping[Cell, Wall]
    above: Mapping[Cell, Wall]
    cap: Mapping[Cell, Wall | None] = field(default_factory=dict)
    """Whose each bead round the cap is, where that is settled too; None: the cap's own."""


def fingers_of(beads: int, *, at_corners: bool = False) -> list[Finger]:
    """Fingers of a wall that leave it a shoulder, the best first; none for two beads.

    at_corners: those that take a corner first, as short parts need it.
    """
    found = []
    last = beads - 1
    for start, stop in product(range(beads), range(beads + 1)):
        if not 0 < stop - start < beads or (
            beads > 7 and not at_corners and not (start > 1 and stop < last)
        ):
            continue
        rest = [at for at in range(1, last) if not start <= at < stop]
        corner_alone = tuple(at for at in (0, last) if (start, stop) == (at, at + 1))
        if rest:
            found.append(Finger(start, stop, corner_alone))
            continue
        shoulders = [at for at in (0, last) if not start <= at < stop]
        found += [Finger(start, stop, (*corner_alone, at)) for at in shoulders if beads > 2]
    return sorted(
        found,
        key=lambda finger: (
            at_corners and finger.start > 0 and finger.stop < beads,
            finger.badness(beads),
            finger.own,
        ),
    )[: WORDS_TRIED if beads > 4 else WORDS_OF_FOUR]


def smallest_ring(size: Cell) -> Ring | None:
    """The one way to plug in 3 x 4 beads with 2 layers outside (its mirror image does as well).

    By brute force, `bench/bench_small_plugs.py`; no other size three beads wide has any. From the
    host's layer outwards, C the cap, the walls as above:

        W . N    N N N    C N E
        W . .    W . E    C C E
        . . E    W . E    W C C
        S . E    S S S    W S C
    """
    if sorted(size) != [3, 4]:
        return None
    layers = ("W.NW....ES.E", "NNNW.EW.ESSS", "CNECCEWCCWSC")
    walls: dict[str, Wall | None] = {"W": (0, 0), "E": (0, 1), "N": (1, 0), "S": (1, 1), "C": None}
    found: list[dict[Cell, Wall | None]] = []
    for layer in layers:
        cells = {(n % 3, n // 3): walls[who] for n, who in enumerate(layer) if who != "."}
        if size[0] == 4:
            cells = {(v, u): wall and (1 - wall[0], wall[1]) for (u, v), wall in cells.items()}
        found.append(cells)
    through, above = ({c: w for c, w in cells.items() if w} for cells in found[:2])
    return Ring(through, above, found[2])


@cache
def best_rings(size: Cell, walls: frozenset[Wall], *, at_corners: bool) -> tuple[Ring, ...]:
    """The first of `rings`."""
    return tuple(islice(rings(size, walls, at_corners=at_corners), RINGS_TRIED))


def rings(size: Cell, walls: frozenset[Wall], *, at_corners: bool = False) -> Iterator[Ring]:
    """All rings worth trying for walls round a place of so many beads, the best first.

    at_corners: each wall takes a corner, where that can be.
    """
    choices = [
        [
            ((wall, finger), finger.badness(size[1 - wall[0]]))
            for finger in fingers_of(size[1 - wall[0]], at_corners=at_corners)
        ]
        for wall in sorted(walls)
        if size[1 - wall[0]] > 2
    ]
    if not choices:
        return
    ranked = sorted(
        product(*choices),
        key=lambda tried: [*map(sum, zip(*(bad for _, bad in tried), strict=True))],
    )
    for tried in ranked:
        ring = _ring(size, tuple(finger for finger, _ in tried))
        if ring and not _touching(ring.through, size) and _holds_inside(ring.through, size):
            yield ring


def _ring(size: Cell, chosen: tuple[tuple[Wall, Finger], ...]) -> Ring | None:
    """The ring of some fingers; None where two walls want one bead."""
    through: dict[Cell, Wall] = {}
    above: dict[Cell, Wall] = {}
    for wall, finger in chosen:
        for cells, ats in ((through, range(finger.start, finger.stop)), (above, finger.own)):
            for at in ats:
                if cells.setdefault(cell_of(wall, at, size), wall) != wall:
                    return None
    return Ring(through, above)


def cell_of(wall: Wall, at: int, size: Cell) -> Cell:
    """A bead of a wall by its number along it."""
    axis, far = wall
    level = size[axis] - 1 if far else 0
    return (level, at) if axis == 0 else (at, level)


def _touching(through: Mapping[Cell, Wall], size: Cell) -> bool:
    """Whether fingers of two walls lie side by side, but for a part two beads thick."""
    if min(size) == 2:
        return False
    return any(
        through.get(beside, wall) != wall
        for (u, v), wall in through.items()
        for beside in ((u + 1, v), (u, v + 1))
    )


def _holds_inside(through: Mapping[Cell, Wall], size: Cell) -> bool:
    """Whether the host's beads inside the ring hang on the rest."""
    if min(size) < 3:
        return True
    sides = sum(2 * (beads - 2) for beads in size)
    corners = set(product((0, size[0] - 1), (0, size[1] - 1)))
    return sum(cell not in corners for cell in through) < sides
