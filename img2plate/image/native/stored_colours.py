"""The cells of a grid from what a JPEG file stores of the picture: nearly always the very colours.

The coefficients bound what was saved; of all that lies within, the fewest colours are meant. When
no few colours give all that is stored, the picture has many, and no grouping of its cells is to be
trusted alone: the mean of several, each brought into the bounds, is half as often wrong.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from img2plate.image.jpeg.coefficients import Coefficients
from img2plate.image.native.axis import AxisGrid
from img2plate.image.native.blocks import Matrix
from img2plate.image.native.bounded import BoundedFit, to_rgb
from img2plate.image.native.loops import HARDEST
from img2plate.image.native.palette_fit import with_palettes
from img2plate.image.native.solver import kept_cells
from img2plate.image.native.stored_axis import refined

MOST_CELLS, MOST_PIXELS = 3200, 1_000_000
"""On more this takes too long."""
MOST_EXCESS = 0.005
"""Squared steps out of bounds, for each coefficient, above which the grid is not how the picture
was made."""
RESAVED = 0.0003
"""The same for hard cells in any number of colours: more is left when the file was a JPEG before,
whose own rounding is in what it stores."""
CERTAIN = 1.0
"""Squared steps out of bounds up to which few colours are the true ones, nearly always."""
CHEAPEST, MANY = 3, 24
"""Groupings of soft cells that are averaged, and colours above which they are."""
BACK_ROUNDS, LEAST_MOVE = 12, 3
"""Rounds of bringing cells of few colours back into the bounds, which moves those that none of the
colours suits; and 8-bit steps from where on they are moved."""


def stored_colours(
    stored: Coefficients, x: AxisGrid, y: AxisGrid, kind: int, near: NDArray[np.float32]
) -> NDArray[np.float32] | None:
    """(rows, columns, 3) RGB of the kept cells, or None when they do not explain the file.

    `near`: the kept cells in RGB (rows, columns, 3), about right.
    """
    if near[..., 0].size > MOST_CELLS or stored.size[0] * stored.size[1] > MOST_PIXELS:
        return None
    x, y, kind = refined(stored, x, y, kind, near)
    if [kept_cells(g, n)[1] for g, n in zip((y, x), stored.size[::-1], strict=True)] != [
        *near.shape[:2]
    ]:
        return None
    fit = BoundedFit(stored, x, y, kind, near)
    tried = with_palettes(fit, fit.solved())
    found = tried[0]
    values = sum(model.channel.stored.size for model in fit.models)
    if found.excess > MOST_EXCESS * values:
        return None
    if kind > HARDEST:  # what makes soft cells is never known so well that the bounds are true
        if found.excess <= CERTAIN or found.colours <= MANY:
            return to_rgb(found.cells)[fit.kept]
        fit.correct(found.cells)
        return _mean([fit.solved(one.cells, BACK_ROUNDS) for one in tried[:CHEAPEST]])[fit.kept]
    if min(one.excess for one in tried) > max(CERTAIN, RESAVED * values):
        return None
    if found.excess > CERTAIN:
        return _mean([fit.solved(one.cells, BACK_ROUNDS) for one in tried])[fit.kept]
    plain = to_rgb(found.cells)
    moved = to_rgb(fit.solved(found.cells, BACK_ROUNDS))
    differs = np.abs(moved - plain).max(axis=2, keepdims=True) > LEAST_MOVE
    return np.asarray(np.where(differs, moved, plain)[fit.kept], np.float32)


def _mean(cells: list[Matrix]) -> NDArray[np.float32]:
    """(rows, columns, 3) RGB of the mean of several (channels, rows, columns)."""
    return to_rgb(np.mean(cells, axis=0, dtype=np.float32))
