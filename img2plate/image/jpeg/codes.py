"""The compiled loop that turns the Huffman codes of a scan into coefficients (ITU-T T.81, F.2)."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from img2plate.base.compiled import compiled


@compiled
def _peek(data: NDArray[np.uint8], state: NDArray[np.int64]) -> int:
    """The next 16 bits. `state`: next byte, bits in the buffer, the buffer.

    At a marker zeros follow without end.
    """
    while state[1] < 16:
        byte = 0
        if state[0] < len(data):
            byte = int(data[state[0]])
            if byte != 0xFF:
                state[0] += 1
            elif state[0] + 1 < len(data) and data[state[0] + 1] == 0:
                state[0] += 2
            else:
                byte = 0
        state[2] = ((state[2] << 8) | byte) & 0xFFFFFFFF
        state[1] += 8
    return int((state[2] >> (state[1] - 16)) & 0xFFFF)


@compiled
def _number(data: NDArray[np.uint8], state: NDArray[np.int64], bits: int) -> int:
    """A signed number of so many bits."""
    if bits == 0:
        return 0
    value = _peek(data, state) >> (16 - bits)
    state[1] -= bits
    return value if value >= 1 << (bits - 1) else value - (1 << bits) + 1


@compiled
def _block(
    data: NDArray[np.uint8],
    state: NDArray[np.int64],
    dc: NDArray[np.uint16],
    ac: NDArray[np.uint16],
    zigzag: NDArray[np.int64],
    out: NDArray[np.int16],
) -> bool:
    """Read one block (64,), its DC as the difference to that before; False when damaged."""
    entry = dc[_peek(data, state)]
    length, bits = entry >> 8, entry & 255
    if length == 0 or bits > 15:
        return False
    state[1] -= length
    out[0] = _number(data, state, bits)
    at = 1
    while at < 64:
        entry = ac[_peek(data, state)]
        length, run, bits = entry >> 8, (entry >> 4) & 15, entry & 15
        if length == 0:
            return False
        state[1] -= length
        if bits == 0:
            if run != 15:
                return True
            at += 16
            continue
        at += run
        if at > 63:
            return False
        out[zigzag[at]] = _number(data, state, bits)
        at += 1
    return True


@compiled
def _restart(data: NDArray[np.uint8], state: NDArray[np.int64]) -> bool:
    """Go on behind the next restart marker; False when another one or none comes."""
    at = state[0]
    state[1], state[2] = 0, 0
    while at + 1 < len(data):
        if data[at] == 0xFF and data[at + 1] not in (0, 0xFF):
            state[0] = at + 2
            return bool(0xD0 <= data[at + 1] <= 0xD7)
        at += 1
    return False


@compiled
def read_scan(
    data: NDArray[np.uint8],
    start: int,
    units: tuple[int, int],
    restart: int,
    lookups: NDArray[np.uint16],
    parts: NDArray[np.int64],
    zigzag: NDArray[np.int64],
    out: NDArray[np.int16],
) -> bool:
    """Read the codes of a scan that begins at byte `start`; False when damaged.

    `units`: columns and rows of units, each of so many blocks of every channel. `parts` (channels,
    6): blocks of a unit across and down, tables for DC and AC, first block in `out` (blocks, 64)
    and blocks in a row there.
    """
    state = np.array([start, 0, 0])
    before = np.zeros(len(parts), np.int64)
    for unit in range(units[0] * units[1]):
        if restart and unit and unit % restart == 0:
            if not _restart(data, state):
                return False
            before[:] = 0
        row, column = unit // units[0], unit % units[0]
        for c in range(len(parts)):
            across, down, dc, ac, first, wide = parts[c]
            for j in range(down):
                for i in range(across):
                    at = first + (row * down + j) * wide + column * across + i
                    if not _block(data, state, lookups[dc], lookups[4 + ac], zigzag, out[at]):
                        return False
                    before[c] += out[at, 0]
                    out[at, 0] = before[c]
    return True
