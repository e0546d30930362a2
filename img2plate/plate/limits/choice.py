"""Which colours a plate may use, and how many beads of each; then its beads.

In front of `shade`: the palette is narrowed by code and finish, then to the few colours that suit
the picture best, and what comes out keeps to the stock.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import partial

import numpy as np
from numpy.typing import NDArray

from img2plate.base.errors import OptionError, StockError
from img2plate.colour.palette import Palette
from img2plate.image.grid import Grid
from img2plate.inventory.stock import Stock
from img2plate.plate.plate import EMPTY
from img2plate.plate.shade.distinct import Distinct, differences, distinct_colours
from img2plate.plate.shade.shading import Shaded, ShadingOptions, colours_for_search, shade
from img2plate.plate.shade.viewing import Viewing, usual_viewing


@dataclass(frozen=True)
class ChoiceOptions:
    """Which colours may be used."""

    colours: int | None = None
    """At most so many, chosen for the picture; None for all."""
    only: tuple[str, ...] = ()
    """Codes; empty for all."""
    without: tuple[str, ...] = ()
    finish: tuple[str, ...] = ()
    """Finishes; empty for all."""

    def allowed(self, palette: Palette) -> NDArray[np.int64]:
        """Palette indices of the colours that may be used.

        Raises OptionError for codes and finishes that are not there, or when nothing is left.
        """
        for field, codes in (("only", self.only), ("without", self.without)):
            for code in codes:
                palette.index(code, field)
        finishes = sorted({bead.finish for bead in palette.beads})
        for finish in self.finish:
            if finish not in finishes:
                raise OptionError(
                    f"palette {palette.name} has no {finish!r}, only {', '.join(finishes)}",
                    field="finish",
                )
        if self.colours is not None and self.colours < 1:
            raise OptionError(
                "is not a number of colours",
                field="colours",
                value=self.colours,
                remedy="give at least 1",
            )
        kept = [
            index
            for index, bead in enumerate(palette.beads)
            if (not self.only or bead.code in self.only)
            and bead.code not in self.without
            and (not self.finish or bead.finish in self.finish)
        ]
        if not kept:
            raise OptionError(
                "`only`, `without` and `finish` leave no colour", remedy="take one of them off"
            )
        return np.array(kept)


def shade_chosen(
    grid: Grid,
    palette: Palette,
    options: ShadingOptions | None = None,
    choice: ChoiceOptions | None = None,
    *,
    stock: Stock | None = None,
    viewing: Viewing | None = None,
) -> Shaded:
    """As `shade`, from the colours that are allowed and the beads that are owned.

    Cells index the whole palette. Raises OptionError for a choice that leaves nothing, StockError
    when there are not enough beads.
    """
    options = (options or ShadingOptions()).resolved(grid.kind)
    choice = choice or ChoiceOptions()
    viewing = viewing or usual_viewing(grid, palette)
    kept = choice.allowed(palette)
    if len(kept) == len(palette) and choice.colours is None and stock is None:
        return shade(grid, palette, options, viewing)
    limits = None if stock is None else stock.limits(palette)
    if limits is not None:
        kept = kept[limits[kept] > 0]
        enough(grid, int(limits[kept].sum()))
    if choice.colours is not None and choice.colours < len(kept):
        first, viewing = _halves(viewing)
        choose = partial(_few, grid, _part(palette, kept), choice.colours, options)
        kept = kept[choose(_of(limits, kept), first)]
    few, own = _part(palette, kept), _of(limits, kept)
    table = np.append(kept, EMPTY).astype(np.int16)  # -1 finds the last
    if so_far := viewing.so_far:
        viewing = replace(viewing, so_far=lambda cells: so_far(table[cells]))
    shaded = shade(grid, few, options, viewing)
    if own is not None:
        from img2plate.plate.limits.keep import keep_to

        difference = options.difference
        cells, more = keep_to(
            shaded.cells, grid, few, own, shaded.shading, difference, viewing.view
        )
        shaded = replace(shaded, cells=cells, notes=(*shaded.notes, *more))
    return replace(shaded, cells=table[shaded.cells])


def _halves(viewing: Viewing) -> tuple[Viewing, Viewing]:
    """What watches the first half of the work, and the second."""
    watch = viewing.watch
    if watch is None:
        return viewing, viewing
    return (
        replace(viewing, watch=lambda done, cells: watch(done / 2, cells)),
        replace(viewing, watch=lambda done, cells: watch(0.5 + done / 2, cells)),
    )


def enough(grid: Grid, owned: int) -> None:
    """Raise StockError, with a size that would fit, when fewer beads are owned than wanted."""
    wanted = int(np.count_nonzero(grid.filled))
    if wanted <= owned:
        return
    height, width = grid.cover.shape
    fits = int(width * (owned / wanted) ** 0.5)
    while (
        fits > 1 and fits * max(1, round(fits * height / width)) * wanted > owned * width * height
    ):
        fits -= 1
    high = max(1, round(fits * height / width))
    smaller = f"`width` {fits} ({fits} x {high}) would fit" if fits and owned else "buy some"
    raise StockError(
        f"the plate takes {wanted:,} beads, the colours that may be used have {owned:,}:"
        f" {wanted - owned:,} are missing; {smaller}"
    )


def wanted_colours(grid: Grid) -> Distinct:
    """The distinct colours of the cells that are to have a bead."""
    return distinct_colours(grid.rgb[grid.filled])


def _few(
    grid: Grid,
    palette: Palette,
    most: int,
    options: ShadingOptions,
    limits: NDArray[np.int64] | None,
    viewing: Viewing,
) -> NDArray[np.int64]:
    """Indices of the few colours that suit the picture best, and that have enough beads.

    Beads that stand for themselves are to lie near the picture's colours, which is so in a sprite
    and without shading; beads that mix are chosen by the search.
    """
    from img2plate.plate.limits.subset import choose_columns

    wanted = wanted_colours(grid)
    off = differences(wanted.linear, palette, options.difference) * wanted.counts[:, None]
    chosen = choose_columns(off, most, seed=options.seed)
    if options.shading == "search" and not grid.is_sprite:
        chosen = colours_for_search(grid, palette, most, options, chosen, viewing)
    return chosen if limits is None else _with_enough(grid, chosen, limits)


def _with_enough(
    grid: Grid, chosen: NDArray[np.int64], limits: NDArray[np.int64]
) -> NDArray[np.int64]:
    """Exchange the scarcest chosen colours for the most plentiful ones until there is enough."""
    wanted = int(np.count_nonzero(grid.filled))
    kept = set(chosen.tolist())
    others = [k for k in np.argsort(-limits, kind="stable").tolist() if k not in kept]
    while limits[list(kept)].sum() < wanted:
        scarce = min(kept, key=lambda k: (limits[k], k))
        if not others or limits[others[0]] <= limits[scarce]:
            enough(grid, int(limits[list(kept)].sum()))
        kept = kept - {scarce} | {others.pop(0)}
    return np.array(sorted(kept))


def _part(palette: Palette, kept: NDArray[np.int64]) -> Palette:
    """The palette of some of its colours."""
    return replace(palette, beads=tuple(palette.beads[i] for i in kept))


def _of(limits: NDArray[np.int64] | None, kept: NDArray[np.int64]) -> NDArray[np.int64] | None:
    """The limits of some colours."""
    return None if limits is None else limits[kept]
