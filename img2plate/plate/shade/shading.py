"""Choose a bead for each cell of a grid: the front door of matching and shading."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from math import ceil

import numpy as np
from numpy.typing import NDArray

from img2plate.base.arrays import Cells, Floats, Mask
from img2plate.base.errors import OptionError
from img2plate.base.near import did_you_mean
from img2plate.colour.formulas import find_formula
from img2plate.colour.palette import Palette
from img2plate.image.grid import Grid
from img2plate.image.kind.kind import Kind
from img2plate.plate.plate import EMPTY
from img2plate.plate.shade import masks
from img2plate.plate.shade.apart import KEEP_APART_DE
from img2plate.plate.shade.diffuse import KERNELS, diffuse
from img2plate.plate.shade.drawing import match_drawing
from img2plate.plate.shade.looks import BALANCED, FEW_PRICE, LOOKS, Aim, aim_for
from img2plate.plate.shade.match import nearest
from img2plate.plate.shade.ordered import dither_ordered
from img2plate.plate.shade.sprite import drawn_cells, match_sprite
from img2plate.plate.shade.tidy import tidy
from img2plate.plate.shade.tones import into_hull
from img2plate.plate.shade.viewing import Viewing, usual_viewing

MASKS: dict[str, Callable[[], NDArray[np.int32]]] = {
    "bayer": masks.bayer,
    "blue-noise": masks.blue_noise,
}
SHADINGS = ("none", *KERNELS, *MASKS, "search")
WITHOUT_STRENGTH = ("none", "search")
DEFAULT_DIFFERENCE = "hyab-hue"
"""What keeps hues best (bench/bench_hues.py) of those that measure well: on six photos its look
error is 1 to 3 % above that of `hyab`, which turns clear blues to violet."""
FEW_SPECKS = 0.05
"""Share of specks that `few` leaves after shadings that do not know a price on them."""
_MOST_TRIED = 2500
"""Cells on which few colours are chosen, about."""


@dataclass(frozen=True)
class ShadingOptions:
    """How beads are chosen."""

    shading: str = "auto"
    """One of SHADINGS; auto: `search` for a photo, `none` for sprites and drawings."""
    difference: str = DEFAULT_DIFFERENCE
    """Formula by which `none` chooses."""
    strength: float = 1.0
    """How much of the dithering is done, 0..1."""
    specks: str = "auto"
    """any, few, none, or the most in percent; auto: the look's with `search`, else any."""
    keep_apart: float = KEEP_APART_DE
    """CIEDE2000 within which another bead is taken when a sprite's colours merge."""
    seed: int = 0
    look: str = BALANCED
    """What `search` aims at, one of LOOKS: calm has the fewest dots, true the truest tones from
    across the room."""

    def resolved(self, kind: Kind) -> ShadingOptions:
        """Return with `auto` decided. Raises OptionError for what makes no sense."""
        shading = self.shading
        if shading == "auto":
            shading = "search" if kind is Kind.PHOTO else "none"
        specks = self.specks
        if specks == "auto":
            specks = "auto" if shading == "search" else "any"
        found = replace(self, shading=shading, specks=specks)
        found.check()
        return found

    def check(self) -> None:
        """Raise OptionError for what makes no sense."""
        if self.shading not in SHADINGS:
            raise OptionError(
                f"is none of {', '.join(SHADINGS)}",
                field="shading",
                value=self.shading,
                remedy=did_you_mean(self.shading, SHADINGS),
            )
        find_formula(self.difference)
        if not 0 <= self.strength <= 1:
            raise OptionError("is not from 0 to 1", field="strength", value=self.strength)
        if self.strength != 1 and self.shading in WITHOUT_STRENGTH:
            raise OptionError(
                f"is not for shading {self.shading}, which has no dithering to weaken",
                field="strength",
                value=self.strength,
                remedy="leave it out, or name another `shading`",
            )
        if not self.keep_apart >= 0:
            raise OptionError("is below 0", field="keep_apart", value=self.keep_apart)
        if self.look not in LOOKS:
            raise OptionError(
                f"is none of {', '.join(LOOKS)}",
                field="look",
                value=self.look,
                remedy=did_you_mean(self.look, LOOKS),
            )
        if self.specks != "auto":
            most_specks(self.specks)


@dataclass(frozen=True, eq=False)
class Shaded:
    """Beads for a grid."""

    cells: Cells
    notes: tuple[str, ...] = field(default=())
    shading: str = "none"


def most_specks(specks: str) -> float:
    """Share of specks that a word or a percentage allows. Raises OptionError."""
    words = {"any": 1.0, "few": FEW_SPECKS, "none": 0.0}
    if specks in words:
        return words[specks]
    try:
        percent = float(specks.removesuffix("%"))
    except ValueError:
        percent = -1.0
    if not 0 <= percent <= 100:
        raise OptionError("is not any, few, none or a percentage", field="specks", value=specks)
    return percent / 100


