"""The segments of a JPEG file: its tables, its frame and where its scans begin (ITU-T T.81, B)."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

ZIGZAG = np.array(
    [
         0,  1,  8, 16,  9,  2,  3, 10, 17, 24, 32, 25, 18, 11,  4,  5,
        12, 19, 26, 33, 40, 48, 41, 34, 27, 20, 13,  6,  7, 14, 21, 28,
        35, 42, 49, 56, 57, 50, 43, 36, 29, 22, 15, 23, 30, 37, 44, 51,
        58, 59, 52, 45, 38, 31, 39, 46, 53, 60, 61, 54, 47, 55, 62, 63,
    ]
)  # fmt: skip
"""Row by row place of each coefficient in the order of the file."""
SOF0, SOF1, DHT, RST0, RST7, SOI, EOI, SOS, DQT, DRI, APP14 = (
    0xC0, 0xC1, 0xC4, 0xD0, 0xD7, 0xD8, 0xD9, 0xDA, 0xDB, 0xDD, 0xEE,
)  # fmt: skip
OTHER_FRAMES = {0xC2, 0xC3, *range(0xC5, 0xC8), *range(0xC9, 0xCC), *range(0xCD, 0xD0)}
"""Progressive, lossless, hierarchical and arithmetic ones."""


class NotReadError(Exception):
    """A JPEG that is damaged or of a kind that is not read."""


@dataclass(frozen=True)
class FrameComponent:
    """One channel as the frame declares it."""

    number: int
    across: int
    """Sampling factor."""
    down: int
    table: int
    """Number of its quantiser table."""


@dataclass(frozen=True)
class Scan:
    """One scan, with the tables that hold there."""

    start: int
    """Its first byte of codes."""
    parts: tuple[tuple[int, int, int], ...]
    """Of each channel in it: place in the frame, number of its DC and of its AC table."""
    lookups: NDArray[np.uint16]
    """(8, 65536): four DC tables, four AC ones; see `lookup`."""
    restart: int
    """Units from one restart marker to the next; 0 for none."""


@dataclass
class Segments:
    """All that stands in the segments."""

    size: tuple[int, int] = (0, 0)
    """Width and height in pixels."""
    components: tuple[FrameComponent, ...] = ()
    tables: dict[int, NDArray[np.int64]] = field(default_factory=dict)
    """(8, 8) quantiser steps by number."""
    scans: list[Scan] = field(default_factory=list)
    transform: int | None = None
    """Adobe's note of how colours were turned: 0 not at all, 1 to Y, Cb, Cr."""


def read_segments(data: bytes) -> Segments:
    """Read all segments. Raises NotReadError."""
    out, restart = Segments(), 0
    lookups = np.zeros((8, 65536), np.uint16)
    for marker, start, end in _segments(data):
        body = data[start:end]
        if marker in OTHER_FRAMES:
            raise NotReadError("not a baseline file")
        if marker in (SOF0, SOF1):
            out.size, out.components = _frame(body)
        elif marker == DQT:
            out.tables.update(_quantisers(body))
        elif marker == DHT:
            lookups = _with_codes(lookups, body)
        elif marker == DRI:
            restart = int.from_bytes(body[:2])
        elif marker == APP14 and body[:5] == b"Adobe":
            out.transform = body[11]
        elif marker == SOS:
            out.scans.append(Scan(end, _parts(body, out.components), lookups, restart))
    return out


def _segments(data: bytes) -> Iterator[tuple[int, int, int]]:
    """Marker of each segment, and from where to where its body reaches."""
    at = 2
    if data[:2] != bytes((0xFF, SOI)):
        raise NotReadError("not a JPEG file")
    while True:
        at = data.find(0xFF, at)
        if at < 0 or at + 4 > len(data):
            return
        marker = data[at + 1]
        if marker == EOI:
            return
        if marker in (0x00, 0x01, 0xFF) or RST0 <= marker <= RST7:  # codes, or filling
            at += 1 if marker == 0xFF else 2
            continue
        end = at + 2 + int.from_bytes(data[at + 2 : at + 4])
        if end > len(data):
            raise NotReadError("cut off")
        yield marker, at + 4, end
        at = end


def _frame(body: bytes) -> tuple[tuple[int, int], tuple[FrameComponent, ...]]:
    """Size and channels."""
    if len(body) < 6 or body[0] != 8 or len(body) < 6 + 3 * body[5]:
        raise NotReadError("not of 8 bits")
    height, width = int.from_bytes(body[1:3]), int.from_bytes(body[3:5])
    fields = [body[i : i + 3] for i in range(6, 6 + 3 * body[5], 3)]
    parts = tuple(FrameComponent(n, hv >> 4, hv & 15, table) for n, hv, table in fields)
    if not (width and height and parts) or any(
        not (1 <= part.across <= 4 and 1 <= part.down <= 4) for part in parts
    ):
        raise NotReadError("no size or channels")
    return (width, height), parts


def _quantisers(body: bytes) -> Iterator[tuple[int, NDArray[np.int64]]]:
    """Number and steps of each table."""
    at = 0
    while at < len(body):
        wide, number = body[at] >> 4, body[at] & 15
        length = 128 if wide else 64
        part = body[at + 1 : at + 1 + length]
        if len(part) < length or wide > 1:
            raise NotReadError("a damaged quantiser table")
        steps = np.frombuffer(part, ">u2" if wide else np.uint8)
        if not steps.all():
            raise NotReadError("a damaged quantiser table")
        table = np.zeros(64, np.int64)
        table[ZIGZAG] = steps
        yield number, table.reshape(8, 8)
        at += 1 + length


def _with_codes(lookups: NDArray[np.uint16], body: bytes) -> NDArray[np.uint16]:
    """The tables of codes, with those of a segment instead of what they replace."""
    lookups, at = lookups.copy(), 0
    while at + 17 <= len(body):
        kind, number = body[at] >> 4, body[at] & 15
        counts = list(body[at + 1 : at + 17])
        symbols = body[at + 17 : at + 17 + sum(counts)]
        if kind > 1 or number > 3 or len(symbols) != sum(counts):
            raise NotReadError("a damaged table of codes")
        lookups[4 * kind + number] = lookup(counts, symbols)
        at += 17 + sum(counts)
    return lookups


def lookup(counts: list[int], symbols: bytes) -> NDArray[np.uint16]:
    """(65536,) by the next 16 bits: length of the code that they begin with x 256 + its symbol.

    `counts` says how many codes there are of 1 to 16 bits. 0 stands where there is no code.
    """
    lengths = np.repeat(np.arange(1, 17), counts)
    spans = 1 << (16 - lengths)
    if spans.sum() > 65536:
        raise NotReadError("a damaged table of codes")
    table = np.zeros(65536, np.uint16)
    entries = (lengths * 256 + np.frombuffer(symbols, np.uint8)).astype(np.uint16)
    table[: spans.sum()] = np.repeat(entries, spans)
    return table


def _parts(body: bytes, components: tuple[FrameComponent, ...]) -> tuple[tuple[int, int, int], ...]:
    """Which channels a scan holds, and their tables of codes."""
    places = {component.number: i for i, component in enumerate(components)}
    count = body[0] if body else 0
    fields = [body[i : i + 2] for i in range(1, 1 + 2 * count, 2)]
    if not fields or any(len(f) < 2 or f[0] not in places or f[1] & 0xCC for f in fields):
        raise NotReadError("a damaged scan")
    return tuple((places[f[0]], f[1] >> 4, f[1] & 15) for f in fields)
