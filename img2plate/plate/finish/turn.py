"""A plate turned, mirrored, and repeated as a pattern."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from img2plate.base.arrays import Cells
from img2plate.base.errors import OptionError, SizeError
from img2plate.base.lengths import parse_pair

MOST_CELLS = 4_000_000
"""Of a repeated plate."""
HALVES = ("", "half", "half-drop")


class Repeat(NamedTuple):
    """How often a plate is repeated across and down, and what is moved by half a plate."""

    across: int
    down: int
    half: str = ""
    """`half`: every second row of plates to the right; `half-drop`: every second column down."""


def parse_repeat(text: str) -> Repeat:
    """Read `CxR`, `CxR:half` or `CxR:half-drop`. Raises OptionError."""
    pair, _, half = text.partition(":")
    if half not in HALVES or text.endswith(":"):
        raise OptionError("is not CxR, CxR:half or CxR:half-drop, as in 3x2:half", value=text)
    return Repeat(*parse_pair(pair), half)


def turned(cells: Cells, degrees: int) -> Cells:
    """Turn clockwise by 0, 90, 180 or 270 degrees."""
    return np.ascontiguousarray(np.rot90(cells, -degrees // 90))


def mirrored(cells: Cells, way: str) -> Cells:
    """Mirror `left-right` or `top-bottom`."""
    return np.ascontiguousarray(cells[:, ::-1] if way == "left-right" else cells[::-1])


def repeated(cells: Cells, wish: Repeat) -> Cells:
    """Repeat in rows and columns; what is moved over the edge comes in on the other side.

    Raises SizeError for a plate of over `MOST_CELLS`.
    """
    height, width = cells.shape
    if cells.size * wish.across * wish.down > MOST_CELLS:
        raise SizeError(
            f"{width * wish.across} x {height * wish.down} cells are over {MOST_CELLS:,}",
            remedy="`repeat` fewer times",
        )
    if wish.half == "half":
        pair = np.stack([np.tile(cells, wish.across)] * 2)
        pair[1] = np.roll(pair[1], width // 2, axis=1)
        rows = pair[np.arange(wish.down) % 2]
        return np.ascontiguousarray(rows.reshape(-1, width * wish.across))
    if wish.half == "half-drop":
        across = repeated(np.ascontiguousarray(cells.T), Repeat(wish.down, wish.across, "half"))
        return np.ascontiguousarray(across.T)
    return np.tile(cells, (wish.down, wish.across))