def shade(
    grid: Grid,
    palette: Palette,
    options: ShadingOptions | None = None,
    viewing: Viewing | None = None,
) -> Shaded:
    """Choose a bead for each cell that the picture covers by half; -1 elsewhere.

    viewing: how `search` looks at the plate; None: at the grid alone, from twice the plate's
    diagonal. Raises OptionError for options that make no sense.
    """
    options = (options or ShadingOptions()).resolved(grid.kind)
    cells, notes = _flat(grid, palette, options)
    free = grid.filled & ~drawn_cells(grid, palette) if grid.is_sprite else grid.filled
    if options.shading == "search":
        viewing = viewing or usual_viewing(grid, palette)
        cells = _search(grid, palette, options, cells, free, viewing)
    elif options.shading != "none":
        cells = np.where(free, _dither(grid.rgb, free, palette, options), cells)
    if options.shading != "search" and options.specks != "any" and free.any():
        cells = tidy(cells, grid.rgb, palette, most_specks(options.specks))
    return Shaded(cells, notes, options.shading)


def _flat(grid: Grid, palette: Palette, options: ShadingOptions) -> tuple[Cells, tuple[str, ...]]:
    """Give each cell the nearest bead."""
    if grid.is_sprite:
        return match_sprite(
            grid, palette, difference=options.difference, keep_apart=options.keep_apart
        )
    if grid.kind is Kind.DRAWING and options.shading == "none":
        return match_drawing(
            grid, palette, difference=options.difference, keep_apart=options.keep_apart
        )
    cells = np.full(grid.cover.shape, EMPTY, dtype=np.int16)
    if options.shading in ("none", "search"):  # the others do not look at it
        cells[grid.filled] = nearest(grid.rgb[grid.filled], palette, difference=options.difference)
    return cells, ()


def _dither(rgb: Floats, filled: Mask, palette: Palette, options: ShadingOptions) -> Cells:
    """Diffuse errors with a published kernel, or dither by a mask."""
    reached = into_hull(rgb, palette)
    if options.shading in KERNELS:
        return diffuse(reached, filled, palette, KERNELS[options.shading], options.strength)
    height, width = filled.shape
    thresholds = masks.thresholds(MASKS[options.shading](), (height, width))
    return dither_ordered(reached, filled, palette, thresholds, options.strength)


def _search(
    grid: Grid,
    palette: Palette,
    options: ShadingOptions,
    start: Cells,
    free: Mask,
    viewing: Viewing,
) -> Cells:
    """Search from the nearest beads, with the price on specks that the options ask for."""
    from img2plate.plate.search import Effort, search, search_with_specks

    fine, aim, watch = viewing.fine(grid), _aim(options, viewing), viewing.watching()
    effort = Effort(seed=options.seed)
    if options.specks in ("auto", "any", "few"):
        return search(fine, start, palette, aim, free=free, effort=effort, watch=watch)
    most = most_specks(options.specks)
    cells = search_with_specks(
        fine, start, palette, aim, most, free=free, effort=effort, watch=watch
    )
    return tidy(cells, grid.rgb, palette, most, free=free)


def _aim(options: ShadingOptions, viewing: Viewing) -> Aim:
    """What the search aims at."""
    aim = aim_for(options.look, viewing.view.distance_m if viewing.stated else None)
    prices = {"any": 0.0, "few": FEW_PRICE}
    return replace(aim, speck_price=prices.get(options.specks, aim.speck_price))


def colours_for_search(
    grid: Grid,
    palette: Palette,
    most: int,
    options: ShadingOptions,
    rival: NDArray[np.int64],
    viewing: Viewing,
) -> NDArray[np.int64]:
    """Palette indices of at most `most` colours with which `search` can do best.

    Arguments as for `shade`. Beads mix under the search, so these are others than the colours that
    lie nearest to the picture's; those are the `rival`, which wins when it looks better. A large
    plate is tried on fewer cells: its colours are the same.
    """
    from img2plate.image.sample import coarser
    from img2plate.plate.search import ROUGH, choose_colours, search
    from img2plate.plate.search.engine import Engine

    wanted = ceil((grid.cover.size / _MOST_TRIED) ** 0.5 - 0.5)
    factor = max(1, min(wanted, *grid.cover.shape))
    aim, watch = _aim(options, viewing), viewing.watch
    fine, grid = coarser(viewing.fine(grid), factor), coarser(grid, factor)
    start, _ = _flat(grid, palette, options)
    effort = replace(ROUGH, seed=options.seed)
    chosen = choose_colours(fine, start, palette, aim, most, effort=effort, watch=watch)

    def price(kept: NDArray[np.int64]) -> float:
        few = replace(palette, beads=tuple(palette.beads[i] for i in kept))
        first, _ = _flat(grid, few, options)
        cells = search(fine, first, few, aim, effort=effort)
        return Engine(fine, cells, few, aim, None).cost()

    return min(chosen, rival, key=price)
