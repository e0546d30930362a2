"""Several plates side by side on one set of boards: where each lies.

Rectangles are packed by keeping all largest free ones and putting each plate where the shorter side
left over is smallest (J. Jylänki, A thousand ways to pack the bin, 2010: MaxRects-BSSF), in several
orders; the fewest boards win. A number of boards that no layout does with less stands beside it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import NamedTuple

from img2plate.base.errors import SizeError

Size = tuple[int, int]
"""Beads wide and high."""
TRIES = 60
"""Orders by chance, when the known ones take more boards than the bound."""


class Placed(NamedTuple):
    """Where one plate lies; pegs from 0, from the upper left of its set of boards."""

    number: int
    """Of the plate, as given."""
    place: int
    """Of the set of boards."""
    column: int
    row: int
    is_turned: bool


class Layout(NamedTuple):
    """All plates on their sets of boards."""

    placed: tuple[Placed, ...]
    """In the order of the plates."""
    sets: int
    least: int
    """So many sets any layout needs."""


class _Free(NamedTuple):
    column: int
    row: int
    width: int
    height: int


def lay_out(
    sizes: Sequence[Size],
    room: Size,
    gap: int,
    *,
    may_turn: bool = True,
    names: Sequence[str] = (),
) -> Layout:
    """Lay plates on as few sets of boards as can be found.

    sizes: of the plates; room: pegs across and down of a set; gap: empty pegs between plates. A
    plate is turned only where that saves a set, or it would not fit else. Raises SizeError for one
    that is larger than a set, and calls it by its name where `names` has them.
    """
    for number, size in enumerate(sizes):
        if not (_fits(size, room) or (may_turn and _fits(size[::-1], room))):
            name = names[number] if names else f"plate {number + 1}"
            raise SizeError(
                f"{name} has {size[0]} x {size[1]} beads, which is more than"
                f" {room[0]} x {room[1]} pegs",
                remedy="lay it on more `boards`",
            )
    least = least_sets(sizes, room, gap, may_turn=may_turn)
    best: list[Placed] | None = None
    for turn in (False, True) if may_turn else (False,):
        if not turn and not all(_fits(size, room) for size in sizes):
            continue
        for order in _orders(sizes):
            found = _packed(sizes, order, room, gap, may_turn=turn)
            if best is None or _sets(found) < _sets(best):
                best = found
            if _sets(best) == least:
                break
        if best is not None and _sets(best) == least:
            break
    assert best is not None
    best = _turned_back(sizes, best, room, gap)
    return Layout(tuple(sorted(best)), _sets(best), least)


def _turned_back(sizes: Sequence[Size], placed: list[Placed], room: Size, gap: int) -> list[Placed]:
    """Sets whose plates go on them without turning have them so."""
    found = []
    for place in range(_sets(placed)):
        on = [each for each in placed if each.place == place]
        numbers = [each.number for each in on]
        own = [sizes[number] for number in numbers]
        if any(each.is_turned for each in on) and all(_fits(size, room) for size in own):
            for order in _orders(own):
                straight = _packed(own, order, room, gap, may_turn=False)
                if _sets(straight) == 1:
                    on = [at._replace(number=numbers[at.number], place=place) for at in straight]
                    break
        found += on
    return found


def least_sets(sizes: Sequence[Size], room: Size, gap: int, *, may_turn: bool) -> int:
    """A number of sets that no layout does with less than.

    By area, each plate with the gap at its right and below; and plates that are wider and higher
    than half a set, turned or not, of which no two lie on one.
    """
    area = sum((width + gap) * (height + gap) for width, height in sizes)
    by_area = -(-area // ((room[0] + gap) * (room[1] + gap)))

    def is_large(size: Size) -> bool:
        ways = (size, size[::-1]) if may_turn else (size,)
        return all(
            2 * one + gap > side for way in ways for one, side in zip(way, room, strict=True)
        )

    return max(1, by_area, sum(map(is_large, sizes)))


def _orders(sizes: Sequence[Size]) -> Iterator[list[int]]:
    """Orders to try: large ones first, in several senses, then by chance."""
    import numpy as np

    keys: tuple[Callable[[Size], int], ...] = (
        lambda s: s[0] * s[1], max, min, lambda s: s[1], lambda s: s[0], sum,
    )  # fmt: skip
    for key in keys:
        yield sorted(range(len(sizes)), key=lambda i, key=key: -key(sizes[i]))  # type: ignore[misc]
    chance = np.random.default_rng(0)
    for _ in range(TRIES):
        noise = chance.uniform(0.6, 1.4, len(sizes))
        yield sorted(range(len(sizes)), key=lambda i: -max(sizes[i]) * noise[i])


def _packed(
    sizes: Sequence[Size], order: list[int], room: Size, gap: int, *, may_turn: bool
) -> list[Placed]:
    """Put plates in an order, each into the first set with room for it."""
    sets: list[list[_Free]] = []
    placed = []
    for number in order:
        width, height = sizes[number]
        ways = [(width + gap, height + gap, False)]
        if may_turn and width != height:
            ways.append((height + gap, width + gap, True))
        # A gap behind the last plate may lie beyond the boards.
        fresh = [_Free(0, 0, room[0] + gap, room[1] + gap)]
        tried = ((place, _best(free, ways)) for place, free in enumerate([*sets, fresh]))
        place, found = next((at, best) for at, best in tried if best is not None)
        if place == len(sets):
            sets.append(fresh)
        sets[place] = _left(sets[place], found[0])
        placed.append(Placed(number, place, found[0].column, found[0].row, found[1]))
    return placed


def _best(free: list[_Free], ways: list[tuple[int, int, bool]]) -> tuple[_Free, bool] | None:
    """The place where the shorter side left over is smallest; None where there is no room."""
    best, price = None, (10**9, 10**9, 10**9, 10**9)
    for column, row, wide, high in free:
        for width, height, is_turned in ways:
            if width <= wide and height <= high:
                over = sorted((wide - width, high - height))
                now = (over[0], over[1], row, column)
                if now < price:
                    best, price = (_Free(column, row, width, height), is_turned), now
    return best


def _left(free: list[_Free], taken: _Free) -> list[_Free]:
    """The largest free rectangles that are left once one is taken."""
    parts = [part for each in free for part in _without(each, taken)]
    return [
        part
        for at, part in enumerate(parts)
        if not any(
            _inside(part, other) and (part != other or at > behind)
            for behind, other in enumerate(parts)
            if behind != at
        )
    ]


def _without(free: _Free, taken: _Free) -> list[_Free]:
    """What is left of a free rectangle, in parts that overlap."""
    right, below = taken.column + taken.width, taken.row + taken.height
    end, bottom = free.column + free.width, free.row + free.height
    if taken.column >= end or right <= free.column or taken.row >= bottom or below <= free.row:
        return [free]
    parts = (
        _Free(free.column, free.row, taken.column - free.column, free.height),
        _Free(right, free.row, end - right, free.height),
        _Free(free.column, free.row, free.width, taken.row - free.row),
        _Free(free.column, below, free.width, bottom - below),
    )
    return [part for part in parts if part.width > 0 and part.height > 0]


def _inside(one: _Free, other: _Free) -> bool:
    return (
        one.column >= other.column
        and one.row >= other.row
        and one.column + one.width <= other.column + other.width
        and one.row + one.height <= other.row + other.height
    )


def _fits(size: Size, room: Size) -> bool:
    return size[0] <= room[0] and size[1] <= room[1]


def _sets(placed: list[Placed]) -> int:
    return 1 + max((each.place for each in placed), default=-1)
