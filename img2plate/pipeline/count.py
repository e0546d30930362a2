"""The beads of several plate documents together."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from img2plate.colour.palette_file import find_palette
from img2plate.plate.document import read_plate
from img2plate.tally.bags import Bags
from img2plate.tally.counts import Counts, count_plates
from img2plate.tally.effort import USUAL_PACE


def run(
    documents: Sequence[Path],
    *,
    palette: str = "",
    spare_percent: float = 0.0,
    pace: float = USUAL_PACE,
    bags: Bags | None = None,
) -> Counts:
    """Add up the beads of several plate documents, one column for each."""
    given = find_palette(palette) if palette else None
    plates = [read_plate(document, given) for document in documents]
    return count_plates(
        plates,
        [plate.name for plate in plates],
        spare_percent=spare_percent,
        pace=pace,
        sold=bags,
    )
