"""A plate that was made, over boards: what its pack takes, and where the seams lie.

Nothing is decoded here and no bead is chosen: it takes milliseconds, and is asked while a hand
drags a seam.
"""

from __future__ import annotations

import json
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np

from img2plate.pipeline.options import MakeOptions, PackOptions, palette_for
from img2plate.pipeline.pack import plan_for
from img2plate.plate.plate import Plate
from img2plate.split.advice import work_warning
from img2plate.split.cuts import detail
from img2plate.split.tiles import Split, split
from img2plate.tally.counts import count
from img2plate.typeset.pack import Plan
from img2plate.ui.worktable.wishes.files import Files
from img2plate.ui.worktable.wishes.settings import Settings, read_settings, told

CELLS = "cells.npy"
"""The plate's cells in its folder, (h, w) int16, to be read without decoding a picture."""


def counted(plate: Plate, pack: PackOptions) -> dict[str, Any]:
    """What a plate takes in beads, boards, hours and money. Raises OptionError."""
    plan = plan_for(plate, pack)
    counts = count(
        plate, plan.split, spare_percent=pack.spare_percent, pace=pack.pace, sold=pack.bags
    )  # fmt: skip
    warning = work_warning(counts.beads, counts.hours)
    return {
        "beads": counts.beads,
        "colours": [
            {"code": line.bead.code, "name": line.bead.name, "hex": line.bead.hex,
             "beads": line.beads, "with_spares": line.with_spares}
            for line in counts.colours
        ],
        "changes": counts.changes,
        "boards": list(plan.split.map_size),
        "seams": _seams(plan.split) if plan.split.is_grid else [[], []],
        "hours": round(counts.hours, 1),
        "grams": round(counts.grams),
        "price": None if counts.price is None else f"{counts.price:.2f}",
        "holds": told(plan.strength.notes),
        "work": [f"a lot of work: {warning}"] if warning else [],
    }  # fmt: skip


def counted_in(folder: Path, settings: Settings, files: Files) -> dict[str, Any]:
    """As `counted`, for the plate in a folder and any pack of it; remembered."""
    return dict(_counted(folder, json.dumps(settings, sort_keys=True), files))


@lru_cache(maxsize=256)
def _counted(folder: Path, text: str, files: Files) -> dict[str, Any]:
    options = read_settings(json.loads(text), files)
    return counted(_plate(folder, options), options.pack)


def laid_in(folder: Path, settings: Settings, files: Files) -> dict[str, Any]:
    """Where the seams of a plate lie, its tiles and its rounds. Raises OptionError."""
    options = read_settings(settings, files)
    plate = _plate(folder, options)
    return laid(plate, plan_for(plate, options.pack), options.pack)


def laid(plate: Plate, plan: Plan, pack: PackOptions) -> dict[str, Any]:
    """A plan in plain types, for a page to draw; pegs are counted from 0.

    detail: colour changes that a seam before each column, or row, would meet, `n + 1` of them.
    """
    cut = plan.split
    round_of = {tile: each.number for each in plan.rounds for tile in each.tiles}
    return {
        "size": list(plate.size),
        "board": list(pack.board),
        "is_grid": cut.is_grid,
        "cover": cut.cover_words,
        "seams": _seams(cut),
        "detail": [detail(plate.cells, axis).tolist() for axis in (1, 0)],
        "cut": cut.detail_cut,
        "cut_full": split(plate, pack.board).detail_cut,
        "mirrored": plan.printing.mirrored,
        "tiles": [
            {
                "name": tile.name,
                "at": [tile.column, tile.row],
                "size": [tile.width, tile.height],
                "place": [tile.x, tile.y],
                "board": list(cut.board_of(tile)) if cut.has_sizes else None,
                "beads": int(np.count_nonzero(tile.of(plate.cells) >= 0)),
                "round": round_of.get(tile, 0),
            }
            for tile in cut.tiles
        ],
        "rounds": [[tile.name for tile in each.tiles] for each in plan.rounds],
    }


def _seams(cut: Split) -> list[list[int]]:
    """Pegs before each seam, of columns and of rows."""
    columns, rows = {tile.x for tile in cut.tiles}, {tile.y for tile in cut.tiles}
    return [sorted(columns - {0}), sorted(rows - {0})]


def _plate(folder: Path, options: MakeOptions) -> Plate:
    """The plate in a folder, made with these options."""
    cells = np.load(folder / CELLS, allow_pickle=False)
    return Plate(cells, palette_for(options.palette, options.pack.pitch_mm))
