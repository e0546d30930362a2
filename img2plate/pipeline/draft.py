"""A picture becomes a plate, and nothing is written yet."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np

from img2plate.base.arrays import Cells, Pixels
from img2plate.base.errors import OptionError, SizeError
from img2plate.base.lengths import Boards
from img2plate.base.loop_cache import is_kept
from img2plate.colour.look_error import Looks, View, default_view, measure_looks
from img2plate.colour.palette import Palette
from img2plate.image.grid import Grid
from img2plate.image.sizing import SizeWish
from img2plate.image.source_options import SourceOptions
from img2plate.image.target import Target, read_target
from img2plate.inventory.stock import Stock, read_stock
from img2plate.pipeline.options import MakeOptions, Progress, palette_for, quiet
from img2plate.plate.exchange import ExchangeOptions, exchange
from img2plate.plate.finish.finish import finish
from img2plate.plate.limits.choice import shade_chosen
from img2plate.plate.plate import Plate
from img2plate.plate.scatter import scatter
from img2plate.plate.shade.viewing import Viewing, Watch
from img2plate.split.advice import board_advice, margin_advice, work_warning
from img2plate.split.by_hand import read_seams
from img2plate.split.cover import cover
from img2plate.tally.effort import rough_hours

MOST_LOOK_SAMPLES = 8_000_000
"""Samples that the look error may take: very large plates are looked at more coarsely."""


@dataclass(frozen=True, eq=False)
class Draft:
    """A plate before anything is written, and what it was made from."""

    plate: Plate
    picture: Callable[[int], Grid]
    """The picture as it was given, on the plate's cells, at so many samples a side."""
    view: View
    notes: tuple[str, ...]
    check: Pixels | None = None
    """(h, w, 4) uint8: a picture to check the cut-out subject by, when one was looked for."""
    part_check: Pixels | None = None
    """(h, w, 4) uint8: the same for the part that was found with `crop` auto."""
    before: Plate | None = None
    """The plate before colours were swapped and merged, when that was asked for."""
    chosen: Plate | None = None
    """The plate as the picture gave it, where it was finished after that: turned, edged, joined."""

    @property
    def is_moved(self) -> bool:
        """Whether cells of the plate lie elsewhere than those of the picture."""
        plain = self.chosen
        return plain is not None and bool(
            plain.cells.shape != self.plate.cells.shape
            or "rotate" in self.plate.made
            or "mirror" in self.plate.made
        )

    def looks(self) -> Looks:
        """How it looks beside the picture that was given, before it was finished."""
        plate = self.chosen or self.plate
        per_cell = affordable(self.view.per_cell, plate.cells.size)
        return measure_looks(self.picture(per_cell).rgb, plate.linear(), plate.cells, self.view)


def draft_plate(
    image: Path,
    options: MakeOptions,
    *,
    name: str = "",
    progress: Progress | None = None,
    read: Callable[[Path, SizeWish | None, SourceOptions], Target] = read_target,
    ask: Callable[[str], bool] | None = None,
    so_far: Callable[[Plate], None] | None = None,
) -> Draft:
    """Turn a picture file into a plate named `name` (else as the picture), and write nothing.

    `read` may remember what it read. `ask` is told what a very large plate takes before beads are
    chosen; when it says no, SizeError is raised. Without it that becomes a note.
    `so_far` is shown the best plate so far while one is searched for, which changes nothing of it.
    """
    tell = progress or quiet
    tell("reading", 0.0)
    palette = palette_for(options.palette, options.pack.pitch_mm)
    options.choice.allowed(palette)  # these refuse early
    options.scatter.wishes(palette)
    options.exchange.check(palette)
    options.finish.check(palette)
    if options.stock_advice and not options.stock:
        raise OptionError(
            "needs the beads you own", field="stock_advice", remedy="also give `stock`"
        )
    if options.stock and options.scatter.scatter:
        raise OptionError(
            "would use beads that `stock` does not count", field="scatter", remedy="leave one out"
        )
    stock = read_stock(options.stock) if options.stock else None
    wish = options.size.wish(options.pack.board, palette.pitch_mm)
    placed = read_seams(options.pack.seams)
    target = read(image, wish, options.source)
    height, width = target.grid.cover.shape
    if placed is not None:  # before anybody waits for beads
        placed.check((width, height), options.pack.board)
    elif isinstance(options.pack.board, Boards):
        cover((width, height), options.pack.board.owned)
    sized = _size_notes(target, options, ask)
    name = name or image.stem
    view = _view(target, palette, options.viewing_distance_m)
    picture = cache(target.fine)
    given = picture if target.given is None else cache(target.as_given)
    size = target.grid.cover.size
    viewing = Viewing(
        view,
        lambda per_cell: picture(affordable(per_cell, size)),
        _watch(tell, options.shading.resolved(target.grid.kind).shading),
        so_far=so_far and (lambda cells: so_far(Plate(cells.copy(), palette, name))),
        stated=options.viewing_distance_m is not None,
    )
    plate, notes = _shade(target, palette, options, stock, viewing, name)
    as_chosen, limits = plate, None if stock is None else stock.limits(palette)
    changed = exchange(plate, options.exchange, limits)
    plate, more = scatter(changed.plate, options.scatter)
    done = finish(plate, options.finish)
    chosen = plate if options.finish.changes else None
    notes = (*target.notes, *sized, *notes, *changed.notes, *more, *done.notes)
    before = as_chosen if options.exchange != ExchangeOptions() else None
    return Draft(done.plate, given, view, notes, target.check, target.part_check, before, chosen)


