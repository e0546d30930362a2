"""Colourways of a plate document: one proof sheet of all, and packs of those to keep."""

from __future__ import annotations

import time
from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from img2plate.base.errors import OptionError
from img2plate.base.files import plain_name, safe_file
from img2plate.colour.palette import Palette
from img2plate.colour.palette_file import find_palette
from img2plate.inventory.stock import Stock, read_stock
from img2plate.pipeline.laid import as_laid
from img2plate.pipeline.options import PackOptions, Progress
from img2plate.pipeline.pack import Pack, write_plate_pack
from img2plate.plate.document import read_plate
from img2plate.plate.every_base import every_base
from img2plate.plate.recolour import Colourway, recoloured
from img2plate.plate.recolouring import Recolouring, recolourings
from img2plate.plate.usage import Usage, usage_of
from img2plate.typeset.colourways import stock_words, write_colourways

_MOST_TOLD = 8
"""Colours of which it is told how many are missing; `as_json` has them all."""


@dataclass(frozen=True)
class RecolourOptions:
    """Into which colours, from which, and which of the ways to keep as packs."""

    targets: tuple[str, ...] = ()
    all_colours: bool = False
    """Every colour of the palette is a target."""
    every: bool = False
    """So is each that has the shades for it and is told apart from the others."""
    base: str = ""
    """Code; else the middle shade of the most used hue."""
    keep_colours: tuple[str, ...] = ()
    """Codes that are left as they are, though shades of the base."""
    also_colours: tuple[str, ...] = ()
    """Codes that go with the base, though they seem no shades of it."""
    write_packs: bool = False
    stock: Path | None = None
    """Tell whether the beads of this file suffice for each way, spares left aside."""
    palette: str = ""
    name: str = ""


@dataclass(frozen=True, eq=False)
class Recoloured:
    """What a run wrote."""

    proof: Path
    ways: tuple[Colourway, ...]
    missing: tuple[dict[str, int], ...] | None
    """For each way, how many beads of which code the stock is missing; None without a stock."""
    packs: tuple[Pack, ...]
    seconds: float

    def as_json(self) -> dict[str, Any]:
        """Plain types."""
        return {
            "proof": str(self.proof),
            "colourways": [
                way_json(way, way.plate.palette, way.plate.counts(), missing)
                for way, missing in zip(self.ways, self._missing, strict=True)
            ],
            "packs": [str(pack.folder) for pack in self.packs],
            "seconds": round(self.seconds, 3),
        }

    @property
    def notes(self) -> tuple[str, ...]:
        """What is to be known about each way, a sentence each."""
        return tuple(
            note
            for way, missing in zip(self.ways, self._missing, strict=True)
            for note in way_notes(way, way.plate.palette, missing)
        )

    @property
    def _missing(self) -> Sequence[dict[str, int] | None]:
        return self.missing if self.missing is not None else [None] * len(self.ways)


def run(
    document: Path,
    options: RecolourOptions,
    pack: PackOptions,
    *,
    progress: Progress,
    given: Collection[str] | None = None,
) -> Recoloured:
    """Recolour a plate document and write the proof sheet NAME-colourways.png, perhaps packs.

    Packs are laid out as the plate was, but for the fields `given`, as in `sheets.run`.

    Raises OptionError for a target or base that the palette or the plate does not have, and
    StockError for a stock file that is wrong.
    """
    start = time.perf_counter()
    progress("reading", 0.0)
    stock = read_stock(options.stock) if options.stock else None
    plate = read_plate(document, find_palette(options.palette) if options.palette else None)
    pack, _ = as_laid(plate, pack, given)
    progress("recolouring", 0.1)
    ways = recoloured(plate, ways_asked(usage_of(plate), options))
    missing = None if stock is None else tuple(_missing_beads(stock, way) for way in ways)
    progress("drawing", 0.2)
    proof = pack.out / f"{plain_name(options.name or plate.name)}-colourways.png"
    with safe_file(proof) as temporary:
        write_colourways(temporary, plate, ways, missing)
    done = Recoloured(proof, tuple(ways), missing, (), 0.0)
    packs = _keep(done, pack, progress) if options.write_packs else ()
    progress("done", 1.0)
    return replace(done, packs=packs, seconds=time.perf_counter() - start)


def ways_asked(usage: Usage, options: RecolourOptions) -> list[Recolouring]:
    """What options ask for of a plate or a figure. Raises OptionError."""
    palette = usage.palette
    base = palette.index(options.base, "base") if options.base else None
    targets = [palette.index(code, "targets") for code in options.targets]
    keep = [palette.index(code, "keep_colours") for code in options.keep_colours]
    also = [palette.index(code, "also_colours") for code in options.also_colours]
    if bool(targets) + options.all_colours + options.every != 1:
        raise OptionError(
            "name the codes to recolour to, or give `all_colours` or `every`: one of these"
        )
    targets = targets or np.arange(len(palette)).tolist()
    ways = recolourings(usage, targets, base=base, keep=keep, also=also)
    return every_base(palette, ways) if options.every else ways


def _missing_beads(stock: Stock, way: Colourway) -> dict[str, int]:
    """How many beads of which code the stock is missing for one way, the most first."""
    return stock.missing(way.plate.palette, way.plate.counts())


def _keep(done: Recoloured, options: PackOptions, progress: Progress) -> tuple[Pack, ...]:
    """Write a pack of each way."""
    packs = []
    for number, (way, missing) in enumerate(zip(done.ways, done._missing, strict=True)):
        progress("writing packs", 0.5 + 0.5 * number / len(done.ways))
        notes = way_notes(way, way.plate.palette, missing)
        packs.append(write_plate_pack(way.plate, options, notes=notes))
    return tuple(packs)


def way_notes(
    way: Colourway | Recolouring, palette: Palette, missing: dict[str, int] | None
) -> tuple[str, ...]:
    """What could not be kept, and whether the stock covers it."""
    if missing is None:
        return way.notes
    code = palette.beads[way.target].code
    return (*way.notes, f"{code}: {stock_words(missing, most=_MOST_TOLD)}")


def way_json(
    way: Colourway | Recolouring,
    palette: Palette,
    counts: NDArray[np.int64],
    missing: dict[str, int] | None,
) -> dict[str, Any]:
    """One colourway in plain types, with its (n,) beads of each colour."""
    codes = [bead.code for bead in palette.beads]
    return {
        "target": codes[way.target],
        "changed": {codes[old]: codes[new] for old, new in way.changed.items()},
        "counts": {codes[index]: int(counts[index]) for index in np.flatnonzero(counts)},
        "covered": None if missing is None else not missing,
        "missing": missing,
        "notes": list(way.notes),
    }
