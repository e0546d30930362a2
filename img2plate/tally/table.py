"""The count sheet as a CSV table."""

from __future__ import annotations

import csv
from pathlib import Path

from img2plate.tally.counts import ColourCount, Counts


def write_counts(path: Path, counts: Counts) -> None:
    """Write one line per colour, most used first, then the total; a column per tile."""
    tiles = [tile.name for tile in counts.tiles]
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(
            ["code", "name", "hex", "finish", "beads", "with_spares", "grams", *tiles],
        )
        for line in counts.colours:
            writer.writerow((*_bead_columns(line), f"{line.grams:.2f}", *line.per_tile))
        per_tile = [sum(line.per_tile[i] for line in counts.colours) for i in range(len(tiles))]
        total = ["total", "", "", "", counts.beads, counts.with_spares, f"{counts.grams:.2f}"]
        writer.writerow([*total, *per_tile])


def _bead_columns(line: ColourCount) -> tuple[str | int, ...]:
    """The colour, and how many beads of it."""
    bead = line.bead
    return bead.code, bead.name, bead.hex, bead.finish, line.beads, line.with_spares
