"""Cover a plate with boards of several sizes, with the fewest joins.

Boards are laid where the covered part ends highest, leftmost first:

    +-----+--+        each lies against its left neighbour; it is as wide as its board, or as the
    |     |  |        gap, and as high as its board, or as far as a neighbour reaches, so that an
    |     +--+        edge can go on straight
    |     |  .
    +-----+ next

All such covers are tried, largest boards first, up to a number of steps. Where one with fewer joins
might be, parts that are narrower or lower are tried as well: so that they end where boards beside
each other would end, counted from either side of the plate. A join is a pair of boards
that touch along an edge. n boards that hang together have n - 1 joins at least, and n of them hold
no more beads than the n largest: that is the bound. Boards are not turned.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations

from img2plate.base.errors import OptionError
from img2plate.base.lengths import Board, OwnedBoard

MOST_STEPS = 60_000
"""Boards laid in a search; a search that ends before has seen all covers."""
MOST_CUT_STEPS = 20_000
"""The same of the second search, with parts that are smaller than board and gap."""


@dataclass(frozen=True)
class Laid:
    """A part of a plate, in pegs, and the board that it lies on."""

    x: int
    y: int
    width: int
    height: int
    board: Board

    def touches(self, other: Laid) -> bool:
        """Whether two parts share some of an edge, not only a corner."""
        across = min(self.x + self.width, other.x + other.width) - max(self.x, other.x)
        down = min(self.y + self.height, other.y + other.height) - max(self.y, other.y)
        return (across == 0 and down > 0) or (down == 0 and across > 0)


@dataclass(frozen=True)
class Cover:
    """The best cover that was found."""

    parts: tuple[Laid, ...]
    joins: int
    least_joins: int
    """No cover has fewer, of whatever kind."""
    is_complete: bool
    """Whether all covers of this kind were seen."""

    @property
    def words(self) -> str:
        """How good it is, for people."""
        said = f"{_many(len(self.parts), 'board')} with {_many(self.joins, 'join')}"
        if self.joins > self.least_joins:
            rest = "none of those tried has fewer" if self.is_complete else "not all could be tried"
            said += f"; {rest}, and none at all has under {self.least_joins}"
        used = Counter(str(part.board) for part in self.parts)
        return f"{said}: " + ", ".join(f"{number} of {size}" for size, number in used.items())


def _many(number: int, word: str) -> str:
    """1 join, 2 joins."""
    return f"{number} {word}" if number == 1 else f"{number} {word}s"


def joins_of(parts: Sequence[Laid]) -> int:
    """Pairs of parts that touch."""
    return sum(one.touches(other) for one, other in combinations(parts, 2))


@lru_cache(maxsize=64)
def cover(size: tuple[int, int], owned: tuple[OwnedBoard, ...]) -> Cover:
    """Cover so many pegs across and down. Of equally few joins the fewest boards, then pegs.

    Raises OptionError when the boards that are owned do not hold the plate.
    """
    search = _Search(size, owned)
    search.run()
    least = search.least_boards(size[0] * size[1], [each.number for each in search.owned]) - 1
    if search.best is not None and search.is_complete and joins_of(search.best) > least:
        search.cut_smaller()
    if search.best is None:
        told = ", ".join(map(str, owned))
        raise OptionError(
            f"the boards {told} do not cover {size[0]} x {size[1]} pegs",
            field="board",
            remedy="make the plate smaller, or own more boards",
        )
    return Cover(tuple(search.best), joins_of(search.best), least, search.is_complete)


class _Search:
    """Depth first with a bound; the skyline is how far down each column of pegs is covered."""

    def __init__(self, size: tuple[int, int], owned: Sequence[OwnedBoard]) -> None:
        self.size = size
        self.owned = sorted(owned, key=lambda each: -each.board.across * each.board.down)
        self.best: list[Laid] | None = None
        self._cost: tuple[int, int, int] | None = None
        self._steps, self._most = 0, MOST_STEPS
        self._ends: tuple[frozenset[int], frozenset[int]] = frozenset(), frozenset()

    @property
    def is_complete(self) -> bool:
        """Whether all covers were seen."""
        return self._steps < self._most

    def run(self) -> None:
        """Find the best cover."""
        left = [each.number for each in self.owned]
        self._lay([0] * self.size[0], left, [], 0, self.size[0] * self.size[1])

    def cut_smaller(self) -> None:
        """Better the best cover by parts that end where other boards would."""
        self._steps, self._most = 0, MOST_CUT_STEPS
        across = _sums([each.board.across for each in self.owned], self.size[0])
        down = _sums([each.board.down for each in self.owned], self.size[1])
        self._ends = across, down
        self.run()

    def least_boards(self, pegs: int, left: Sequence[int | None]) -> int:
        """Boards that so many pegs take at least: the largest that are left first."""
        boards = 0
        for each, number in zip(self.owned, left, strict=True):
            holds = each.board.across * each.board.down
            needed = -(-pegs // holds)
            if number is None or needed <= number:
                return boards + needed
            boards, pegs = boards + number, pegs - number * holds
        return 1_000_000 if pegs > 0 else boards

    def _lay(
        self, sky: list[int], left: list[int | None], parts: list[Laid], joins: int, pegs: int
    ) -> None:
        """Lay one more board everywhere it can lie, and go on from there."""
        if pegs == 0:
            cost = joins, len(parts), sum(p.board.across * p.board.down for p in parts)
            if self._cost is None or cost < self._cost:
                self._cost, self.best = cost, list(parts)
            return
        more = self.least_boards(pegs, left)
        # Each further board joins one that is laid, or another further one.
        bound = joins + (more if parts else more - 1), len(parts) + more
        if more >= 1_000_000 or (self._cost is not None and bound >= self._cost[:2]):
            return
        y = min(sky)
        x = sky.index(y)
        gap = next((i for i in range(x, len(sky)) if sky[i] != y), len(sky)) - x
        for number, width, height in self._ways(sky, left, x, y, gap):
            if not self.is_complete:
                return
            self._steps += 1
            part = Laid(x, y, width, height, self.owned[number].board)
            touched = joins + sum(map(part.touches, parts))
            sky[x : x + width] = [y + height] * width
            stock = left[number]
            left[number] = None if stock is None else stock - 1
            self._lay(sky, left, [*parts, part], touched, pegs - width * height)
            left[number] = stock
            sky[x : x + width] = [y] * width

    def _ways(
        self, sky: list[int], left: list[int | None], x: int, y: int, gap: int
    ) -> Iterator[tuple[int, int, int]]:
        """Boards (place in `owned`) and sizes that a part can have at a place of the skyline."""
        beside = {sky[x - 1] if x else 0, sky[x + gap] if x + gap < len(sky) else 0}
        for number, each in enumerate(self.owned):
            if left[number] == 0:
                continue
            widest = min(each.board.across, gap)
            most = min(each.board.down, self.size[1] - y)
            widths = _within(widest, x, self._ends[0])
            heights = _within(most, y, self._ends[1] | beside)
            for height in heights:
                for width in widths:
                    yield number, width, height


def _sums(sides: Sequence[int], whole: int) -> frozenset[int]:
    """Where boards beside each other end on a side of the plate, counted from either end."""
    found = {0}
    for at in range(1, whole):
        if any(at - side in found for side in sides):
            found.add(at)
    return frozenset(found | {whole - at for at in found})


def _within(most: int, start: int, ends: Collection[int]) -> list[int]:
    """Lengths from a start to each of the ends, the longest that there can be first."""
    return sorted({most, *(end - start for end in ends if 0 < end - start < most)}, reverse=True)
