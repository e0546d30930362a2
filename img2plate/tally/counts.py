"""Count beads: per colour, per tile, in total; with spares, weight, bags, price and time."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from math import ceil

import numpy as np
from numpy.typing import NDArray

from img2plate.base.errors import OptionError
from img2plate.colour.palette import Bead, Palette
from img2plate.plate.plate import Plate
from img2plate.split.tiles import Split
from img2plate.tally.bags import Bag, Bags
from img2plate.tally.effort import USUAL_PACE, Effort, check_pace, colour_changes


@dataclass(frozen=True)
class ColourCount:
    """One colour's line of the count sheet."""

    bead: Bead
    index: int
    """Place in the palette; in a sum over plates, place in the sum."""
    beads: int
    with_spares: int
    """`beads` and the spare percentage, rounded up."""
    grams: float
    """Weight of `with_spares` beads."""
    per_tile: tuple[int, ...]
    """In the order of the split's tiles; in a sum over plates, of the plates."""
    bag: Bag | None = None
    """What it is sold in, when that was stated."""
    bags: int = 0
    """Bags that hold `with_spares` beads; 0 when no bag was stated."""
    price: Decimal | None = None
    """Of those bags."""


@dataclass(frozen=True)
class Counts:
    """What a plate takes, or several, most used colour first."""

    colours: tuple[ColourCount, ...]
    tiles: tuple[str, ...]
    """Names of the tiles, in the split's order; in a sum over plates, of the plates."""
    spare_percent: float
    changes: int
    """Colour changes along the rows; in a sum over plates, of all."""
    pace: float = USUAL_PACE
    """Beads an hour, see `effort.Effort`."""
    sold: Bags | None = None
    """What colours are sold in, when that was stated."""

    @property
    def beads(self) -> int:
        """All beads, without spares."""
        return sum(colour.beads for colour in self.colours)

    @property
    def with_spares(self) -> int:
        """All beads, with spares."""
        return sum(colour.with_spares for colour in self.colours)

    @property
    def grams(self) -> float:
        """Weight with spares, g."""
        return sum(colour.grams for colour in self.colours)

    @property
    def bags(self) -> int:
        """All bags."""
        return sum(colour.bags for colour in self.colours)

    @property
    def price(self) -> Decimal | None:
        """Of all bags that have one; None when no price was stated."""
        if self.sold is None or not self.sold.priced:
            return None
        return sum((c.price for c in self.colours if c.price is not None), Decimal(0))

    @property
    def unpriced(self) -> int:
        """How many colours the price leaves out."""
        return 0 if self.price is None else sum(c.price is None for c in self.colours)

    @property
    def effort(self) -> Effort:
        """What placing the beads takes."""
        return Effort(self.beads, self.changes, len(self.colours), self.pace)

    @property
    def hours(self) -> float:
        """Estimated time of placing, a guess."""
        return self.effort.hours


def count(
    plate: Plate,
    split: Split,
    *,
    spare_percent: float = 0.0,
    pace: float = USUAL_PACE,
    sold: Bags | None = None,
) -> Counts:
    """Count a plate's beads over its tiles.

    Raises OptionError for a negative percentage, or a pace that makes no sense.
    """
    _check(spare_percent, pace)
    table = tile_table(plate, split)
    beads = plate.palette.beads
    each = [plate.palette.bead_size.grams] * len(beads)
    lines = _lines(beads, each, table, spare_percent, sold)
    names = tuple(tile.name for tile in split.tiles)
    changes = colour_changes(plate.cells)
    return Counts(lines, names, spare_percent, changes, pace, sold)


def count_plates(
    plates: Sequence[Plate],
    names: Sequence[str],
    *,
    spare_percent: float = 0.0,
    pace: float = USUAL_PACE,
    sold: Bags | None = None,
) -> Counts:
    """Add up several plates; one name each. The spare is taken on the sum.

    Beads are the same when code, colour and weight are: two palettes may share a code by chance.
    Raises OptionError for a negative percentage, or a pace that makes no sense.
    """
    _check(spare_percent, pace)
    totals: dict[tuple[str, str, float], list[int]] = {}
    beads: dict[tuple[str, str, float], Bead] = {}
    for number, plate in enumerate(plates):
        grams = plate.palette.bead_size.grams
        for bead, amount in zip(plate.palette.beads, plate.counts().tolist(), strict=True):
            key = bead.code, bead.hex, round(grams, 9)
            beads.setdefault(key, bead)
            totals.setdefault(key, [0] * len(plates))[number] += amount
    table = np.array(list(totals.values()), dtype=np.int64).reshape(len(totals), len(plates)).T
    lines = _lines(list(beads.values()), [key[2] for key in totals], table, spare_percent, sold)
    changes = sum(colour_changes(plate.cells) for plate in plates)
    return Counts(lines, tuple(names), spare_percent, changes, pace, sold)


def count_amounts(
    palette: Palette,
    amounts: Mapping[str, int],
    changes: int,
    *,
    spare_percent: float = 0.0,
    pace: float = USUAL_PACE,
    sold: Bags | None = None,
) -> Counts:
    """What so many beads of each colour, by code, would take, wherever they lie on one plate.

    For a plate that is not made yet; codes that the palette does not have are left out. Raises
    OptionError as `count` does.
    """
    _check(spare_percent, pace)
    beads = palette.beads
    table = np.array([[amounts.get(bead.code, 0) for bead in beads]], dtype=np.int64)
    each = [palette.bead_size.grams] * len(beads)
    lines = _lines(beads, each, table, spare_percent, sold)
    return Counts(lines, ("",), spare_percent, changes, pace, sold)


def tile_table(plate: Plate, split: Split) -> NDArray[np.int64]:
    """(tiles, palette colours) int64: beads of each colour on each tile."""
    parts = (tile.of(plate.cells) for tile in split.tiles)
    return np.stack([np.bincount(part[part >= 0], minlength=len(plate.palette)) for part in parts])


def _check(spare_percent: float, pace: float) -> None:
    """Refuse what makes no sense, or is no number."""
    if not spare_percent >= 0:
        raise OptionError("is below 0", field="spare_percent", value=spare_percent)
    check_pace(pace)


def _lines(
    beads: Sequence[Bead],
    grams: Sequence[float],
    table: NDArray[np.int64],
    spare_percent: float,
    sold: Bags | None,
) -> tuple[ColourCount, ...]:
    """One line for each colour of a (places, colours) table that is used, most used first."""
    totals = table.sum(axis=0)
    order = sorted(np.flatnonzero(totals).tolist(), key=lambda i: (-int(totals[i]), i))
    return tuple(
        _line(beads[i], i, grams[i], table[:, i].tolist(), spare_percent, sold) for i in order
    )


def _line(
    bead: Bead,
    index: int,
    grams_each: float,
    per_tile: list[int],
    spare_percent: float,
    sold: Bags | None,
) -> ColourCount:
    """One colour's line. The spare is taken on the whole, not tile by tile."""
    beads = sum(per_tile)
    # Rounded first: 10% of 110 is 11.000000000000002 in floats, and would be rounded up to 12.
    with_spares = beads + ceil(round(beads * spare_percent / 100, 6))
    grams = with_spares * grams_each
    bag = sold.of(bead.code) if sold else None
    bags = bag.needed(with_spares, grams) if bag else 0
    price = bag.price * bags if bag and bag.price is not None else None
    return ColourCount(bead, index, beads, with_spares, grams, tuple(per_tile), bag, bags, price)
