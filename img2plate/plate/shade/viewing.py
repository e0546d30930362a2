"""How a plate is looked at while its beads are chosen."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from img2plate.base.arrays import Cells
from img2plate.colour.look_error import View, default_view
from img2plate.colour.palette import Palette
from img2plate.image.grid import Grid
from img2plate.image.sample import finer

SAMPLES = 6
"""Samples along a cell's side that the search takes of the picture."""
Watch = Callable[[float, Cells], bool]
"""Told the share of the work that is done and the plate so far; True stops the search."""
SoFar = Callable[[Cells], None]
"""Shown (h, w) int16, the best plate so far, in indices of the palette that was asked for."""


@dataclass(frozen=True, eq=False)
class Viewing:
    """From where a plate is looked at, beside which picture, and who hears of the progress."""

    view: View
    picture: Callable[[int], Grid] | None = None
    """The full picture on the plate's cells, at so many samples along a cell's side; None to look
    at the grid alone."""
    watch: Watch | None = None
    so_far: SoFar | None = None
    """Who sees the plate while it is searched for; nothing of the plate depends on it."""
    stated: bool = False
    """Whether somebody said from where; else the search looks from near and far alike."""

    def watching(self) -> Watch | None:
        """What the search of the plate itself is to tell."""
        watch, so_far = self.watch, self.so_far
        if so_far is None:
            return watch

        def both(done: float, cells: Cells) -> bool:
            so_far(cells)
            return watch(done, cells) if watch else False

        return both

    def fine(self, grid: Grid) -> Grid:
        """The full picture on a grid's cells, else what the grid says of it."""
        samples = SAMPLES
        return self.picture(samples) if self.picture else finer(grid, samples)


def usual_viewing(grid: Grid, palette: Palette) -> Viewing:
    """The grid alone, from twice the plate's diagonal."""
    return Viewing(default_view(grid.cover.shape, palette.pitch_mm))
