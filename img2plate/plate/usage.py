"""Which colours something uses, and which of them lie side by side: a plate, or many at once."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from img2plate.base.arrays import Cells, Mask
from img2plate.colour.palette import Palette
from img2plate.plate.plate import Plate


@dataclass(frozen=True, eq=False)
class Usage:
    """What there is of each colour of a palette."""

    palette: Palette
    counts: NDArray[np.int64]
    """(n,) beads of each colour."""
    border: NDArray[np.int64]
    """(n, n) how many beads of two different colours lie side by side; symmetric."""
    around: NDArray[np.int64]
    """(n,) how long the border of each colour is, in beads: with all others, and what ends."""

    @property
    def touching(self) -> Mask:
        """(n, n) whether two different colours have a bead side by side; symmetric."""
        return np.asarray(self.border > 0)


def usage_of(plate: Plate) -> Usage:
    """What a plate uses."""
    border = borders(plate.cells, len(plate.palette))
    return Usage(plate.palette, plate.counts(), border, border.sum(axis=1))


def borders(cells: Cells, colours: int) -> NDArray[np.int64]:
    """(n, n) how many beads of two different colours lie side by side; symmetric."""
    one = np.concatenate([cells[1:].ravel(), cells[:, 1:].ravel()])
    two = np.concatenate([cells[:-1].ravel(), cells[:, :-1].ravel()])
    return count_pairs(one, two, colours)


def count_pairs(
    one: NDArray[np.signedinteger[Any]], two: NDArray[np.signedinteger[Any]], colours: int
) -> NDArray[np.int64]:
    """(n, n) how often two different colours are a pair; symmetric.

    one, two: (k,) signed; palette indices, -1 where no bead is: in no pair.
    """
    one, two = one.astype(np.int64), two.astype(np.int64)
    meet = (one >= 0) & (two >= 0) & (one != two)
    pairs = one[meet] * colours + two[meet]
    found = np.bincount(pairs, minlength=colours * colours).reshape(colours, colours)
    return np.asarray(found + found.T)
