"""The plate in another palette, or in the beads that are there, done in a worker process."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np

from img2plate.colour.palette import Bead
from img2plate.colour.palette_file import find_palette
from img2plate.pipeline.options import Progress, with_pitch
from img2plate.pipeline.rebuild import RebuildOptions, rebuilt_plate
from img2plate.plate.document import read_plate
from img2plate.plate.rebuild import Change
from img2plate.ui.worktable.wishes.settings import told
from img2plate.ui.worktable.work.colours import write_shown

SAID = ((1.0, "the same"), (3.0, "hardly another"), (8.0, "near"), (15.0, "another shade"))
"""Differences (CIEDE2000) below which colours are called so; by eye."""
FAR = "another colour"


def make_rebuilt(
    document: Path, options: RebuildOptions, spare_percent: float, folder: Path, tell: Progress
) -> dict[str, Any]:
    """The plate of a document as `img2plate rebuild` makes it: pictures before and after, changes.

    Raises OptionError, PaletteError, StockError.
    """
    tell("choosing beads", 0.1)
    plate = read_plate(document)
    palette = find_palette(options.palette) if options.palette else plate.palette
    palette = with_pitch(palette, plate.palette.pitch_mm)
    rebuilt = rebuilt_plate(plate, palette, options, spare_percent)
    about = {
        "colours": int(np.count_nonzero(rebuilt.plate.counts())),
        "before": int(np.count_nonzero(plate.counts())),
        "changed": [_change(change) for change in rebuilt.changes],
        "notes": told(rebuilt.notes),
    }
    tell("drawing", 0.7)
    write_shown(folder, about, [plate, rebuilt.plate])
    return about


def words_of(difference: float) -> str:
    """A difference of colour in words."""
    return next((words for most, words in SAID if difference < most), FAR)


def _change(change: Change) -> dict[str, Any]:
    """What a colour becomes, in plain types."""
    return {
        "old": _bead(change.old),
        "new": _bead(change.new),
        "beads": change.beads,
        "words": words_of(change.difference),
    }


def _bead(bead: Bead) -> dict[str, str]:
    return {"code": bead.code, "name": bead.name, "hex": bead.hex}
