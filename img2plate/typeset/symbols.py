"""One symbol for each colour of a plate, that reads in black and white.

One character for the first colours, two for the rest, from characters that the typeface keeps
apart at 2.6 mm. Left out: letters that another one resembles (I l 1, O 0 Q, S 5, Z 2, B 8, U V),
and small letters that are only smaller capitals.
"""

from __future__ import annotations

from collections.abc import Sequence

SINGLE = "AXHTLK4CE7NPM3RY9WFDG6J2ahtr+=#%&?@<>/"
"""Most used colours first get the plainest shapes."""
SECOND = "AHTXLK4CE7NPM3RY9WFDG6J2"


def symbols_for(colours: Sequence[int]) -> dict[int, str]:
    """Give each palette index its symbol, in the order given (most used first).

    Raises ValueError for more colours than there are symbols (614).
    """
    pairs = [first + second for first in SECOND for second in SECOND]
    symbols = [*SINGLE, *pairs]
    if len(colours) > len(symbols):
        raise ValueError(f"{len(colours)} colours, but only {len(symbols)} symbols")
    return dict(zip(colours, symbols, strict=False))