def _size_notes(
    target: Target, options: MakeOptions, ask: Callable[[str], bool] | None
) -> tuple[str, ...]:
    """What to know of a plate's size before it is made."""
    filled = target.grid.filled
    beads = int(filled.sum())
    warning = work_warning(beads, rough_hours(beads, options.pack.pace))
    if warning and ask is not None and not ask(warning):
        raise SizeError(f"{warning}: nothing was made", remedy="choose a smaller `width`")
    height, width = filled.shape
    wanted = options.size.fit == "contain" or options.source.trim
    margins = () if wanted else margin_advice(filled)
    board = options.pack.board
    spared = () if isinstance(board, Boards) else board_advice((width, height), board)
    notes = (*margins, *spared)
    return (f"a lot of work: {warning}", *notes) if warning and ask is None else notes


def _shade(
    target: Target,
    palette: Palette,
    options: MakeOptions,
    stock: Stock | None,
    viewing: Viewing,
    name: str,
) -> tuple[Plate, tuple[str, ...]]:
    """Choose a bead for each cell; returns notes too."""
    how = options.shading.resolved(target.grid.kind)
    stock, spares = _stock_for(target, palette, options, stock)
    shaded = shade_chosen(target.grid, palette, how, options.choice, stock=stock, viewing=viewing)
    advice = _advice(target.grid, palette, options, how.difference, stock)
    notes = (*shaded.notes, *spares, *advice)
    made: dict[str, str | int | float] = {"source": target.grid.source, "shading": how.shading}
    if how.shading == "none":
        made |= {"difference": how.difference}
    elif how.shading != "search":
        made |= {"strength": how.strength, "seed": how.seed}
    if options.choice.colours is not None:
        made |= {"colours": options.choice.colours}
    if how.shading == "search":
        made |= {"look": how.look, "specks": how.specks, "seed": how.seed}
        if viewing.stated:
            made |= {"viewing_distance_m": round(viewing.view.distance_m, 3)}
    return Plate(shaded.cells, palette, name, made), notes


def _stock_for(
    target: Target, palette: Palette, options: MakeOptions, stock: Stock | None
) -> tuple[Stock | None, tuple[str, ...]]:
    """The beads that may be used: spares are left over when there are enough, else that is said."""
    spare = options.pack.spare_percent
    if stock is None or spare <= 0:
        return stock, ()
    kept = stock.keeping_back(spare)
    allowed = options.choice.allowed(palette)
    if kept.limits(palette)[allowed].sum() >= np.count_nonzero(target.grid.filled):
        return kept, (f"{spare:g}% spare beads of each colour are left in the stock",)
    return stock, ("spare beads are used too, as the stock is too small without them",)


def _watch(tell: Progress, shading: str) -> Watch:
    """Pass on how far the choosing of beads is."""
    compiles = shading == "search" and not is_kept("search")
    tell("getting ready, this first time a minute" if compiles else "choosing beads", 0.1)

    def watch(done: float, _cells: Cells) -> bool:
        tell("choosing beads", 0.1 + 0.4 * done)
        return False

    return watch


def _advice(
    grid: Grid, palette: Palette, options: MakeOptions, difference: str, stock: Stock | None
) -> tuple[str, ...]:
    """A note for each purchase that would improve the plate."""
    if stock is None or not options.stock_advice:
        return ()
    from img2plate.plate.limits.advice import BAG_BEADS, advise

    sold = options.pack.bags
    bags = [sold.of(bead.code) if sold else None for bead in palette.beads]
    each = [bag.holds(palette.bead_size.grams) if bag else BAG_BEADS for bag in bags]
    found = advise(grid, palette, stock, options.choice, difference=difference, bags=np.array(each))
    return tuple(map(str, found)) or ("the stock has all that this plate wishes for",)


def _view(target: Target, palette: Palette, distance_m: float | None) -> View:
    """From where the plate will be looked at."""
    if distance_m is not None and not 0.1 <= distance_m <= 100:
        raise OptionError("is not from 0.1 to 100 m", field="viewing_distance_m", value=distance_m)
    if distance_m is None:
        return default_view(target.grid.cover.shape, palette.pitch_mm)
    return View(distance_m, palette.pitch_mm)


def affordable(per_cell: int, cells: int) -> int:
    """Samples a cell's side that memory allows for so many cells; a multiple of 3."""
    return min(per_cell, max(3, int((MOST_LOOK_SAMPLES / cells) ** 0.5) // 3 * 3))
