"""Looks at a picture: of a large one, all of it made smaller, then its busiest part as it is.

Either shows what tells grids apart, of large cells or of small ones, but for the last thousandth of
the pitch. Stretches of the picture that lie far from each other show that: the grid is followed
there.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import ceil

import numpy as np
from numpy.typing import NDArray

from img2plate.base.arrays import Pixels
from img2plate.image.native.axis import AnyAxis, AxisGrid, LongAxis, axes_of, axis_of, wrap
from img2plate.image.native.grid_candidate import Candidate
from img2plate.image.native.joint import Joint, step_for
from img2plate.image.native.loops import BICUBIC, HARDEST, NEAREST, SOFT_KINDS
from img2plate.image.native.refine import refine

LARGE, WINDOW = 720, 512
"""Pixels of a side from which on a picture is looked at in parts, and of such a part."""
STRETCH, STRETCHES, ACROSS = 360, 3, 480
"""Pixels along a stretch, how many there are on an axis, and lines across that are looked at."""
PULL = 0.1
"""Nats a pixel by which a grid of soft cells may seem better than one that fills the frame."""
HALVED = (0.15, 1.0)
"""Nats a pixel by which cells of half the size explain more when they are there, hard or soft. In
scenes of right cells it was at most -0.05 and 0.5, as soft ones follow what was clipped; of doubled
cells with single ones among them 0.28 and 1.9 or more."""
_BLOCK = 16


def premultiplied(pixels: Pixels) -> NDArray[np.float32]:
    """(h, w, 4) float32 0..255, colours times alpha."""
    planes = pixels.astype(np.float32)
    if pixels[..., 3].min() < 255:
        planes[..., :3] *= planes[..., 3:] / 255
    return planes


def reduced(pixels: Pixels, times: int) -> NDArray[np.float32]:
    """(h // times, w // times, 4) float32: `premultiplied`, averaged over blocks."""
    import cv2

    height, width = (side // times for side in pixels.shape[:2])
    part = pixels[: height * times, : width * times]
    # Averages of bytes are good to a quarter of a step; floats would take four times the memory.
    plain = part if part[..., 3].min() == 255 else premultiplied(part)
    small = cv2.resize(plain, (width, height), interpolation=cv2.INTER_AREA)
    return np.asarray(small, np.float32)


def varying_channels(planes: NDArray[np.float32]) -> NDArray[np.float32]:
    """Channels of a picture (h, w, 4) that say something: grey once, alpha only if there is any."""
    keep = [0]
    if not all(np.array_equal(planes[..., 0], planes[..., c]) for c in (1, 2)):
        keep = [0, 1, 2]
    if planes[..., 3].min() < 255:
        keep.append(3)
    return planes[..., keep]


@dataclass(frozen=True, eq=False)
class Look:
    """A part of a picture, or all of it made smaller."""

    planes: NDArray[np.float32]
    """(h, w, channels)."""
    origin: tuple[int, int] = (0, 0)
    """Its left and top, in picture pixels."""
    times: int = 1
    """Picture pixels for each of its own, along a side."""


def looks(pixels: Pixels) -> Iterator[Look]:
    """What is looked at, one after the other until a grid is seen."""
    if is_large(pixels):
        times = ceil(max(pixels.shape[:2]) / WINDOW)
        yield Look(varying_channels(reduced(pixels, times)), times=times)
        left, top = busiest(pixels)
        pixels = pixels[top : top + WINDOW, left : left + WINDOW]
        yield Look(varying_channels(premultiplied(pixels)), (left, top))
    else:
        yield Look(varying_channels(premultiplied(pixels)))


def is_large(pixels: Pixels) -> bool:
    """Whether it is looked at in parts."""
    return bool(max(pixels.shape[:2]) > LARGE)


def busiest(pixels: Pixels, window: int = WINDOW) -> tuple[int, int]:
    """Left and top of the window in which most happens."""
    change = _changes(pixels) + _changes(pixels.transpose(1, 0, 2)).T
    sums = np.pad(change.cumsum(axis=0).cumsum(axis=1), ((1, 0), (1, 0)))
    down, across = (min(window // _BLOCK, n) for n in change.shape)
    inside = sums[down:, across:] - sums[:-down, across:] - sums[down:, :-across]
    inside += sums[:-down, :-across]
    top, left = np.unravel_index(int(inside.argmax()), inside.shape)
    return int(left) * _BLOCK, int(top) * _BLOCK


def _changes(pixels: Pixels) -> NDArray[np.float64]:
    """(h / block, w / block) how much neighbours in a row differ, on one row of each block."""
    import cv2

    rows = np.ascontiguousarray(pixels[_BLOCK // 2 :: _BLOCK][: len(pixels) // _BLOCK])
    wide = pixels.shape[1] // _BLOCK
    change = np.zeros_like(rows)
    cv2.absdiff(rows[:, 1:], rows[:, :-1], dst=change[:, :-1])
    blocks = change[:, : wide * _BLOCK].reshape(len(rows), wide, -1)
    return np.asarray(blocks.sum(axis=2), np.float64)


def long_axes(pixels: Pixels) -> tuple[AnyAxis, AnyAxis]:
    """Horizontal and vertical axis of a picture of any size."""
    return _long_axis(pixels.transpose(1, 0, 2)), _long_axis(pixels)


def _long_axis(pixels: Pixels) -> LongAxis:
    """Axis along the first dimension, known through its stretches."""
    length, across = pixels.shape[:2]
    lines = np.unique(np.linspace(0, across - 1, min(ACROSS, across)).round().astype(int))
    found = []
    for part in np.array_split(np.arange(length), STRETCHES):
        start = int(part[0]) + _busiest_stretch(pixels[part[0] : part[-1] + 1, lines[::2]])
        end = min(start + STRETCH, int(part[-1]) + 1)
        found.append((start, axis_of(varying_channels(premultiplied(pixels[start:end, lines])))))
    return LongAxis(length, tuple(found))


def _busiest_stretch(pixels: Pixels) -> int:
    """Where the stretch along the first dimension begins in which most happens."""
    if len(pixels) <= STRETCH:
        return 0
    change = np.abs(np.diff(pixels.reshape(len(pixels), -1).astype(np.int16), axis=0)).sum(axis=1)
    sums = np.append(0, change.cumsum())
    return int((sums[STRETCH - 1 :] - sums[: 1 - STRETCH]).argmax())


def follow(x: AnyAxis, y: AnyAxis, candidate: Candidate, look: Look) -> Candidate:
    """The grid on both axes of a whole picture that a candidate on a look belongs to."""
    # How hard cells end matters little on many pixels, and only the plain kernel is quick.
    kind = NEAREST if candidate.kind <= HARDEST else candidate.kind
    (on_x, cost_x), (on_y, cost_y) = (
        _followed(axis, lines, (start, size * look.times), look.times, kind)
        for axis, lines, start, size in zip(
            (x, y), (candidate.x, candidate.y), look.origin, look.planes.shape[1::-1], strict=True
        )
    )
    return Candidate(on_x, on_y, kind, cost_x + cost_y)


def halved_if_doubled(x: AnyAxis, y: AnyAxis, candidate: Candidate) -> Candidate:
    """The grid, or that of half its pitch where this explains much more: not all were doubled."""
    soft = candidate.kind > HARDEST
    halves = [_halved(lines) for lines in (candidate.x, candidate.y)]
    tried = []
    for kind in {candidate.kind, BICUBIC} if soft else {NEAREST}:  # the kernel is not sure yet
        costs = x.costs([candidate.x, halves[0]], kind) + y.costs([candidate.y, halves[1]], kind)
        tried.append((kind, float(costs[0]), float(costs[1])))
    as_it_is = min(cost for _, cost, _ in tried)
    kind, _, halved = min(tried, key=lambda one: one[2])
    gained = (as_it_is - halved) / (x.length + y.length)
    return Candidate(halves[0], halves[1], kind, halved) if gained > HALVED[soft] else candidate


def _halved(lines: AxisGrid) -> AxisGrid:
    half = lines.pitch / 2
    return AxisGrid(half, lines.offset if lines.whole else wrap(lines.offset, half), lines.whole)


def soft_kind(pixels: Pixels, candidate: Candidate) -> int:
    """The kernel that fits best on the busiest part of a large picture."""
    left, top = busiest(pixels)
    planes = varying_channels(premultiplied(pixels[top : top + WINDOW, left : left + WINDOW]))
    joint = Joint(planes, *axes_of(planes), step_for(min(candidate.x.pitch, candidate.y.pitch)))
    there = [
        AxisGrid(lines.pitch, wrap(lines.offset - start, lines.pitch))
        for lines, start in ((candidate.x, left), (candidate.y, top))
    ]
    return min(SOFT_KINDS, key=lambda kind: joint.cost(Candidate(there[0], there[1], kind, 0.0)))


def _followed(
    axis: AnyAxis, seen: AxisGrid, where: tuple[int, int], times: int, kind: int
) -> tuple[AxisGrid, float]:
    """Turn about the middle of the look, as far as the look leaves it open."""
    start, size = where
    pitch, offset = seen.pitch * times, start + seen.offset * times
    middle = start + size / 2
    edge = middle - (middle - offset) % pitch
    loose = max(0.6 * times, 0.08 * pitch) * pitch / size
    step = max(0.5, pitch / 12) * pitch / axis.length
    pitches = pitch + step * np.arange(-int(loose / step) - 1, int(loose / step) + 2)
    pitches = np.append(pitches, [pitch, round(pitch)])
    shifts = np.arange(-2, 3) * max(0.25 * times, pitch / 24)
    tried = [AxisGrid(float(p), wrap(float(edge + s), float(p))) for p in pitches for s in shifts]
    best = tried[int(axis.costs(tried, kind).argmin())]
    found, cost = refine(axis, best.pitch, kind, [best.offset])
    whole = AxisGrid(axis.length / max(1, round(axis.length / pitch)), 0.0, True)
    if kind > HARDEST and abs(whole.pitch - pitch) < loose:
        # What was clipped pulls soft grids a little aside.
        framed = float(axis.costs([whole], kind)[0])
        if framed < cost + PULL * axis.length:
            return whole, framed
    return found, cost
