"""Plate search: beads that together look like the picture at the table and across the room.

Direct binary search (M. Analoui, J. P. Allebach, "Model-based halftoning using direct binary
search", Proc. SPIE 1666, 96-108, 1992) for a palette and under several views at once (`looks`):
beads are changed one by one as long as the summed price falls.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import inf

import numpy as np
from numpy.typing import NDArray

from img2plate.base.arrays import Cells, Mask
from img2plate.colour.palette import Palette
from img2plate.image.grid import Grid
from img2plate.plate.search.engine import Engine
from img2plate.plate.shade.looks import Aim
from img2plate.plate.shade.viewing import Watch

SWEEPS = 10
"""At most: cells around which nothing changed are not visited again."""
_AT_ONCE = 3
"""Of so many colours too many one is left out before the others take over."""
_PRICE_ROUNDS, _PRICE_SWEEPS = 7, 4
_FIRST_PRICE = 8.0


@dataclass(frozen=True)
class Effort:
    """How long the search goes on, and its chance."""

    sweeps: int = SWEEPS
    seed: int = 0


ROUGH = Effort(sweeps=3)
"""Enough to tell which colours are needed."""


def search(
    picture: Grid,
    start: Cells,
    palette: Palette,
    aim: Aim,
    *,
    free: Mask | None = None,
    effort: Effort | None = None,
    watch: Watch | None = None,
) -> Cells:
    """Improve a plate until no single bead does better.

    picture: sampled `per_cell` times (a multiple of 3) along a cell's side; start: (h, w) int16, -1
    where there is to be no bead; free: (h, w) bool, cells that may change. Returns (h, w) int16.
    The same arguments give the same plate, on any number of threads.
    """
    engine = Engine(picture, start, palette, aim, free)
    _run(engine, aim.speck_price, effort or Effort(), watch or _ignore)
    return engine.cells


def search_with_specks(
    picture: Grid,
    start: Cells,
    palette: Palette,
    aim: Aim,
    most: float,
    *,
    free: Mask | None = None,
    effort: Effort | None = None,
    watch: Watch | None = None,
) -> Cells:
    """As `search`, at the lowest price on specks that leaves at most a share `most` (0..1) of them.

    When no price does, the plate with the fewest specks comes back.
    """
    from img2plate.base.specks import speck_share

    effort, watch = effort or Effort(), watch or _ignore
    engine = Engine(picture, start, palette, aim, free)
    stopped = _run(engine, 0.0, effort, lambda done, cells: watch(done / 2, cells))
    free_plate = engine.cells.copy()  # each price starts from here: a high one leaves its mark
    low, high, price, kept = 0.0, inf, _FIRST_PRICE, free_plate
    for number in range(_PRICE_ROUNDS):
        if stopped or 0.8 * most < speck_share(kept) <= most:
            break
        engine.restart(free_plate)
        _run(engine, price, replace(effort, sweeps=_PRICE_SWEEPS), _ignore)
        found = engine.cells.copy()
        if speck_share(found) <= most:
            high, kept = price, found
        else:
            low = price
            kept = min(kept, found, key=speck_share) if high == inf else kept
        price = (low + high) / 2 if high < inf else 2 * price
        stopped = watch(0.5 + (number + 1) / (2 * _PRICE_ROUNDS), kept)
    return kept


def choose_colours(
    picture: Grid,
    start: Cells,
    palette: Palette,
    aim: Aim,
    most: int,
    *,
    free: Mask | None = None,
    effort: Effort | None = None,
    watch: Watch | None = None,
) -> NDArray[np.int64]:
    """Choose at most `most` colours that together can look most like the picture.

    Searches with all, then leaves out those that would be missed least, a few at a time, while the
    others take over. Arguments as for `search`; returns sorted palette indices.
    """
    effort, watch = effort or ROUGH, watch or _ignore
    engine = Engine(picture, start, palette, aim, free, settle=False)
    stopped = _run(engine, aim.speck_price, effort, lambda done, cells: watch(done / 2, cells))
    # What is not used by now is not looked at again.
    known, cells = _used(engine), engine.cells
    part = replace(palette, beads=tuple(palette.beads[i] for i in known))
    again = (np.searchsorted(known, cells) - (cells < 0)).astype(np.int16)
    engine = Engine(picture, again, part, aim, free, settle=False)
    used = np.arange(len(known))
    first = excess = len(used) - most
    while excess > 0:
        regret = engine.regret(aim.speck_price)[used]
        order = np.argsort(regret, kind="stable")[: max(1, excess // _AT_ONCE)]
        order = order[np.isfinite(regret[order])]
        if not len(order):
            break  # the others are in cells that may not change
        engine.forbid(used[order])
        _run(engine, aim.speck_price, replace(effort, sweeps=1 if stopped else 2), _ignore)
        used = _used(engine)
        excess = len(used) - most
        stopped = stopped or watch(1 - max(excess, 0) / (2 * first), engine.cells)
    return known[used]


def _used(engine: Engine) -> NDArray[np.int64]:
    """Colours of the plate so far."""
    return np.unique(engine.cells[engine.cells >= 0]).astype(np.int64)


def _run(engine: Engine, speck_price: float, effort: Effort, watch: Watch) -> bool:
    """Sweep until nothing changes; whether `watch` said stop."""
    for i in range(effort.sweeps):
        changes = engine.sweep(speck_price, effort.seed * 1000 + i)
        if watch((i + 1) / effort.sweeps, engine.cells):
            return True
        if not changes:
            break
    return False


def _ignore(_done: float, _cells: Cells) -> bool:
    """Watch nothing."""
    return False
