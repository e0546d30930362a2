"""Where art ends: the lines of its raster that corners within, and edges along them, speak for."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from img2plate.base.arrays import Pixels
from img2plate.image.screen.corners import Corners
from img2plate.image.screen.rasters import Raster, Worth

Box = tuple[int, int, int, int]
EDGE, EDGE_LOSSY = 3, 8
"""8-bit steps of an edge."""
ALONG = 0.7
"""Share of a cell's side along which there is an edge, when there is one."""
BORDER = 30.0
"""Nats that an edge along a whole side says for a border there."""
LEAST_BORDER, WHOLE_BORDER = 0.5, 0.9
"""Share of a side with an edge, from which on it says something, and all."""
GOES_ON = 0.5
"""Share of that which is lost at each end of a side beyond which its edge goes on."""
NEAR = 12
"""Lines beside half of those of the box, within which an edge still says something of its art."""
MOST_LINES, LEAST_RUN = 14, 8
"""That are tried for a side, and cells along which they have an edge at least."""
FRAMED = 0.8
"""Share of each side with an edge, from which on a rectangle is framed."""
SPOILT, MORE_SPOILT, MOST_SPOILT = -40.0, 0.2, 0.15
"""The nats, below 0, that corners inside a frame say against it: they are a label or a cursor; the
share of what is more that counts; and the share of its cells that such things cover at most."""
ROUNDS = 3


class Bordered(NamedTuple):
    """Art with its borders."""

    box: Box
    """Left, top, right, bottom."""
    worth: float
    """Nats of the corners in it."""
    framed: bool
    """Whether there is an edge along all of its sides."""


def settled(
    pixels: Pixels, found: Corners, box: Box, raster: Raster, each: Worth, *, lossy: bool
) -> Bordered:
    """Move the sides of a box of lines (left, top, right, bottom) to where art seems to end.

    Art may have a plain rim without corners, and corners of what is round it lie on its lines by
    chance.
    """
    for _ in range(ROUNDS):
        before, best = box, _Lattice.round(pixels, found, box, raster, each, lossy).best(box, each)
        box = best.box
        if box == before:
            break
    return best


