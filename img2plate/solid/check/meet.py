"""Where two plates meet: the line in which their layers cross, and who has its beads.

A line is spelled as a word with a letter for each place: P and Q for the two plates, F for a third
plate of the group, - where no bead is. A place is free when either plate could have its bead: both
have one beside it, off the line. Where only one does, the bead can only be of that plate: such
places, and gaps, cut the line into stretches, and fingers are compared within a stretch.
"""

from __future__ import annotations

from collections.abc import Set
from dataclasses import dataclass
from itertools import groupby

from img2plate.solid.check.lattice import Place, Solid

SHORT_LINE = 4


@dataclass(frozen=True)
class Line:
    """The line of two plates."""

    places: tuple[Place, ...]
    word: str
    free: tuple[bool, ...]
    """Whether either plate could have the bead of a place."""
    meets: bool
    """Whether the plates touch along it: both have beads on it, or beside the same bead of it."""

    @property
    def steps(self) -> int:
        """Ways along the line, 0 to 2, in which an end of a finger touches one of the other's."""
        return ("PQ" in self.word) + ("QP" in self.word)

    @property
    def length(self) -> int:
        """Beads on it."""
        return len(self.word) - self.word.count("-")

    def stretches(self) -> list[tuple[int, str]]:
        """First place and word of each stretch of free places."""
        found, at = [], 0
        for is_free, run in groupby(self.free):
            length = len(list(run))
            if is_free:
                found.append((at, self.word[at : at + length]))
            at += length
        return found


def line_between(
    one: Solid, two: Solid, others: Set[Place] | None = None, rods: Set[Place] | None = None
) -> Line | None:
    """The line of two plates that come near it; None when they do not, or are parallel.

    others: places of third plates, or of all. rods: places that rods fill: such a hole is no gap.
    """
    if one.axis == two.axis:
        return None
    places = _crossing(one, two)
    if places is None:
        return None
    mine, theirs, third = one.places, two.places, others or set()
    word = "".join(
        "P" if p in mine else "Q" if p in theirs else "F" if p in third else "-" for p in places
    )
    outer = slice(word[0] != "F", len(word) - (word[-1] != "F"))
    places, word = places[outer], word[outer]
    ours, others_ = (mine | rods, theirs | rods) if rods else (mine, theirs)
    beside = [(_has_beside(ours, p, two.axis), _has_beside(others_, p, one.axis)) for p in places]
    free = [letter != "-" and a == b for letter, (a, b) in zip(word, beside, strict=True)]
    # At its ends a line runs into others: there, what is beside a bead may be of a third plate.
    filled = [i for i, letter in enumerate(word) if letter != "-"]
    for i in (*filled[:1], *filled[-1:]):
        free[i] = True
    meets = {"P", "Q"} <= set(word) or any(
        letter in "PQ" and a and b for letter, (a, b) in zip(word, beside, strict=True)
    )
    return Line(tuple(places), word, tuple(free), meets)


def _has_beside(places: Set[Place], place: Place, axis: int) -> bool:
    """Whether there is a bead next to a place along an axis."""
    before, after = list(place), list(place)
    before[axis] -= 1
    after[axis] += 1
    return (before[0], before[1], before[2]) in places or (after[0], after[1], after[2]) in places


def _crossing(one: Solid, two: Solid) -> list[Place] | None:
    """Places where the layers of two plates cross, as far as both reach and two more, or None."""
    a, b = one.axis, two.axis
    along = 3 - a - b
    low, high = one.span, two.span
    here, there = low[0][a], high[0][b]
    near = low[0][b] - 1 <= there <= low[1][b] + 1 and high[0][a] - 1 <= here <= high[1][a] + 1
    first, last = max(low[0][along], high[0][along]), min(low[1][along], high[1][along])
    if not near or first > last:
        return None
    line = []
    # Two places more, so that a third plate's corner is seen where both end a bead short of it.
    for at in range(first - 2, last + 3):
        place = [0, 0, 0]
        place[a], place[b], place[along] = here, there, at
        line.append((place[0], place[1], place[2]))
    return line


def uneven_at(line: Line) -> Place | None:
    """Where a finger is out of step with the others of its stretch; None when none is.

    On a stretch of 5 beads or more the plates hold each other both ways, and fingers differ by one
    bead at most.
    """
    stretches = line.stretches()
    whole = len(stretches) == 1
    for start, word in stretches:
        at, runs = start, []
        for letter, run in groupby(word):
            length = len(list(run))
            if letter in "PQ":
                runs.append((length, at))
            at += length
        if not runs or (len(word) <= SHORT_LINE and not whole):
            continue
        if len(word) > SHORT_LINE and not ("PQ" in word and "QP" in word):
            return line.places[start]
        if max(runs)[0] - min(runs)[0] > 1 + (len(word) <= SHORT_LINE):
            return line.places[max(runs)[1]]
    return None
