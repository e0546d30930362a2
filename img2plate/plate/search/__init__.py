"""Plate search: beads that together look most like the picture from the viewing distance.

Direct binary search (M. Analoui, J. P. Allebach, "Model-based halftoning using direct binary
search", Proc. SPIE 1666, 96-108, 1992) for a palette and under S-CIELAB: beads are changed one by
one as long as the filtered difference to the full-resolution picture falls. The first sweeps are
warm (chance may prefer a slightly worse bead), which gets out of poor corners; the last are cold.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from img2plate.base.arrays import Cells, Mask
from img2plate.colour.look_error import View
from img2plate.colour.palette import Palette
from img2plate.image.grid import Grid
from img2plate.plate.search.engine import Engine
from img2plate.plate.search.judge import Rules
from img2plate.plate.shade.viewing import Watch

FIRST_TEMPERATURE = 3.0
"""dE by which chance may prefer a bead in the first sweep."""
COOLING = 0.7
"""Temperature of a sweep over that of the one before."""
WARM_SWEEPS = 6
COLD_SWEEPS = 8
"""At most: cells around which nothing changed are not visited again."""
FEW_PRICE = 5.5
"""dE a speck: leaves about 3% of them (8% with 24 colours), for 5% more look error."""
ODD_PRICE = 1.0
"""For each dE that a bead is odd (see `Rules`), whenever specks have a price: without it the search
puts a pink bead into a grey sea to tint it, which the figures like more than the eye does."""
_AT_ONCE = 3
"""Of so many colours too many one is left out before the others take over."""
_TRIES_WITHOUT = 3
"""True tests to find out how much would be lost without a colour."""
_PRICE_ROUNDS = 7
_DEAREST = 64.0


@dataclass(frozen=True)
class Effort:
    """How long the search goes on, and its chance."""

    warm_sweeps: int = WARM_SWEEPS
    cold_sweeps: int = COLD_SWEEPS
    tries: int = 12
    """Beads put to the true test at each visit."""
    seed: int = 0


ROUGH = Effort(warm_sweeps=2, cold_sweeps=2, tries=6)
"""Enough to tell which colours are needed."""


def search(
    picture: Grid,
    start: Cells,
    palette: Palette,
    view: View,
    *,
    price: float = 0.0,
    free: Mask | None = None,
    effort: Effort | None = None,
    watch: Watch | None = None,
) -> Cells:
    """Improve a plate until no single bead does better.

    picture: sampled `per_cell` times (a multiple of 3) along a cell's side; start: (h, w) int16, -1
    where there is to be no bead; price: dE a speck; free: (h, w) bool, cells that may change.
    Returns (h, w) int16. The same arguments give the same plate, on any number of threads.
    """
    engine = Engine(picture, start, palette, view, free)
    _anneal(engine, price, effort or Effort(), watch or _ignore)
    return engine.cells


def search_with_specks(
    picture: Grid,
    start: Cells,
    palette: Palette,
    view: View,
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
    engine = Engine(picture, start, palette, view, free)
    stopped = _anneal(engine, FEW_PRICE, effort, lambda done, cells: watch(done / 2, cells))
    low, high, price, kept = 0.0, _DEAREST, FEW_PRICE, engine.cells.copy()
    for number in range(_PRICE_ROUNDS):
        if fits := speck_share(engine.cells) <= most:
            high, kept = price, engine.cells.copy()
        else:
            low = price
        if stopped or (fits and (speck_share(kept) > 0.8 * most or price == 0)):
            break
        price = (low + high) / 2 if high < _DEAREST else 2 * price
        engine.wake()
        _run(engine, [0.0] * 3, price, effort, _ignore)
        stopped = watch(0.5 + (number + 1) / (2 * _PRICE_ROUNDS), engine.cells)
    return kept if speck_share(kept) <= speck_share(engine.cells) else engine.cells


def choose_colours(
    picture: Grid,
    start: Cells,
    palette: Palette,
    view: View,
    most: int,
    *,
    price: float = FEW_PRICE,
    free: Mask | None = None,
    effort: Effort | None = None,
    watch: Watch | None = None,
) -> NDArray[np.int64]:
    """Choose at most `most` colours that together can look most like the picture.

    Searches with all, then leaves out those that would be missed least, a few at a time, while the
    others take over. Arguments as for `search`; returns sorted palette indices.
    """
    effort, watch = effort or ROUGH, watch or _ignore
    engine = Engine(picture, start, palette, view, free)
    stopped = _anneal(engine, price, effort, lambda done, cells: watch(done / 2, cells))
    # What is not used by now is not looked at again.
    known, cells = _used(engine), engine.cells
    part = replace(palette, beads=tuple(palette.beads[i] for i in known))
    again = (np.searchsorted(known, cells) - (cells < 0)).astype(np.int16)
    engine = Engine(picture, again, part, view, free)
    rules = Rules(price, ODD_PRICE, 0.0, _TRIES_WITHOUT, effort.seed)
    used = np.arange(len(known))
    first = excess = len(used) - most
    while excess > 0:
        regret = engine.regret(rules)[used]
        order = np.argsort(regret, kind="stable")[: max(1, excess // _AT_ONCE)]
        order = order[np.isfinite(regret[order])]
        if not len(order):
            break  # the others are in cells that may not change
        engine.forbid(used[order])
        _run(engine, [0.0] * (1 if stopped else 2), price, effort, _ignore)
        used = _used(engine)
        excess = len(used) - most
        stopped = stopped or watch(1 - max(excess, 0) / (2 * first), engine.cells)
    return known[used]


def _used(engine: Engine) -> NDArray[np.int64]:
    """Colours of the plate so far."""
    return np.unique(engine.cells[engine.cells >= 0]).astype(np.int64)


def _anneal(engine: Engine, price: float, effort: Effort, watch: Watch) -> bool:
    """Warm sweeps, then cold ones; whether `watch` said stop."""
    temperatures = [FIRST_TEMPERATURE * COOLING**i for i in range(effort.warm_sweeps)] + [
        0.0
    ] * effort.cold_sweeps
    return _run(engine, temperatures, price, effort, watch)


def _run(
    engine: Engine, temperatures: list[float], price: float, effort: Effort, watch: Watch
) -> bool:
    """Sweep once for each temperature, or until nothing changes; whether `watch` said stop."""
    odd_price = ODD_PRICE if price > 0 else 0.0
    for i, temperature in enumerate(temperatures):
        number = effort.seed * 1000 + i
        changes = engine.sweep(Rules(float(price), odd_price, temperature, effort.tries, number))
        if watch((i + 1) / len(temperatures), engine.cells):
            return True
        if temperature == 0 and not changes:
            break
    return False


def _ignore(_done: float, _cells: Cells) -> bool:
    """Watch nothing."""
    return False
