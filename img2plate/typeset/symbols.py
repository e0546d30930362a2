"""One symbol for each colour of a plate, that reads in black and white, and how it stands on it.

One character for the first colours, two for the rest, from characters that the typeface keeps
apart at 2.6 mm. Left out: letters that another one resembles (I l 1, O 0 Q, S 5, Z 2, B 8, U V),
and small letters that are only smaller capitals.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

SINGLE = "AXHTLK4CE7NPM3RY9WFDG6J2ahtr+=#%&?@<>/"
"""Most used colours first get the plainest shapes."""
PAIRED = "AHTXLK4C7P3Y9G6J2"
"""For pairs, which are drawn smaller: without R beside P, N beside H, E beside L, F, D, M, W."""
LEAST_CONTRAST = 4.5
"""WCAG 2.1, success criterion 1.4.3 (AA)."""
_STEPS = 65
"""Tints and shades that a chip is chosen from, from the bead's colour to white or black."""
CHIP = 0.8
"""Diameter of a chip, as a share of the cell."""
MOST_OF_CELL = 2 / 3
"""Widest a symbol may be, as a share of the cell."""


class Sign(NamedTuple):
    """How a symbol stands on a colour."""

    ink: str
    """Black or white."""
    chip: str
    """Colour of a round chip under the symbol in print, or nothing: a tint or a shade of the bead's
    own, so that an area of them is still seen in its colour."""


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
    black nor white reads for all: there the symbol stands on a chip, as little lighter or darker
    than the bead as will do.
    """
    bead = _colours([colour])[0]
    ways = [(ink, *_chip(bead, ink)) for ink in ("#000000", "#ffffff")]
    ink, _, chip = min(ways, key=lambda way: way[1])
    return Sign(ink, chip)


@cache
def ink_on(colour: str) -> str:
    """Black or white on a colour `#rrggbb`, whichever reads better for every kind of sight: for
    screens, where symbols are large and need no chip."""
    black, white = (_contrasts(_colours([colour]), ink)[0] for ink in ("#000000", "#ffffff"))
    return "#000000" if black >= white else "#ffffff"


def _chip(bead: NDArray[np.float64], ink: str) -> tuple[float, str]:
    """How far from a bead's colour, sRGB (3,), its chip has to go away from an ink; and the chip,
    nothing where that is nowhere."""
    away = 1.0 if ink == "#000000" else 0.0
    shares = np.linspace(0, 1, _STEPS)[:, None]
    # As 8-bit colours, for that is how they are printed.
    mixes = np.round((bead + (away - bead) * shares) * 255) / 255
    enough = int(np.argmax(_contrasts(mixes, ink) >= LEAST_CONTRAST))
    if not enough:
        return -float(_contrasts(mixes[:1], ink)[0]), ""
    chip = "#" + bytes(np.round(mixes[enough] * 255).astype(np.uint8)).hex()
    return float(np.abs(mixes[enough] - bead).sum()), chip


def _contrasts(srgb: NDArray[np.float64], ink: str) -> NDArray[np.float64]:
    """(n,) least contrast of an ink on colours (n, 3) 0..1, over all kinds of sight."""
    from img2plate.colour.colour_vision import least_contrasts
    from img2plate.colour.spaces import srgb2linear

    light = 0.0 if ink == "#000000" else 1.0
    return np.asarray(least_contrasts(np.asarray(srgb2linear(srgb)), light), dtype=np.float64)


def _colours(colours: Sequence[str]) -> NDArray[np.float64]:
    """(n, 3) of `#rrggbb`, 0..1."""
    codes = b"".join(bytes.fromhex(colour.removeprefix("#")) for colour in colours)
    return np.frombuffer(codes, np.uint8).reshape(-1, 3) / 255
