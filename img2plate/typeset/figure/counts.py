"""What a figure takes: the usual count, with a column for each plate."""

from __future__ import annotations

import csv
from dataclasses import replace
from pathlib import Path

import numpy as np

from img2plate.base.csv_rows import for_spreadsheet
from img2plate.plate.plate import EMPTY, Plate
from img2plate.solid.box.build import Figure
from img2plate.split.tiles import Split, Tile
from img2plate.tally.counts import Counts, count
from img2plate.tally.effort import USUAL_PACE, colour_changes


def count_figure(figure: Figure, *, spare_percent: float = 5.0, pace: float = USUAL_PACE) -> Counts:
    """Count all plates as tiles of one, in the figure's order.

    Raises OptionError for a negative percentage, or a pace that makes no sense.
    """
    plates = [piece.plate for piece in figure.pieces]
    high = max(plate.size[1] for plate in plates)
    starts = np.cumsum([0, *(plate.size[0] for plate in plates)])
    cells = np.full((high, int(starts[-1])), EMPTY, dtype=np.int16)
    tiles = []
    for number, (plate, start) in enumerate(zip(plates, starts.tolist(), strict=False)):
        tile = Tile(number, 0, start, 0, *plate.size)
        tile.of(cells)[:] = plate.cells
        tiles.append(tile)
    whole = Plate(cells, figure.spec.palette, figure.spec.name)
    cut = Split(whole.size, tuple(tiles), ())
    counts = count(whole, cut, spare_percent=spare_percent, pace=pace)
    # Rows end with their plate.
    return replace(counts, changes=sum(colour_changes(plate.cells) for plate in plates))


def write_figure_counts(path: Path, figure: Figure, counts: Counts) -> None:
    """Write one line per colour, most used first, then the total; a column per plate."""
    head = ["code", "name", "hex", "finish", "beads", "with_spares", "grams"]
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(for_spreadsheet([*head, *(piece.title for piece in figure.pieces)]))
        for line in counts.colours:
            bead = line.bead
            row = [bead.code, bead.name, bead.hex, bead.finish, line.beads, line.with_spares]
            writer.writerow(for_spreadsheet([*row, f"{line.grams:.2f}", *line.per_tile]))
        beads = [piece.plate.bead_count for piece in figure.pieces]
        total = ["total", "", "", "", counts.beads, counts.with_spares, f"{counts.grams:.2f}"]
        writer.writerow([*total, *beads])
