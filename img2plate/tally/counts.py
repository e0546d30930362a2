"""Count beads: per colour, per tile, in all; with spares, weight and time."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil

import numpy as np
from numpy.typing import NDArray

from img2plate.base.errors import OptionError
from img2plate.colour.palette import Bead, Palette
from img2plate.plate.plate import Plate
from img2plate.split.tiles import Split, Tile

SECONDS_PER_BEAD = 4.0
"""Placing by hand with tweezers or fingers; common practice, no source. An option."""


@dataclass(frozen=True)
class ColourCount:
    """One colour's line of the count sheet."""

    bead: Bead
    index: int
    """Place in the palette."""
    beads: int
    with_spares: int
    """`beads` and the spare percentage, rounded up."""
    grams: float
    """Weight of `with_spares` beads."""
    per_tile: tuple[int, ...]
    """In the order of the split's tiles."""


@dataclass(frozen=True)
class Counts:
    """What a plate takes, most used colour first."""

    colours: tuple[ColourCount, ...]
    tiles: tuple[Tile, ...]
    spare_percent: float
    seconds_per_bead: float

    @property
    def beads(self) -> int:
        """Beads in all, without spares."""
        return sum(colour.beads for colour in self.colours)

    @property
    def with_spares(self) -> int:
        """Beads in all, with spares."""
        return sum(colour.with_spares for colour in self.colours)

    @property
    def grams(self) -> float:
        """Weight with spares, g."""
        return sum(colour.grams for colour in self.colours)

    @property
    def hours(self) -> float:
        """Estimated time of placing."""
        return self.beads * self.seconds_per_bead / 3600


def count(
    plate: Plate,
    split: Split,
    *,
    spare_percent: float = 0.0,
    seconds_per_bead: float = SECONDS_PER_BEAD,
) -> Counts:
    """Count a plate's beads over its tiles.

    Raises OptionError for a negative percentage or time.
    """
    if not spare_percent >= 0:
        raise OptionError(f"--spare: {spare_percent} percent is below 0")
    if not seconds_per_bead >= 0:
        raise OptionError(f"--seconds-per-bead: {seconds_per_bead} is below 0")
    table = tile_table(plate, split)
    totals = table.sum(axis=0)
    order = sorted(np.flatnonzero(totals), key=lambda i: (-int(totals[i]), int(i)))
    lines = tuple(
        _line(plate.palette, int(index), table[:, index], spare_percent) for index in order
    )
    return Counts(lines, split.tiles, spare_percent, seconds_per_bead)


def tile_table(plate: Plate, split: Split) -> NDArray[np.int64]:
    """(tiles, palette colours) int64: beads of each colour on each tile."""
    parts = (tile.of(plate.cells) for tile in split.tiles)
    return np.stack([np.bincount(part[part >= 0], minlength=len(plate.palette)) for part in parts])


def _line(
    palette: Palette, index: int, per_tile: NDArray[np.int64], spare_percent: float
) -> ColourCount:
    """One colour's line. The spare is taken on the whole, not tile by tile."""
    beads = int(per_tile.sum())
    # Rounded first: 10 % of 110 is 11.000000000000002 in floats, and would be rounded up to 12.
    with_spares = beads + ceil(round(beads * spare_percent / 100, 6))
    grams = with_spares * palette.bead_size.grams
    return ColourCount(
        palette.beads[index], index, beads, with_spares, grams, tuple(int(n) for n in per_tile)
    )
