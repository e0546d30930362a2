"""Choose a bead for each cell of a grid: the front door of matching and shading."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

import numpy as np

from img2plate.base.arrays import Cells
from img2plate.base.errors import OptionError
from img2plate.colour.palette import Palette
from img2plate.image.grid import Grid
from img2plate.plate.diffuse import KERNELS, diffuse
from img2plate.plate.match import nearest
from img2plate.plate.plate import EMPTY

Shading = Callable[[Grid, Palette, float], Cells]


def shade(grid: Grid, palette: Palette, *, shading: str = "none", strength: float = 1.0) -> Cells:
    """(h, w) int16 palette index for each cell that the picture covers by half, -1 elsewhere.

    `strength` 0..1 is how much of the shading is done. Raises OptionError for an unknown shading.
    """
    if shading not in SHADINGS:
        raise OptionError(f"--shading: {shading!r} is none of {', '.join(SHADINGS)}")
    if not 0 <= strength <= 1:
        raise OptionError(f"--strength: {strength} is not from 0 to 1")
    return SHADINGS[shading](grid, palette, strength)


def flat(grid: Grid, palette: Palette, strength: float = 1.0) -> Cells:
    """Give each cell the nearest bead by CIEDE2000; `strength` has nothing to weaken."""
    cells = np.full(grid.cover.shape, EMPTY, dtype=np.int16)
    cells[grid.filled] = nearest(grid.rgb[grid.filled], palette)
    return cells


def _diffusion(kernel: str, grid: Grid, palette: Palette, strength: float) -> Cells:
    """Diffuse errors with one of the published kernels."""
    return diffuse(grid.rgb, grid.filled, palette, KERNELS[kernel], strength)


SHADINGS: dict[str, Shading] = {
    "none": flat,
    **{name: partial(_diffusion, name) for name in KERNELS},
}
"""By the name that `--shading` takes."""
