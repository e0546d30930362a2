"""A drawing's cells: the flat colour that covers each most, lines before areas."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from img2plate.base.arrays import Pixels
from img2plate.colour.spaces import byte2linear_table
from img2plate.image.drawing.bins import bins_of
from img2plate.image.drawing.cover import cell_labels
from img2plate.image.drawing.flats import find_flats
from img2plate.image.drawing.labels import Labels, label_pixels
from img2plate.image.drawing.place import mirrored, place
from img2plate.image.drawing.thin import Thin, thin_parts
from img2plate.image.drawing.work import Work, with_rim, work_on
from img2plate.image.grid import Grid
from img2plate.image.kind.kind import Kind
from img2plate.image.sizing import Framing

MOST_EACH, LEAST_EACH = 12, 4
"""Pixels along a cell's side that a drawing is looked at with."""
_PIXELS = 700_000
"""How many they are to be in all, about; more for plates that are larger still."""
LEAST_STEP = 1.25
"""Pixels of the picture a cell from which on there is something to choose from."""
_MOST_CELLS = 300_000


@dataclass(frozen=True, eq=False)
class Drawn:
    """A drawing on its cells."""

    grid: Grid
    framing: Framing
    """Where the cells lie: moved by up to half a cell."""


def draw_cells(pixels: Pixels, framing: Framing, *, source: str) -> Drawn | None:
    """One colour for each cell of a framing; None where averages do as well.

    That is for a plate about as fine as the picture or of very many cells, and for a picture
    without flat areas.
    """
    cells = framing.size[0] * framing.size[1]
    if min(framing.step) < LEAST_STEP or cells > _MOST_CELLS:
        return None
    each = int(np.clip((_PIXELS / cells) ** 0.5, LEAST_EACH, MOST_EACH)) // 2 * 2
    wide, around = with_rim(pixels, framing)
    work = work_on(wide, around, each)
    bins = bins_of(work)
    flats = find_flats(work, bins)
    if not len(flats):
        return None
    labels = label_pixels(work, bins, flats)
    thin = thin_parts(labels, len(flats), each)
    whole = framing.box == (0, 0, pixels.shape[1], pixels.shape[0])
    across, down = place(labels, thin, each, may_move=whole)
    part = np.s_[each + down.move : down.move - each, each + across.move : across.move - each]
    found = cell_labels(labels[part], _part(thin, part), len(flats) + 1, each)
    x, y = ((p.axis and p.axis - p.move - each) for p in (across, down))
    found = mirrored(mirrored(found, x, each).T, y, each).T
    grid = _grid(found, work, labels, part, flats)
    return Drawn(
        replace(grid, source=source), _moved(framing, across.move / each, down.move / each)
    )


def _part(thin: Thin, part: tuple[slice, slice]) -> Thin:
    """Thin parts within a window."""
    return Thin(thin.mask[part], thin.middle[part], thin.dots[part])


def _moved(framing: Framing, across: float, down: float) -> Framing:
    """A framing moved by a share of a cell."""
    (left, top, right, bottom), (step_x, step_y) = framing.box, framing.step
    x, y = across * step_x, down * step_y
    return replace(framing, box=(left + x, top + y, right + x, bottom + y))


def _grid(
    cells: NDArray[np.int16],
    work: Work,
    labels: Labels,
    part: tuple[slice, slice],
    flats: NDArray[np.float32],
) -> Grid:
    """Colours of cells: the flat one, or the mean of what is shaded."""
    alpha = np.maximum(flats[:, 3:], 1)
    shown = np.clip(np.rint(flats[:, :3] / alpha * 255), 0, 255).astype(np.uint8)
    shaded = cells == len(flats)
    rgb = byte2linear_table()[np.vstack([shown, [[0, 0, 0]]])[cells]].astype(np.float32)
    cover = np.append(flats[:, 3] >= 128, True)[cells].astype(np.float32)
    if shaded.any():
        own = labels[part] == len(flats)
        rgb[shaded], cover[shaded] = _means(work.colour[part], own, shaded, work.each)
    rgb[cover == 0] = 0
    flat = np.where(shaded | (cover < 0.5), -1, cells).astype(np.int16)
    return Grid(rgb, cover, "", Kind.DRAWING, flat=flat)


def _means(
    colour: NDArray[np.uint8], own: NDArray[np.bool_], shaded: NDArray[np.bool_], each: int
) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """Mean linear light (n, 3) and cover (n,) of the shaded pixels in shaded cells."""
    height, width = shaded.shape
    own = own & shaded.repeat(each, axis=0).repeat(each, axis=1)
    cell = (np.arange(height)[:, None] * width + np.arange(width)).astype(np.int64)
    where = cell.repeat(each, axis=0).repeat(each, axis=1)[own]
    seen = colour[own].astype(np.float32)
    alpha = seen[:, 3] / 255
    straight = np.clip(np.rint(seen[:, :3] / np.maximum(alpha, 1 / 255)[:, None]), 0, 255)
    light = byte2linear_table()[straight.astype(np.uint8)]
    index = np.flatnonzero(shaded.ravel())
    weight = np.bincount(where, alpha, height * width)[index]
    count = np.bincount(where, minlength=height * width)[index]
    rgb = (
        np.stack(
            [np.bincount(where, light[:, c] * alpha, height * width)[index] for c in range(3)],
            axis=1,
        )
        / np.maximum(weight, 1e-6)[:, None]
    )
    return rgb.astype(np.float32), (weight / np.maximum(count, 1)).astype(np.float32)
