"""A printer: how near to the edge it reaches, and how true its millimetres are."""

from __future__ import annotations

import re
from typing import NamedTuple

from img2plate.base.errors import OptionError

RULER_MM = 100.0
"""Length of the rulers on each sheet."""
USUAL_MARGIN_MM = 8.0
"""Most printers reach to within 5 mm of the edge; common practice, no source."""


class Rulers(NamedTuple):
    """What the sheet's two rulers of 100 mm measure on paper, mm."""

    short_mm: float = RULER_MM
    """The one along the sheet's short side."""
    long_mm: float = RULER_MM


TRUE_RULERS = Rulers()


def parse_rulers(text: str) -> Rulers:
    """Read `99.4`, or `99.4x100.2` for the sheet's short and long side. Raises OptionError."""
    number = r"(\d+(?:\.\d+)?)"
    match = re.fullmatch(rf"\s*{number}\s*(?:mm)?\s*(?:[x×X]\s*{number}\s*(?:mm)?)?\s*", text)
    if not match:
        raise OptionError(
            "is not a length in mm, as in 99.4, or two, as in 99.4x100",
            field="printer_measured",
            value=text,
        )
    short = float(match[1])
    return Rulers(short, float(match[2]) if match[2] else short)
