"""Colourways of a plate document: one proof sheet of all, and packs of those to keep."""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from img2plate.base.errors import OptionError
from img2plate.base.files import safe_file
from img2plate.colour.palette_file import find_palette
from img2plate.options import PackOptions, Progress
from img2plate.pipeline import Pack, write_plate_pack
from img2plate.plate.document import read_plate
from img2plate.plate.recolour import Colourway, find_codes, recolour
from img2plate.typeset.colourways import write_colourways


@dataclass(frozen=True)
class RecolourOptions:
    """Into which colours, from which, and which of the ways to keep as packs."""

    targets: tuple[str, ...] = ()
    every: bool = False
    """Every colour of the palette is a target."""
    base: str = ""
    """Code; else the most used colour that is no grey."""
    keep: bool = False
    palette: str = ""
    name: str = ""


@dataclass(frozen=True, eq=False)
class Recoloured:
    """What a run wrote."""

    proof: Path
    ways: tuple[Colourway, ...]
    packs: tuple[Pack, ...]
    seconds: float

    def as_json(self) -> dict[str, Any]:
        """Plain types, for `--json`."""
        return {
            "proof": str(self.proof),
            "colourways": [_way_json(way) for way in self.ways],
            "packs": [str(pack.folder) for pack in self.packs],
            "seconds": round(self.seconds, 3),
        }


def write_recoloured(
    document: Path, options: RecolourOptions, pack: PackOptions, *, progress: Progress
) -> Recoloured:
    """Recolour a plate document and write the proof sheet NAME-colourways.png, perhaps packs.

    Raises OptionError for a target or base that the palette or the plate does not have.
    """
    start = time.perf_counter()
    progress("reading", 0.0)
    plate = read_plate(document, find_palette(options.palette) if options.palette else None)
    base = find_codes(plate.palette, [options.base], "--base")[0] if options.base else None
    targets = find_codes(plate.palette, options.targets, "TARGET")
    if options.every == bool(targets):
        raise OptionError("name the codes to recolour to, or give --every for all of the palette")
    progress("recolouring", 0.1)
    ways = recolour(plate, targets or np.arange(len(plate.palette)).tolist(), base=base)
    progress("drawing", 0.2)
    proof = pack.out / f"{options.name or plate.name}-colourways.png"
    with safe_file(proof) as temporary:
        write_colourways(temporary, plate, ways)
    packs = _keep(ways, pack, progress) if options.keep else ()
    progress("done", 1.0)
    return Recoloured(proof, tuple(ways), packs, time.perf_counter() - start)


def _keep(ways: Sequence[Colourway], options: PackOptions, progress: Progress) -> tuple[Pack, ...]:
    """Write a pack of each way."""
    packs = []
    for number, way in enumerate(ways):
        progress("writing packs", 0.5 + 0.5 * number / len(ways))
        packs.append(write_plate_pack(way.plate, options, notes=way.notes))
    return tuple(packs)


def _way_json(way: Colourway) -> dict[str, Any]:
    """One colourway in plain types."""
    codes = [bead.code for bead in way.plate.palette.beads]
    return {
        "target": codes[way.target],
        "changed": {codes[old]: codes[new] for old, new in way.changed.items()},
        "counts": {
            codes[index]: int(way.plate.counts()[index])
            for index in np.flatnonzero(way.plate.counts())
        },
        "notes": list(way.notes),
    }
