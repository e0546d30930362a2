"""How sheets are printed: paper, margin, which way round, and a printer that is a little off."""

from __future__ import annotations

import re
from dataclasses import dataclass

from img2plate.base.errors import OptionError
from img2plate.base.lengths import Paper

MARGIN = 8.0
"""Most printers reach to within 5 mm of the edge; common practice, no source."""
RULER_MM = 100.0
FRONTS = ("iron-side", "board-side")
"""Which face of the finished plate is seen: the one that looks up from the board, or down on it."""


@dataclass(frozen=True)
class Printing:
    """What all pages of `sheets.pdf` have in common."""

    paper: Paper
    margin_mm: float = MARGIN
    measured_mm: tuple[float, float] = (RULER_MM, RULER_MM)
    """Printed length of the two 100 mm rulers: along the sheet's short side, and its long side."""
    mirrored: bool = False
    """Whether the seen face lies on the board, so that sheets and boards are laid out mirrored."""
    runs: bool = False
    """Whether pages with the run lengths of each row follow each tile."""

    @property
    def is_corrected(self) -> bool:
        """Whether pages make up for a printer that is off."""
        return self.measured_mm != (RULER_MM, RULER_MM)


def is_mirrored(front: str) -> bool:
    """Whether boards are laid out mirrored. Raises OptionError for an unknown face."""
    if front not in FRONTS:
        raise OptionError(f"--front: {front!r} is none of {', '.join(FRONTS)}")
    return front == "board-side"


def check_margin(margin_mm: float) -> float:
    """Check a margin. Raises OptionError when it is out of range."""
    if not 3 <= margin_mm <= 40:
        raise OptionError(f"--margin: {margin_mm:g} mm is not from 3 to 40")
    return margin_mm


def parse_measured(text: str) -> tuple[float, float]:
    """Read `99.4` or `99.4x100.2`: mm of the rulers along the sheet's short and long side.

    Raises OptionError when a ruler is more than a fifth off: then something else is wrong.
    """
    if not text:
        return RULER_MM, RULER_MM
    number = r"(\d+(?:\.\d+)?)"
    match = re.fullmatch(rf"\s*{number}\s*(?:mm)?\s*(?:[x×X]\s*{number}\s*(?:mm)?)?\s*", text)
    if not match:
        raise OptionError(
            f"--printer-measured: {text!r} is not a length in mm, as in 99.4, or two: 99.4x100"
        )
    short = float(match[1])
    long = float(match[2]) if match[2] else short
    for measured in (short, long):
        if not 80 <= measured <= 120:
            raise OptionError(
                f"--printer-measured: {measured:g} mm is too far from 100; print at 100 %,"
                " not 'fit to page', and measure the ruler again"
            )
    return short, long
