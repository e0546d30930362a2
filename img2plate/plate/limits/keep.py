"""Keep a plate to the beads that are owned.

Without shading the plate is the best there is: the transport problem over its distinct colours.
With shading, the same problem replaces beads that are wanted too often where the shaded plate
misses them least; then beads change places, which keeps all counts, while the plate comes to look
more like the picture.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from img2plate.base.arrays import Cells
from img2plate.colour.look_error import View
from img2plate.colour.palette import Palette
from img2plate.image.grid import Grid
from img2plate.plate.limits.transport import spread_cells, transport
from img2plate.plate.shade.distinct import differences, distinct_colours

_PICTURE_SHARE = 0.5
"""How much the picture's own colour counts beside the shaded plate's, when a bead is replaced."""


def keep_to(
    cells: Cells,
    grid: Grid,
    palette: Palette,
    limits: NDArray[np.int64],
    shading: str,
    difference: str,
    view: View,
) -> tuple[Cells, tuple[str, ...]]:
    """(h, w) int16 cells that use no bead more often than `limits` (n,) allow, and a note.

    Raises StockError when there are fewer beads than cells.
    """
    filled = cells >= 0
    counts = np.bincount(cells[filled], minlength=len(palette))
    over = counts > limits
    if not over.any():
        return cells, ()
    kept = cells.copy()
    if shading == "none":
        kept[filled] = _nearest_owned(grid, filled, palette, limits, difference)
    else:
        kept[filled] = _replaced(cells[filled], grid.rgb[filled], palette, limits, difference)
        kept = _rearranged(kept, grid, palette, limits, view)
    short = [palette.beads[i].code for i in np.flatnonzero(over)]
    named = ", ".join(short[:4]) + (f" and {len(short) - 4} more" if len(short) > 4 else "")
    changed = int(np.count_nonzero(kept != cells))
    return kept, (f"{changed:,} beads are others than wished, as the stock is short of {named}",)


def _nearest_owned(
    grid: Grid,
    filled: NDArray[np.bool_],
    palette: Palette,
    limits: NDArray[np.int64],
    difference: str,
) -> NDArray[np.int16]:
    """Beads at the least summed difference of all that the stock allows."""
    wanted = distinct_colours(grid.rgb[filled])
    flow = transport(differences(wanted.linear, palette, difference), wanted.counts, limits)
    return spread_cells(flow, wanted.where)


def _replaced(
    chosen: NDArray[np.int16],
    rgb: NDArray[np.float32],
    palette: Palette,
    limits: NDArray[np.int64],
    difference: str,
) -> NDArray[np.int16]:
    """Beads near the shaded plate's, and near the picture."""
    wanted = distinct_colours(rgb)
    pairs, first, where, counts = np.unique(
        wanted.where * len(palette) + chosen,
        return_index=True,
        return_inverse=True,
        return_counts=True,
    )
    beside = differences(palette.linear, palette, difference)
    costs = beside[chosen[first]]
    costs += _PICTURE_SHARE * differences(wanted.linear, palette, difference)[pairs // len(palette)]
    costs[np.arange(len(first)), chosen[first]] = 0.0  # what the shading chose is best where it can
    return spread_cells(transport(costs, counts, limits), where.reshape(-1))


def _rearranged(
    cells: Cells, grid: Grid, palette: Palette, limits: NDArray[np.int64], view: View
) -> Cells:
    """Let beads change places; what looks worse from the viewing distance is not taken."""
    from img2plate.colour.look_error import look_error
    from img2plate.plate.limits.swaps import swap_beads

    swapped = swap_beads(cells, grid.rgb, palette, limits, view)
    filled = cells >= 0
    errors = [
        look_error(grid.rgb, palette.linear[each].astype(np.float32), view, cover=filled)
        for each in (cells, swapped)
    ]
    return swapped if errors[1] < errors[0] else cells
