"""What `compare` proposes when nothing was given more than once: plates that really differ.

| kind | what is proposed |
| --- | --- |
| a photo | calm, balanced and true, in two palettes |
| a drawing | two palettes; with many colours also a calm search, which keeps its tones |
| a sprite | two palettes; with many colours also half as many |
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from img2plate.base.errors import OptionError
from img2plate.colour.palette import Palette
from img2plate.colour.palette_file import bundled_names
from img2plate.image.grid import Grid
from img2plate.image.kind.kind import Kind
from img2plate.pipeline.options import MakeOptions, palette_for
from img2plate.pipeline.variants import SEARCHED, CompareOptions
from img2plate.plate.limits.choice import wanted_colours
from img2plate.plate.shade.distinct import differences
from img2plate.plate.shade.looks import CALM, LOOKS

NOT_BEADS = ("css-named",)
"""Colours of screens, which no beads are sold in."""
PLAINLY_NEARER = 0.85
"""A palette is worth showing for its nearness when so much of the difference is left, or less."""
MANY_COLOURS = 8
"""From so many colours on a sprite is also shown in half of them, a drawing shaded."""
OFTEN = 0.01
"""Share of a drawing's cells from which on a colour counts: outlines have soft edges."""


def propose(options: CompareOptions, grid: Grid) -> tuple[CompareOptions, tuple[str, ...]]:
    """Fill the rows that nothing was said of by what suits the picture; returns a note too."""
    if options.says_what:
        return options, ()
    palettes = options.palettes or _two_palettes(options.make, grid)
    found = replace(options, palettes=palettes)
    if grid.kind is Kind.PHOTO:
        found = _with_looks(found)
    elif grid.kind is Kind.DRAWING:
        found = _flat_and_searched(found, grid)
    else:
        found = replace(found, colours=options.colours or _all_and_half(found, grid))
    count = len(found.variants())
    return found, (f"proposed for {grid.kind.value}: {count} plates, {_said(found)}",)


def _with_looks(options: CompareOptions) -> CompareOptions:
    """All looks, unless one was named, or a shading that has none."""
    shadings = options.shadings or (options.make.shading.shading,)
    if options.looks or shadings[0] not in SEARCHED:
        return options
    return replace(options, looks=LOOKS)


def _flat_and_searched(options: CompareOptions, grid: Grid) -> CompareOptions:
    """Both ways of a drawing that has many colours, unless one was named."""
    named = options.shadings or options.make.shading.shading != "auto"
    if named or _colours_taken(options, grid, OFTEN) < MANY_COLOURS:
        return options
    return replace(options, shadings=("none", "search"), looks=options.looks or (CALM,))


def _all_and_half(options: CompareOptions, grid: Grid) -> Sequence[int | None]:
    """As many colours as there are, and half of those that the sprite takes, if they are many."""
    if options.make.choice.colours is not None:
        return ()
    taken = _colours_taken(options, grid)
    return (None, (taken + 1) // 2) if taken >= MANY_COLOURS else ()


def _colours_taken(options: CompareOptions, grid: Grid, least: float = 0.0) -> int:
    """How many beads are nearest to more than a share `least` of the cells."""
    make = options.make
    palette = palette_for(options.palettes[0], make.pack.pitch_mm)
    wanted, allowed = wanted_colours(grid), make.choice.allowed(palette)
    nearest = differences(wanted.linear, palette, make.shading.difference)[:, allowed]
    cells = np.bincount(nearest.argmin(axis=1), wanted.counts)
    return int(np.count_nonzero(cells > least * wanted.counts.sum()))


def _two_palettes(make: MakeOptions, grid: Grid) -> tuple[str, ...]:
    """The palette that `make` takes, and another bundled one.

    That is the one whose beads lie nearest to the picture's colours; when it lies hardly nearer
    than the first, the one with fewest colours.
    """
    first = palette_for(make.palette, make.pack.pitch_mm)
    others = [
        palette
        for name in bundled_names()
        if name not in (first.name, *NOT_BEADS)
        and _is_allowed(make, palette := palette_for(name, make.pack.pitch_mm))
    ]
    if not others:
        return (make.palette,)
    off = {palette.name: _off(make, grid, palette) for palette in (first, *others)}
    nearest, fewest = min(others, key=lambda palette: off[palette.name]), min(others, key=len)
    if off[nearest.name] > PLAINLY_NEARER * off[first.name] and len(fewest) < len(first):
        nearest = fewest
    return make.palette, nearest.name


def _is_allowed(make: MakeOptions, palette: Palette) -> bool:
    """Whether a palette has the codes and finishes that were asked for."""
    try:
        make.choice.allowed(palette)
    except OptionError:
        return False
    return True


def _off(make: MakeOptions, grid: Grid, palette: Palette) -> float:
    """Mean difference of the picture's cells from their nearest beads."""
    wanted, allowed = wanted_colours(grid), make.choice.allowed(palette)
    least = differences(wanted.linear, palette, make.shading.difference)[:, allowed].min(axis=1)
    return float(np.average(least, weights=wanted.counts))


def _said(options: CompareOptions) -> str:
    """What differs, in words."""
    half = [f"{n} colours" if n else "all colours" for n in options.colours]
    rows = [list(options.palettes), list(options.looks), list(options.shadings), half]
    return "; ".join(" and ".join(filter(None, (", ".join(r[:-1]), r[-1]))) for r in rows if r)
