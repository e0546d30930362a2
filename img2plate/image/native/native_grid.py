"""What was found of a native grid, and what the ways of finding it share."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from img2plate.base.arrays import Pixels
from img2plate.image.counts import colour_count

SURE_GRID = 0.75
"""Confidence from which on a grid is sure."""
LEAST_CELLS = 3
"""Across and down, in a picture that has a grid."""
MOST_NATIVE_SIDE = 64
FEW_COLOURS = 32
"""A larger picture of more colours is no sprite at one pixel per cell."""
HARD_KERNELS = ("nearest", "area", "shrunk", "shrunk-sharp")
"""Of cells with edges between them: as they are, averaged over pixels, or enlarged and shrunk."""
FEW_EDGES = 6
"""Inner lines that carry an edge: so few lie on many rasters."""


@dataclass(frozen=True, eq=False)
class UnevenLines:
    """Lines that are straight, but not evenly spaced."""

    x: NDArray[np.int64]
    """(columns + 1,) first pixels of cells, and the end of the last."""
    y: NDArray[np.int64]

    @property
    def off(self) -> float:
        """Share of the pitch by which widths are off the even one at most.

        Those of the frame aside, where cells may be cut off.
        """
        worst = 0.0
        for lines in (self.x, self.y):
            widths = np.diff(lines)
            even = (lines[-1] - lines[0]) / len(widths)
            worst = max(worst, float(np.abs(widths[1:-1] / even - 1).max(initial=0)))
        return worst

    def straightened(self, pixels: Pixels) -> Pixels:
        """A picture (h, w, 4) with these lines moved to even places."""
        places = (_even_places(lines) for lines in (self.y, self.x))
        return np.asarray(pixels[np.ix_(*places)])


def _even_places(lines: NDArray[np.int64]) -> NDArray[np.int64]:
    """Pixel to be taken for each one between the first and the last line."""
    even = np.linspace(lines[0], lines[-1], len(lines))
    at = np.interp(np.arange(lines[0], lines[-1]) + 0.5, even, lines)
    return np.clip(np.floor(at), lines[0], lines[-1] - 1).astype(np.int64)


@dataclass(frozen=True, eq=False)
class NativeGrid:
    """What was found."""

    cells: tuple[int, int] | None
    """Columns and rows; None when there is no grid."""
    cell_px: tuple[float, float]
    """Pitch in picture pixels, across and down."""
    offset_px: tuple[float, float]
    """Left and upper edge of the first kept cell."""
    confidence: float
    """0..1."""
    kernel: str
    pixels: Pixels | None
    """(rows, columns, 4) uint8, one clean colour per cell."""
    other: tuple[int, int] | None = None
    """The finer grid that fits equally well, when few edges tell them apart."""

    doubtful: tuple[int, int] | None = None
    """Columns and rows of a grid that was seen, but not believed."""
    uneven: UnevenLines | None = None
    """Where its lines are, when they are not evenly spaced."""

    @property
    def is_smooth(self) -> bool:
        """Whether its cells were blurred into each other."""
        return self.kernel not in ("none", *HARD_KERNELS)

    def __str__(self) -> str:
        """In words, for people."""
        if self.cells is None:
            return "no grid"
        across, down = self.cell_px
        size = (
            f"{across:.4g}" if abs(across - down) < 0.005 * across else f"{across:.4g} x {down:.4g}"
        )
        sure = "sure" if self.confidence >= SURE_GRID else "not sure"
        also = f"; {self.other[0]} x {self.other[1]} fits as well" if self.other else ""
        off = f", lines up to {self.uneven.off:.0%} off even" if self.uneven else ""
        return f"{self.cells[0]} x {self.cells[1]} cells of {size} px{off}, {sure}{also}"


NO_GRID = NativeGrid(None, (0.0, 0.0), (0.0, 0.0), 0.0, "none", None)


def kept_range(offset: float, pitch: float, length: int, tie: float = 0.0) -> tuple[int, int]:
    """First cell, and how many there are, of which at least half is inside a frame of `length` px.

    Cell i reaches from offset + i pitch; `tie` is the share of one by which that may be off.
    """
    first = int(np.ceil(-offset / pitch - 0.5 - max(tie, 1e-6)))
    last = int(np.floor((length - offset) / pitch - 0.5 + max(tie, 1e-6)))
    return first, max(1, last - first + 1)


def finer_as_good(cells: Pixels, pitch: float) -> tuple[int, int] | None:
    """Columns and rows of the grid of half the pitch, when few inner lines carry an edge."""
    down = (cells[1:] != cells[:-1]).any(axis=(1, 2)).sum()
    across = (cells[:, 1:] != cells[:, :-1]).any(axis=(0, 2)).sum()
    few = pitch >= 3 and down + across <= FEW_EDGES
    return (2 * cells.shape[1], 2 * cells.shape[0]) if few else None


def could_be_native(pixels: Pixels) -> bool:
    """Small and of so few colours that nothing was smoothed."""
    return max(pixels.shape[:2]) <= MOST_NATIVE_SIDE and colour_count(pixels) <= FEW_COLOURS


def already_native(pixels: Pixels) -> NativeGrid:
    """A picture at one pixel per cell."""
    size = (pixels.shape[1], pixels.shape[0])
    return NativeGrid(size, (1.0, 1.0), (0.0, 0.0), 1.0, "nearest", pixels)


def is_worn(pixels: Pixels, found: NativeGrid) -> bool:
    """Whether hard cells came out of a picture of far more colours: it was a JPEG once."""
    if found.pixels is None or found.kernel != "nearest":
        return False
    return colour_count(pixels) > 2 * colour_count(found.pixels) + 4
