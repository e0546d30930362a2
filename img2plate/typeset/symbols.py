"""One symbol for each colour of a plate, that reads in black and white, and how it stands on it.

One character for the first colours, two for the rest, from characters that the typeface keeps
apart at 2.6 mm. Left out: letters that another one resembles (I l 1, O 0 Q, S 5, Z 2, B 8, U V),
and small letters that are only smaller capitals.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from typing import NamedTuple

SINGLE = "AXHTLK4CE7NPM3RY9WFDG6J2ahtr+=#%&?@<>/"
"""Most used colours first get the plainest shapes."""
PAIRED = "AHTXLK4C7P3Y9G6J2"
"""For pairs, which are drawn smaller: without R beside P, N beside H, E beside L, F, D, M, W."""
LEAST_CONTRAST = 4.5
"""WCAG 2.1, success criterion 1.4.3 (AA)."""
CHIP = 0.8
"""Diameter of a chip, as a share of the cell."""
MOST_OF_CELL = 2 / 3
"""Widest a symbol may be, as a share of the cell."""


class Sign(NamedTuple):
    """How a symbol stands on a colour."""

    ink: str
    """Black or white."""
    chip: str
    """Colour of a round chip under the symbol, or nothing."""


def symbols_for(colours: Sequence[int]) -> dict[int, str]:
    """Give each palette index its symbol, in the order given (most used first).

    Raises ValueError for more colours than there are symbols (327); a plate document holds 255.
    """
    pairs = [first + second for first in PAIRED for second in PAIRED]
    symbols = [*SINGLE, *pairs]
    if len(colours) > len(symbols):
        raise ValueError(f"{len(colours)} colours, but only {len(symbols)} symbols")
    return dict(zip(colours, symbols, strict=False))


@cache
def sign_on(colour: str) -> Sign:
    """Black or white on a colour `#rrggbb`: at least 4.5 to 1 for every kind of sight, and in grey.

    A few colours (a strong red, say) are light to some eyes and dark to others, so that neither
    black nor white reads for all: there the symbol stands black on a white chip.
    """
    import numpy as np

    from img2plate.colour.colour_vision import least_contrasts
    from img2plate.colour.spaces import srgb2linear

    srgb = np.frombuffer(bytes.fromhex(colour.removeprefix("#")), np.uint8)[None] / 255
    linear = srgb2linear(srgb)
    black, white = least_contrasts(linear, 0.0)[0], least_contrasts(linear, 1.0)[0]
    if max(black, white) < LEAST_CONTRAST:
        return Sign("#000000", "#ffffff")
    return Sign("#000000" if black >= white else "#ffffff", "")
