"""The coefficients that a JPEG file stores, by channel."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil

import numpy as np
from numpy.typing import NDArray

from img2plate.image.jpeg.segments import (
    ZIGZAG,
    FrameComponent,
    NotReadError,
    Scan,
    Segments,
    read_segments,
)

MOST_PIXELS = 4_000_000
"""A larger picture is not read: what its cells are shows in the pixels."""


@dataclass(frozen=True, eq=False)
class Channel:
    """One channel: luma, or chroma, mostly of half the size."""

    steps: NDArray[np.float64]
    """(8, 8) quantiser steps."""
    stored: NDArray[np.float32]
    """(8 blocks down, 8 blocks across): the coefficients, dequantised, each block in its place."""
    ratio: tuple[int, int]
    """Picture pixels for each of its own, across and down."""
    start: tuple[int, int] = (0, 0)
    """Left and top picture pixel of the first block."""


@dataclass(frozen=True, eq=False)
class Coefficients:
    """What bounds the picture that was saved: each coefficient was within half a step of these."""

    size: tuple[int, int]
    """Width and height of the picture in pixels."""
    channels: tuple[Channel, ...]
    """Y, or Y, Cb and Cr."""


def read_coefficients(data: bytes) -> Coefficients | None:
    """Read the coefficients of a JPEG file; None when it is of another kind, or damaged.

    Other kinds: progressive, arithmetic, 12 bits, CMYK, RGB, or sampled in no whole ratio.
    """
    try:
        segments = read_segments(data)
        return _decoded(np.frombuffer(data, np.uint8), segments)
    except (NotReadError, IndexError):
        return None


def _decoded(data: NDArray[np.uint8], segments: Segments) -> Coefficients | None:
    """All channels of a picture of one or three."""
    parts = segments.components
    if len(parts) not in (1, 3) or (len(parts) == 3 and not _is_turned(segments)):
        return None
    width, height = segments.size
    if len(parts) == 1:  # its sampling factors say nothing
        parts = (FrameComponent(parts[0].number, 1, 1, parts[0].table),)
    most = max(part.across for part in parts), max(part.down for part in parts)
    if any(part.table not in segments.tables for part in parts):
        raise NotReadError("no quantiser table")
    if width * height > MOST_PIXELS or any(most[0] % p.across or most[1] % p.down for p in parts):
        return None
    units = ceil(width / (8 * most[0])), ceil(height / (8 * most[1]))
    wide = [units[0] * part.across for part in parts]
    high = [units[1] * part.down for part in parts]
    firsts = np.cumsum([0, *(w * h for w, h in zip(wide, high, strict=True))])
    values = np.zeros((firsts[-1], 64), np.int16)
    ratios = [(most[0] // part.across, most[1] // part.down) for part in parts]
    blocks = [(ceil(ceil(width / x) / 8), ceil(ceil(height / y) / 8)) for x, y in ratios]
    seen: set[int] = set()
    for scan in segments.scans:
        rows, of_scan = _laid_out(scan, parts, units, blocks, firsts, wide)
        if not _read(data, scan, of_scan, rows, values):
            return None
        seen |= {place for place, _, _ in scan.parts}
    if len(seen) < len(parts):
        return None
    channels = []
    for i, part in enumerate(parts):
        own = values[firsts[i] : firsts[i + 1]].reshape(high[i], wide[i], 8, 8)
        own = own[: blocks[i][1], : blocks[i][0]]  # further ones only fill up the last units
        steps = segments.tables[part.table].astype(np.float64)
        planes = (own * steps.astype(np.float32)).transpose(0, 2, 1, 3)
        stored = planes.reshape(8 * blocks[i][1], 8 * blocks[i][0])
        channels.append(Channel(steps, stored, ratios[i]))
    return Coefficients(segments.size, tuple(channels))


def _is_turned(segments: Segments) -> bool:
    """Whether three channels are Y, Cb and Cr, by the rules that libjpeg goes by."""
    if segments.transform is not None:
        return segments.transform == 1
    return [part.number for part in segments.components] != [ord(c) for c in "RGB"]


def _laid_out(
    scan: Scan,
    parts: tuple[FrameComponent, ...],
    units: tuple[int, int],
    blocks: list[tuple[int, int]],
    firsts: NDArray[np.int64],
    wide: list[int],
) -> tuple[NDArray[np.int64], tuple[int, int]]:
    """Where the blocks of a scan go (see `read_scan`), and its units."""
    alone = len(scan.parts) == 1  # then its units are blocks
    rows = [
        (1 if alone else parts[i].across, 1 if alone else parts[i].down, dc, ac, firsts[i], wide[i])
        for i, dc, ac in scan.parts
    ]
    return np.array(rows, np.int64), blocks[scan.parts[0][0]] if alone else units


def _read(
    data: NDArray[np.uint8],
    scan: Scan,
    units: tuple[int, int],
    rows: NDArray[np.int64],
    values: NDArray[np.int16],
) -> bool:
    from img2plate.image.jpeg.codes import read_scan

    return read_scan(data, scan.start, units, scan.restart, scan.lookups, rows, ZIGZAG, values)
