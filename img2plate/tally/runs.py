"""Run lengths: each row as "12 kelp, 3 foam", for working by ear or with someone who reads out."""

from __future__ import annotations

import numpy as np

from img2plate.base.arrays import Cells
from img2plate.colour.palette import Palette

EMPTY_WORD = "empty"


def row_runs(row: Cells) -> list[tuple[int, int]]:
    """(beads, palette index) of each run of a row (w,), from the left; index -1 is no bead.

    Empty cells at the end are left out: nobody has to place them.
    """
    filled = np.flatnonzero(row >= 0)
    if not len(filled):
        return []
    row = row[: filled[-1] + 1]
    starts = np.flatnonzero(np.r_[True, row[1:] != row[:-1]])
    lengths = np.diff(np.r_[starts, len(row)])
    return list(zip(lengths.tolist(), row[starts].tolist(), strict=True))


def runs_text(row: Cells, palette: Palette) -> str:
    """A row in words: `12 kelp, 3 foam`; `no beads` for an empty one."""
    words = [
        f"{length} {palette.beads[index].name if index >= 0 else EMPTY_WORD}"
        for length, index in row_runs(row)
    ]
    return ", ".join(words) or "no beads"
