"""How sheets are printed: paper, margin, which way round, and a printer that is a little off."""

from __future__ import annotations

from dataclasses import dataclass

from img2plate.base.errors import OptionError
from img2plate.base.lengths import Paper
from img2plate.base.printer import RULER_MM, TRUE_RULERS, USUAL_MARGIN_MM

MARGIN = USUAL_MARGIN_MM
FRONTS = ("iron-side", "board-side")
"""Which face of the finished plate is seen: the one that faces up on the board, or down."""


@dataclass(frozen=True)
class Printing:
    """What all pages of `sheets.pdf` have in common.

    Raises OptionError for a margin out of range, and when a ruler is more than a fifth off: then
    something else is wrong.
    """

    paper: Paper
    margin_mm: float = MARGIN
    measured_mm: tuple[float, float] = TRUE_RULERS
    """Printed length of the two 100 mm rulers: along the sheet's short side, and its long side."""
    mirrored: bool = False
    """Whether the seen face lies on the board, so that sheets and boards are laid out mirrored."""
    runs: bool = False
    """Whether pages with the run lengths of each row follow each tile."""

    def __post_init__(self) -> None:
        if not 3 <= self.margin_mm <= 40:
            raise OptionError("is not from 3 to 40 mm", field="margin_mm", value=self.margin_mm)
        for measured in self.measured_mm:
            if not 80 <= measured <= 120:
                raise OptionError(
                    f"{measured:g} mm is too far from 100",
                    field="printer_measured",
                    remedy="print at 100%, not 'fit to page', and measure the ruler again",
                )

    @property
    def is_corrected(self) -> bool:
        """Whether pages make up for a printer that is off."""
        return self.measured_mm != (RULER_MM, RULER_MM)


def is_mirrored(front: str) -> bool:
    """Whether boards are laid out mirrored. Raises OptionError for an unknown face."""
    if front not in FRONTS:
        raise OptionError(f"is none of {', '.join(FRONTS)}", field="front", value=front)
    return front == "board-side"