@dataclass(frozen=True, eq=False)
class _Lattice:
    """What lies on the lines and in the cells of a raster, in a part of a picture.

    Sums from the upper left, so that those of any rectangle are quick.
    """

    pitch: int
    origin: tuple[int, int]
    """X and y of its first lines, in pixels."""
    crossings: NDArray[Any]
    """(rows + 2, columns + 2) of the worth of corners where lines cross."""
    cells: NDArray[Any]
    """(rows + 1, columns + 1) of the worth of corners inside cells: many count as one."""
    across: NDArray[Any]
    """(rows + 2, columns + 1) of those on horizontal lines, between crossings."""
    down: NDArray[Any]
    """(rows + 1, columns + 2) of those on vertical lines."""
    edges_across: NDArray[Any]
    """(rows + 1, columns + 1) sums along horizontal lines of sides with an edge."""
    edges_down: NDArray[Any]
    """(rows + 1, columns + 1) sums along vertical lines."""

    @staticmethod
    def round(
        pixels: Pixels, found: Corners, box: Box, raster: Raster, each: Worth, lossy: bool
    ) -> _Lattice:
        """Of a box and what is near it."""
        pitch = raster.pitch
        spans = [_reach(box[axis], box[axis + 2], pitch, pixels.shape[1 - axis]) for axis in (0, 1)]
        (left, columns), (top, rows) = spans
        inside = found.only(found.inside((left, top, left + columns * pitch, top + rows * pitch)))
        x, y = inside.x - left, inside.y - top
        on_x, on_y = x % pitch == 0, y % pitch == 0
        x, y = x // pitch, y // pitch

        def sums(which: NDArray[Any], shape: tuple[int, int], value: float) -> NDArray[Any]:
            """Worth of some corners, each place counted once."""
            worth = np.zeros(shape)
            worth[y[which], x[which]] = value
            return np.pad(worth.cumsum(axis=0).cumsum(axis=1), ((1, 0), (1, 0)))

        part = pixels[:, left : left + columns * pitch, :3]
        edges_across = _edges(part, top, rows, pitch, lossy)
        part = pixels[top : top + rows * pitch, :, :3].transpose(1, 0, 2)
        edges_down = _edges(part, left, columns, pitch, lossy).T
        return _Lattice(
            pitch,
            (left, top),
            sums(on_x & on_y, (rows + 1, columns + 1), each.on),
            sums(~on_x & ~on_y, (rows, columns), each.off),
            sums(~on_x & on_y, (rows + 1, columns), each.off),
            sums(on_x & ~on_y, (rows, columns + 1), each.off),
            np.pad(edges_across.cumsum(axis=1), ((0, 0), (1, 0))),
            np.pad(edges_down.cumsum(axis=0), ((1, 0), (0, 0))),
        )

    def best(self, box: Box, each: Worth) -> Bordered:
        """The rectangle of lines near a box that most speaks for."""
        on = [(box[side] - self.origin[side % 2]) // self.pitch for side in range(4)]
        tried = [self._lines(on, side) for side in range(4)]
        left, top, right, bottom = np.ix_(*tried)
        stray = _sum(self.cells, left, top, right, bottom)
        stray = stray + _sum(self.across, left, top + 1, right, bottom)
        stray = stray + _sum(self.down, left + 1, top, right, bottom)
        sides = self._sides(left, top, right, bottom)
        framed = np.logical_and.reduce(np.broadcast_arrays(*(side.frames for side in sides)))
        inside = _sum(self.crossings, left, top, right + 1, bottom + 1)
        least = each.off * MOST_SPOILT * (right - left) * (bottom - top)
        spoilt = np.maximum(stray, SPOILT + MORE_SPOILT * (stray - SPOILT))
        inside = inside + np.where(framed & (stray >= least), spoilt, stray)
        worth = inside + sum(side.worth() for side in sides)
        worth = np.where((right > left) & (bottom > top), worth, -np.inf)
        for side, at in enumerate((left, top, right, bottom)):
            outwards = (at - on[side]) * (1 if side >= 2 else -1)
            half = (on[side % 2 + 2] - on[side % 2]) // 2
            worth = worth - np.maximum(outwards, 0) * BORDER / (half + NEAR)
        places = np.unravel_index(int(worth.argmax()), worth.shape)
        lines = [int(some[place]) for some, place in zip(tried, places, strict=True)]
        ends = [self.origin[side % 2] + line * self.pitch for side, line in enumerate(lines)]
        found = (ends[0], ends[1], ends[2], ends[3])
        return Bordered(found, float(inside[places]), bool(framed[places]))

    def _sides(self, left: Any, top: Any, right: Any, bottom: Any) -> list[_Side]:
        """The left, right, upper and lower sides of all rectangles."""
        across, down = self.edges_across.T, self.edges_down
        sides = [_Side.of(down, top, bottom, at) for at in (left, right)]
        return sides + [_Side.of(across, left, right, at) for at in (top, bottom)]

    def _lines(self, on: list[int], side: int) -> NDArray[np.int64]:
        """Lines that may be a side: those with edges beside the box, and the box's own."""
        axis = side % 2
        first, last = on[1 - axis], on[3 - axis]
        sums = self.edges_down if axis == 0 else self.edges_across.T
        runs = _longest_runs(np.diff(sums[first : last + 1], axis=0) > 0)
        lines, more = np.arange(len(runs)), (on[axis + 2] - on[axis]) // 4
        ours = lines >= on[axis] + more if side >= 2 else lines <= on[axis + 2] - more
        likely = lines[ours & (runs >= min(LEAST_RUN, last - first))]
        likely = likely[np.argsort(-runs[likely], kind="stable")][: MOST_LINES - 1]
        return np.unique(np.append(likely, on[side]))


def _reach(start: int, end: int, pitch: int, length: int) -> tuple[int, int]:
    """First line, and how many cells follow, of a span and what is near it."""
    more = (end - start) // pitch // 2 + NEAR
    first = start - min(more, start // pitch) * pitch
    return first, (min(length, end + more * pitch) - first) // pitch


def _edges(
    part: NDArray[np.uint8], first: int, rows: int, pitch: int, lossy: bool
) -> NDArray[np.bool_]:
    """(rows + 1, columns) whether there is an edge along a cell's side, by horizontal lines.

    part: (h, columns * pitch, 3). What lies on the picture's rim is an edge.
    """
    at = first + np.arange(rows + 1) * pitch
    inner = np.clip(at, 2, len(part) - 2)
    if lossy:  # two pixels on both sides, as each may be off
        before, after = (
            part[inner + a].astype(np.int16) + part[inner + b] for a, b in ((-1, -2), (0, 1))
        )
        change = np.abs(after - before).max(axis=2) >= 2 * EDGE_LOSSY
    else:
        inner = np.clip(at, 1, len(part) - 1)
        change = np.abs(part[inner].astype(np.int16) - part[inner - 1]).max(axis=2) >= EDGE
    edges = change.reshape(rows + 1, -1, pitch).mean(axis=2) >= ALONG
    edges[(at == 0) | (at == len(part))] = True
    return np.asarray(edges)


def _sum(sums: NDArray[Any], left: Any, top: Any, right: Any, bottom: Any) -> NDArray[Any]:
    """Of all rectangles at once."""
    inside = sums[bottom, right] - sums[top, right] - sums[bottom, left] + sums[top, left]
    return np.asarray(inside)


class _Side(NamedTuple):
    """One side of all rectangles that are tried."""

    share: NDArray[Any]
    """Of its length, with an edge."""
    beyond: NDArray[Any]
    """At how many of its ends, 0 to 2, the edge goes on: then it is not of the art."""

    @staticmethod
    def of(sums: NDArray[Any], start: Any, end: Any, at: Any) -> _Side:
        """Out of sums along lines, (places, lines)."""
        share = (sums[end, at] - sums[start, at]) / np.maximum(end - start, 1)
        after = sums[np.minimum(end + 1, len(sums) - 1), at] - sums[end, at]
        before = sums[start, at] - sums[np.maximum(start - 1, 0), at]
        return _Side(share, before + after)

    @property
    def frames(self) -> NDArray[Any]:
        """Whether it may be a side of a frame."""
        return np.asarray((self.share >= FRAMED) & (self.beyond < 2))

    def worth(self) -> NDArray[Any]:
        """Nats that it says for a border."""
        over = (self.share - LEAST_BORDER) / (WHOLE_BORDER - LEAST_BORDER)
        return np.asarray(BORDER * np.clip(over, 0, 1) * (1 - GOES_ON * self.beyond))


def _longest_runs(edges: NDArray[np.bool_]) -> NDArray[np.int64]:
    """Of each column, how many edges follow each other at most."""
    run = np.zeros(edges.shape[1], np.int64)
    most = run.copy()
    for row in edges:
        run = (run + 1) * row
        np.maximum(most, run, out=most)
    return most
