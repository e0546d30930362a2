"""Real files, damaged as disks, networks, editors and people with a grudge damage them.

All chances come from one generator, so that an input can be made again from its number.
"""

from __future__ import annotations

import random
import struct
import zlib
from collections.abc import Callable, Sequence

WHOLE_NUMBERS = (0, 1, 2, 127, 128, 255, 256, 32767, 32768, 65535, 2**31 - 1, 2**31, 2**32 - 1)
WORDS = (
    b"", b"\0", b"\n", b"\r\n", b",", b";", b'"', b"'", b"#", b"[", b"]", b"{", b"}", b"=", b"-",
    b"-1", b"0", b"1e999", b"nan", b"inf", b"9" * 400, b"1" + b"0" * 30, b"\xef\xbb\xbf", b"\xff",
    b"\xe2\x80\xae", b"\xed\xa0\x80", b"=cmd()", b"<script>", b"../", b"null", b"true", b"[[" * 50,
    b"{" * 2000, b"a" * 10_000, "\u0661\u00b2".encode(),
)  # fmt: skip
SIGNATURE = b"\x89PNG\r\n\x1a\n"


def mutated(number: int, seeds: Sequence[bytes], words: bool) -> bytes:
    """The input of a number: one of the seeds, changed in one to six places.

    words: change it as text, with what texts are made of; else as bytes and binary numbers.
    """
    chance = random.Random(number)
    data = bytearray(chance.choice(seeds))
    ways = TEXT_WAYS if words else BINARY_WAYS
    for _ in range(chance.choice((1, 1, 2, 3, 6))):
        chance.choice(ways)(chance, data, seeds)
    # A PNG whose checksums are wrong is refused at once: the readers behind would see none.
    if data.startswith(SIGNATURE) and chance.random() < 0.8:
        return with_checksums(bytes(data))
    return bytes(data)


def _flip(chance: random.Random, data: bytearray, _seeds: Sequence[bytes]) -> None:
    if data:
        data[chance.randrange(len(data))] ^= 1 << chance.randrange(8)


def _number(chance: random.Random, data: bytearray, _seeds: Sequence[bytes]) -> None:
    """A number where a width, a count or an offset may stand, mostly near the head."""
    size = chance.choice((1, 2, 4))
    room = len(data) - size
    if room > 0:
        at = chance.randrange(min(room, 64) if chance.random() < 0.7 else room)
        value = chance.choice(WHOLE_NUMBERS) % (1 << 8 * size)
        data[at : at + size] = value.to_bytes(size, chance.choice(("little", "big")))


def _cut(chance: random.Random, data: bytearray, _seeds: Sequence[bytes]) -> None:
    del data[chance.randrange(len(data) + 1) :]


def _drop(chance: random.Random, data: bytearray, _seeds: Sequence[bytes]) -> None:
    at = chance.randrange(len(data) + 1)
    del data[at : at + chance.choice((1, 2, 4, 30, 300))]


def _again(chance: random.Random, data: bytearray, _seeds: Sequence[bytes]) -> None:
    at, to = chance.randrange(len(data) + 1), chance.randrange(len(data) + 1)
    data[to:to] = data[at : at + chance.choice((1, 4, 30, 300))]


def _splice(chance: random.Random, data: bytearray, seeds: Sequence[bytes]) -> None:
    other = chance.choice(seeds)
    at = chance.randrange(len(data) + 1)
    data[at:] = other[chance.randrange(len(other) + 1) :]


def _word(chance: random.Random, data: bytearray, _seeds: Sequence[bytes]) -> None:
    at = chance.randrange(len(data) + 1)
    data[at : at + chance.choice((0, 0, 1, 5))] = chance.choice(WORDS)


def _value(chance: random.Random, data: bytearray, _seeds: Sequence[bytes]) -> None:
    """Another word for a whole one between separators."""
    marks = [i for i, byte in enumerate(data) if byte in b',;\n= :[]"']
    if len(marks) > 1:
        place = chance.randrange(len(marks) - 1)
        data[marks[place] + 1 : marks[place + 1]] = chance.choice(WORDS)


Way = Callable[[random.Random, bytearray, Sequence[bytes]], None]
BINARY_WAYS: tuple[Way, ...] = (
    _flip, _flip, _number, _number, _number, _cut, _drop, _again, _splice,
)  # fmt: skip
TEXT_WAYS: tuple[Way, ...] = (
    _flip, _word, _word, _value, _value, _value, _cut, _drop, _again, _splice,
)  # fmt: skip


def with_checksums(data: bytes) -> bytes:
    """A PNG with right checksums in each chunk that is whole (ISO/IEC 15948, 5.3)."""
    out, at = bytearray(SIGNATURE), len(SIGNATURE)
    while at + 12 <= len(data):
        (length,) = struct.unpack(">I", data[at : at + 4])
        if at + 12 + length > len(data):
            break
        body = data[at + 4 : at + 8 + length]
        out += data[at : at + 4] + body + struct.pack(">I", zlib.crc32(body))
        at += 12 + length
    return bytes(out + data[at:])
