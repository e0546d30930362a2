"""How long a plate takes at the table: beads, colour changes along rows, colours to fetch.

    seconds = 3 x beads + 2 x colour changes + 60 x colours

All three are guesses (common practice, no source). At a change for every second bead that is 4 s a
bead, 900 beads an hour; who knows their own pace on such a plate scales all three by it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from img2plate.base.arrays import Cells
from img2plate.base.errors import OptionError

SECONDS_PER_BEAD = 3.0
"""To take a bead of the colour at hand and put it on its peg."""
SECONDS_PER_CHANGE = 2.0
"""To look which colour comes next, and to reach for it."""
SECONDS_PER_COLOUR = 60.0
"""To find a colour, pour it out, and put it away again."""
USUAL_PACE = 900.0
"""Beads an hour by the above where every second bead changes colour, colours being at hand."""


@dataclass(frozen=True)
class Effort:
    """What placing a plate's beads takes."""

    beads: int
    changes: int
    """Colour changes along rows."""
    colours: int
    pace: float = USUAL_PACE
    """Beads an hour on a plate where every second bead changes colour."""

    @property
    def hours(self) -> float:
        """Estimated time, a guess."""
        seconds = (
            SECONDS_PER_BEAD * self.beads
            + SECONDS_PER_CHANGE * self.changes
            + SECONDS_PER_COLOUR * self.colours
        )
        return seconds / 3600 * USUAL_PACE / self.pace

    @property
    def number(self) -> str:
        """The hours as they are written: with one decimal, and never none at all."""
        return "under 0.1" if self.hours < 0.05 else f"{self.hours:.1f}"

    @property
    def words(self) -> str:
        """What the estimate rests on, to follow the number of hours."""
        changes = "colour change" if self.changes == 1 else "colour changes"
        return f"hours (a guess), {self.changes:,} {changes}"


def colour_changes(cells: Cells) -> int:
    """How often the colour changes along the rows of a plate (h, w), empty cells passed over."""
    filled = cells >= 0
    row, bead = np.nonzero(filled)[0], cells[filled]
    return int(np.count_nonzero((bead[1:] != bead[:-1]) & (row[1:] == row[:-1])))


def rough_hours(beads: int, pace: float = USUAL_PACE) -> float:
    """Hours for so many beads before their colours are known."""
    return beads / check_pace(pace)


def check_pace(pace: float) -> float:
    """Return a pace. Raises OptionError for what makes no sense."""
    if not 1 <= pace <= 100_000:
        raise OptionError("is not from 1 to 100,000 beads an hour", field="pace", value=pace)
    return pace
