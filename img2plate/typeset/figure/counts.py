"""What a figure takes: the usual count over its plates, a column for each."""

from __future__ import annotations

from img2plate.solid.box.build import Figure
from img2plate.tally.bags import Bags
from img2plate.tally.counts import Counts, count_plates
from img2plate.tally.effort import USUAL_PACE


def count_figure(
    figure: Figure,
    *,
    spare_percent: float = 5.0,
    pace: float = USUAL_PACE,
    sold: Bags | None = None,
) -> Counts:
    """Count all plates, in the figure's order.

    Raises OptionError for a negative percentage, or a pace that makes no sense.
    """
    return count_plates(
        [piece.plate for piece in figure.pieces],
        [piece.title for piece in figure.pieces],
        spare_percent=spare_percent,
        pace=pace,
        sold=sold,
    )
