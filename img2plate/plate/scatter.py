"""Scatter, the hand-made shading: companion beads scattered over flat areas of a plate.

Beads are taken in the order of a void-and-cluster mask (R. Ulichney, Proc. SPIE 1913, 332-343,
1993), whose spacing is evenly irregular: such that none touch, not even at corners; when that gives
too few, such that none have an edge in common; when that does, on every other cell, as on a
chequerboard; only what is left after that is forced beside another. Beads that have a companion's
colour already are kept away from in the same way, as long as that leaves enough.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from img2plate.base.arrays import Cells, Floats, Mask
from img2plate.base.errors import OptionError
from img2plate.colour.companions import find_companions
from img2plate.colour.palette import Palette
from img2plate.plate.plate import Plate
from img2plate.plate.shade.masks import blue_noise, thresholds

PERCENT = 12.0
"""Share of an area that is scattered over when none is given; by eye."""
LEAST_AREA = 9
"""Beads that an area needs to count as flat: less is a detail."""


@dataclass(frozen=True)
class ScatterWish:
    """One wish: which colour gets which beads, and how many."""

    base: int
    """Palette index of the flat colour."""
    lighter: int | None
    darker: int | None
    """What is scattered; None for nothing on that side."""
    share: float
    """Part of the flat cells, 0..1."""


@dataclass(frozen=True)
class ScatterOptions:
    """What to scatter: `CODE[:COMPANION[:PERCENT]]` each, from where the light comes, the seed."""

    scatter: tuple[str, ...] = ()
    light: float | None = None
    """Degrees, counter-clockwise: 0 from the right, 90 from the top, 135 from the upper left."""
    seed: int = 0

    def wishes(self, palette: Palette) -> list[ScatterWish]:
        """What the wishes mean. Raises OptionError for one that makes no sense."""
        if self.light is not None and not self.scatter:
            raise OptionError("needs `scatter`; it says where beads are lighter", field="light")
        wishes = [parse_wish(text, palette) for text in self.scatter]
        _refuse_doubles(wishes, palette)
        return wishes


class Scattered(NamedTuple):
    """A plate with beads scattered over it, and what to know about it."""

    plate: Plate
    notes: tuple[str, ...]


def scatter(plate: Plate, options: ScatterOptions, where: Mask | None = None) -> Scattered:
    """Scatter companion beads over flat areas; same plate, options and seed, same beads.

    where: (h, w) bool, the part of the plate that beads may go on; None is all of it.
    Raises OptionError for a wish that is not written right or has no companion.
    """
    wishes = options.wishes(plate.palette)
    cells, notes = plate.cells.copy(), []
    for wish in wishes:
        flat = flat_cells(plate.cells == wish.base)
        if where is not None:
            flat &= where
        count = _scatter(cells, flat, wish, options)
        notes.append(_note(plate, wish.base, count, int(flat.sum())))
    if not wishes:
        return Scattered(plate, ())
    made: dict[str, str | int | float] = dict(plate.made)
    made |= {"scatter": " ".join(options.scatter), "scatter_seed": options.seed}
    if options.light is not None:
        made["light"] = options.light
    return Scattered(replace(plate, cells=cells, made=made), tuple(notes))


def _note(plate: Plate, base: int, count: int, flat: int) -> str:
    """Say how much was scattered over one colour, or why nothing was."""
    code = plate.palette.beads[base].code
    if not plate.counts()[base]:
        return f"{code}: nothing scattered; the plate has no bead of it"
    if not flat:
        return f"{code}: nothing scattered; it has no area, only lines and details"
    return f"{code}: {count:,} beads scattered over {flat:,} flat cells"


def flat_cells(area: Mask) -> Mask:
    """(h, w) the cells of an area that beads may go on: never lines of one bead, or small details.

    A cell is flat when it lies in a block of 2 x 2 of its colour, and its flat neighbours are many.
    """
    from scipy import ndimage

    flat = ndimage.binary_opening(area, np.ones((2, 2), bool))
    labels, count = ndimage.label(flat)
    large = np.bincount(labels.ravel(), minlength=count + 1) >= LEAST_AREA
    return np.asarray(flat & large[labels])


def parse_wish(text: str, palette: Palette) -> ScatterWish:
    """Read `CODE[:COMPANION[:PERCENT]]`; COMPANION is a code, `lighter`, `darker` or empty (both).

    Raises OptionError that says which part is wrong.
    """
    code, _, rest = text.partition(":")
    companion, _, percent = rest.partition(":")
    base = palette.index(code, "scatter")
    lighter, darker = _companions(companion, base, palette)
    try:
        share = float(percent.removesuffix("%") or PERCENT) / 100
    except ValueError:
        share = -1.0
    if not 0 < share <= 1:
        raise OptionError(
            f"{text}: {percent!r} is not a percentage over 0 up to 100", field="scatter"
        )
    return ScatterWish(base, lighter, darker, share)


def _companions(word: str, base: int, palette: Palette) -> tuple[int | None, int | None]:
    """Lighter and darker bead to scatter."""
    if word and word not in ("lighter", "darker"):
        other = palette.index(word, "scatter")
        if other == base:
            raise OptionError(f"{word} cannot be its own companion", field="scatter")
        is_lighter = palette.lab[other, 0] >= palette.lab[base, 0]
        return (other, None) if is_lighter else (None, other)
    pair = find_companions(palette)[base]
    lighter = None if word == "darker" else pair.lighter
    darker = None if word == "lighter" else pair.darker
    if lighter is None and darker is None:
        code = palette.beads[base].code
        raise OptionError(
            f"palette {palette.name} has no {word or 'companion'} for {code}",
            field="scatter",
            remedy=f"name one, as {code}:CODE",
        )
    return lighter, darker


def _refuse_doubles(wishes: Sequence[ScatterWish], palette: Palette) -> None:
    """Refuse two wishes for one colour: which beads would be whose?"""
    seen: set[int] = set()
    for wish in wishes:
        if wish.base in seen:
            code = palette.beads[wish.base].code
            raise OptionError(f"{code} is given twice", field="scatter", remedy="join them")
        seen.add(wish.base)


def _scatter(cells: Cells, flat: Mask, wish: ScatterWish, options: ScatterOptions) -> int:
    """Scatter over one colour in place; returns how many beads."""
    wanted = round(round(wish.share * np.count_nonzero(flat), 6))  # a half stays one: 0.7 * 105
    if not wanted:
        return 0
    ranks = thresholds(blue_noise(seed=options.seed), flat.shape)
    towards = None if options.light is None else towards_light(flat, options.light)
    places = np.flatnonzero(flat)
    key: Floats = ranks.ravel()[places]
    if towards is not None:
        # A cell that is to get twice as many beads passes its threshold twice as early.
        key = key / np.maximum(_density(towards.ravel()[places], wish), 1e-3)
    order = places[np.argsort(key, kind="stable")]
    own = np.isin(cells, [index for index in (wish.lighter, wish.darker) if index is not None])
    taken = _take(order, flat, own, wanted)
    chosen = order[taken.ravel()[order]]
    only = next(index for index in (wish.lighter, wish.darker) if index is not None)
    if wish.lighter is None or wish.darker is None:
        cells.ravel()[chosen] = only
    elif towards is None:
        # The first half of the order is evenly spread by itself, so the second is too.
        half = len(chosen) // 2
        cells.ravel()[chosen[:half]] = wish.lighter
        cells.ravel()[chosen[half:]] = wish.darker
    else:
        lit = towards.ravel()[chosen] >= 0
        cells.ravel()[chosen] = np.where(lit, wish.lighter, wish.darker)
    return len(chosen)


def _density(towards: Floats, wish: ScatterWish) -> Floats:
    """How densely a place is to be covered, 0..1, from how far towards the light it is, -1..1."""
    if wish.lighter is not None and wish.darker is not None:
        return np.abs(towards)
    return (1 + towards) / 2 if wish.darker is None else (1 - towards) / 2


def towards_light(flat: Mask, degrees: float) -> NDArray[np.float64]:
    """(h, w) how far each cell lies towards the light within its own flat area, -1..1."""
    from scipy import ndimage

    labels, _ = ndimage.label(flat)
    y, x = np.ogrid[: flat.shape[0], : flat.shape[1]]
    along = x * np.cos(np.radians(degrees)) - y * np.sin(np.radians(degrees))
    numbers = np.arange(labels.max() + 1)
    low = ndimage.minimum(along, labels, numbers)
    high = ndimage.maximum(along, labels, numbers)
    middle, reach = (low + high) / 2, np.maximum((high - low) / 2, 1e-9)
    return np.asarray(np.clip((along - middle[labels]) / reach[labels], -1, 1))


def _take(order: NDArray[np.int64], flat: Mask, own: Mask, wanted: int) -> Mask:
    """(h, w) which cells are taken: `wanted` of them, as far apart as that allows, and from beads
    that have the companions' colours already (`own`), as beside those they would be a ragged edge.
    """
    from img2plate.plate.scatter_loops import take_apart

    for there, corners in ((own, True), (own, False), (np.zeros_like(own), False)):
        taken = there.copy()
        already = int(np.count_nonzero(there))
        if take_apart(order, taken, wanted + already, corners) >= wanted + already:
            return taken & ~there
    return _chequered(order, flat, wanted)


def _chequered(order: NDArray[np.int64], flat: Mask, wanted: int) -> Mask:
    """Take every other cell of each area, of the two ways the larger; then force the rest."""
    from scipy import ndimage

    labels, count = ndimage.label(flat)
    y, x = np.ogrid[: flat.shape[0], : flat.shape[1]]
    odd = (x + y) % 2 == 1
    odds = np.bincount(labels[odd], minlength=count + 1)
    evens = np.bincount(labels[~odd], minlength=count + 1)
    first = odd == (odds > evens)[labels]
    taken = np.zeros(flat.shape, np.bool_)
    is_first = first.ravel()[order]
    taken.ravel()[np.concatenate([order[is_first], order[~is_first]])[:wanted]] = True
    return taken
