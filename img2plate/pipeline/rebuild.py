"""A plate document in another palette, or from the beads that a reader owns."""

from __future__ import annotations

import time
from collections.abc import Callable, Collection
from dataclasses import dataclass, field, replace
from functools import partial
from pathlib import Path
from typing import Any

from img2plate.base.errors import OptionError, StockError
from img2plate.base.files import safe_file
from img2plate.colour.palette import Palette
from img2plate.colour.palette_file import find_palette
from img2plate.inventory.stock import read_stock
from img2plate.pipeline.laid import as_laid
from img2plate.pipeline.options import PackOptions, Progress, quiet, with_pitch
from img2plate.pipeline.pack import Pack, write_plate_pack
from img2plate.plate.document import read_plate
from img2plate.plate.exchange import ExchangeOptions, exchange, parse_swaps
from img2plate.plate.plate import Plate
from img2plate.plate.rebuild import Change, Rebuilt, changes_between, rebuild
from img2plate.typeset.side_by_side import write_side_by_side

MOST_TOLD = 8
"""Colours of which it is told what they became; the picture and `as_json` have them all."""


@dataclass(frozen=True)
class RebuildOptions:
    """In which beads."""

    palette: str = ""
    """The other palette; else the plate's own."""
    stock: Path | None = None
    """The beads that are owned: a hard limit, spares left aside where there are enough."""
    one_to_one: bool = False
    """Whether colours never go together."""
    difference: str = "hyab"
    """How colours are compared: hyab or ciede2000."""
    exchange: ExchangeOptions = field(default_factory=ExchangeOptions)
    """Swaps here are from the plate's own palette to the other."""
    name: str = ""


@dataclass(frozen=True, eq=False)
class RebuiltPack:
    """What a run wrote."""

    pack: Pack
    picture: Path
    """Both plates side by side, and what each colour became."""
    rebuilt: Rebuilt
    seconds: float

    def as_json(self) -> dict[str, Any]:
        """Plain types."""
        return {
            **self.pack.as_json(),
            "picture": str(self.picture),
            "difference": round(self.rebuilt.difference, 3),
            "changed": [_change_json(change) for change in self.rebuilt.changes],
            "seconds": round(self.seconds, 3),
        }


def run(
    document: Path,
    options: RebuildOptions,
    pack: PackOptions,
    *,
    given: Collection[str] | None = None,
    progress: Progress | None = None,
) -> RebuiltPack:
    """Rebuild a plate document: write its pack, and NAME-before-after.png beside it.

    The pack is named `name`, else as the plate, with the palette or `rebuilt`. It is laid out
    as the plate was, but for the fields `given`, as in `sheets.run`. Raises OptionError when
    nothing is to be changed, StockError when the beads that are owned do not suffice.
    """
    start, tell = time.perf_counter(), progress or quiet
    tell("reading", 0.0)
    plate, wishes = read_plate(document), options.exchange
    if not (options.palette or options.stock or wishes.swap or wishes.merge_rare is not None):
        raise OptionError("say what is to change: give `palette`, `stock`, `swap` or `merge_rare`")
    pack, laid_notes = as_laid(plate, pack, given)
    palette = find_palette(options.palette) if options.palette else plate.palette
    palette = with_pitch(palette, pack.pitch_mm)
    tell("choosing beads", 0.1)
    rebuilt = rebuilt_plate(plate, palette, options, pack.spare_percent)
    suffix = palette.name.replace("/", "-") if options.palette else "rebuilt"
    name = options.name or f"{plate.name}-{suffix}"
    new = replace(rebuilt.plate, name=name)
    notes = (*rebuilt.notes, *laid_notes)
    written = write_plate_pack(new, pack, name=name, notes=notes, progress=tell)
    picture = written.folder.with_name(f"{written.folder.name}-before-after.png")
    with safe_file(picture) as temporary:
        write_side_by_side(temporary, plate, new, rebuilt.changes)
    return RebuiltPack(written, picture, rebuilt, time.perf_counter() - start)


def rebuilt_plate(
    plate: Plate, palette: Palette, options: RebuildOptions, spare_percent: float
) -> Rebuilt:
    """The plate in other beads, before anything is written. Raises OptionError, StockError."""
    wishes = options.exchange
    few = exchange(plate, ExchangeOptions(merge_rare=wishes.merge_rare))
    fixed = parse_swaps(wishes.swap, plate.palette, palette)
    if not options.palette and not options.stock:
        new = exchange(few.plate, ExchangeOptions(swap=wishes.swap))
        notes = (*few.notes, *new.notes)
        return Rebuilt(new.plate, changes_between(plate, new.plate), notes)
    choose = partial(
        rebuild,
        few.plate,
        palette,
        fixed=fixed,
        one_to_one=options.one_to_one,
        difference=options.difference,
    )
    found, notes = _from_stock(choose, options, palette, spare_percent)
    changes = changes_between(plate, found.plate)
    return Rebuilt(found.plate, changes, (*few.notes, *notes, *found.notes))


def _from_stock(
    choose: Callable[..., Rebuilt], options: RebuildOptions, palette: Palette, spare_percent: float
) -> tuple[Rebuilt, tuple[str, ...]]:
    """Choose from what is owned, spare beads left over; where that is too little, it is said."""
    if options.stock is None:
        return choose(), ()
    stock = read_stock(options.stock)
    try:
        kept = stock.keeping_back(spare_percent)
        return choose(limits=kept.limits(palette)), (
            f"{spare_percent:g}% spare beads of each colour are left in the stock",
        )
    except StockError:
        found = choose(limits=stock.limits(palette))
        return found, ("spare beads are used too, as the stock is too small without them",)


def _change_json(change: Change) -> dict[str, Any]:
    """One colour in plain types."""
    return {
        "old": change.old.code,
        "new": change.new.code,
        "beads": change.beads,
        "difference": round(change.difference, 2),
    }
