"""Move the joins of a cover to where they cut the least detail.

A line of joins moves as one: all that ends on it, and all that begins there. No part becomes larger
than its board or smaller than is wanted, and no move adds a join.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from img2plate.base.arrays import Cells
from img2plate.base.lengths import Board
from img2plate.split.cover import Laid, joins_of

_ROUNDS = 4
"""Each round moves every line once; more hardly move any."""


def quieten(parts: Sequence[Laid], cells: Cells, smallest: int) -> tuple[Laid, ...]:
    """The same boards with joins where fewer changes of colour meet them."""
    now = list(parts)
    for _ in range(_ROUNDS):
        before = list(now)
        now = _upright(now, cells, smallest)
        now = _turned(_upright(_turned(now), cells.T, smallest))
        if now == before:
            break
    return tuple(now)


def detail_met(parts: Sequence[Laid], cells: Cells) -> int:
    """Changes of colour that meet the joins: for each, of the pegs on both its sides."""
    found = 0
    for now, lines in ((list(parts), cells), (_turned(parts), cells.T)):
        for one in now:
            for two in now:
                top, end = max(one.y, two.y), min(one.y + one.height, two.y + two.height)
                if one.x + one.width == two.x and top < end:
                    found += int(_met(lines, top, end)[two.x])
    return found


def _met(cells: Cells, top: int, end: int) -> np.ndarray:
    """(w + 1,) changes of colour from row to row that meet an upright join before each column."""
    part = cells[top:end]
    changes = np.count_nonzero(part[1:] != part[:-1], axis=0)
    met = np.zeros(cells.shape[1] + 1, dtype=np.int64)
    met[1:-1] = changes[:-1] + changes[1:]
    return met


def _turned(parts: Sequence[Laid]) -> list[Laid]:
    """Rows as columns."""
    return [
        Laid(p.y, p.x, p.height, p.width, Board(p.board.down, p.board.across)) for p in parts
    ]  # fmt: skip


def _upright(parts: list[Laid], cells: Cells, smallest: int) -> list[Laid]:
    """Move upright lines, each to its quietest place."""
    for x in sorted({part.x for part in parts} - {0}):
        for ends, begins in _lines(parts, x):
            touched = [parts[number] for number in (*ends, *begins)]
            top, end = min(p.y for p in touched), max(p.y + p.height for p in touched)
            least, most = _room([parts[n] for n in ends], [parts[n] for n in begins], smallest)
            met = _met(cells, top, end)
            places = sorted(range(least, most + 1), key=lambda at: (met[at], abs(at - x)))
            for at in places[:3]:
                if met[at] >= met[x]:
                    break
                moved = list(parts)
                for n in ends:
                    moved[n] = replace(moved[n], width=at - moved[n].x)
                for n in begins:
                    right = moved[n].x + moved[n].width
                    moved[n] = replace(moved[n], x=at, width=right - at)
                # A line that moves changes how far joins across it reach, which may cost more.
                if joins_of(moved) <= joins_of(parts) and detail_met(moved, cells) < detail_met(
                    parts, cells
                ):
                    parts = moved
                    break
    return parts


def _lines(parts: Sequence[Laid], x: int) -> Iterator[tuple[list[int], list[int]]]:
    """Numbers of the parts that end, and of those that begin at x, on stretches that can move."""
    ends = [n for n, part in enumerate(parts) if part.x + part.width == x]
    begins = [n for n, part in enumerate(parts) if part.x == x]
    cuts = sorted({parts[n].y for n in (*ends, *begins)})
    last = max(parts[n].y + parts[n].height for n in (*ends, *begins))
    for top in cuts:
        for end in (*(y for y in cuts if y > top), last):
            both = [
                [n for n in side if top <= parts[n].y and parts[n].y + parts[n].height <= end]
                for side in (ends, begins)
            ]
            if all(sum(parts[n].height for n in side) == end - top for side in both):
                yield both[0], both[1]


def _room(ends: Sequence[Laid], begins: Sequence[Laid], smallest: int) -> tuple[int, int]:
    """The first and last place of a line."""
    least = max(
        *(p.x + min(smallest, p.width) for p in ends),
        *(p.x + p.width - p.board.across for p in begins),
    )
    most = min(
        *(p.x + p.board.across for p in ends),
        *(p.x + p.width - min(smallest, p.width) for p in begins),
    )
    return least, most
