"""Where art ends: at the line that corners and edges along it speak for."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from img2plate.base.arrays import Pixels
from img2plate.image.screen.corners import Corners
from img2plate.image.screen.rasters import Raster, Worth

Box = tuple[int, int, int, int]
Lines = NDArray[np.int16]
EDGE, EDGE_LOSSY = 3, 12
"""8-bit steps of an edge."""
BORDER = 30.0
"""Nats that an edge along a whole side says for a border there."""
LEAST_BORDER, WHOLE_BORDER = 0.5, 0.9
"""Share of a side with an edge, from which on it says something, and all."""
FLAT = 0.6
"""Share of the cells along a side that are of one colour, as far as art may go on."""
FARTHER = 0.3
"""Nats that a line costs: of two that are worth about the same, the inner one is taken."""
SPOILT = -30.0
"""Nats of a strip of cells at the least, times the share of its cells that are not of one colour:
a label on the art has many corners in few cells."""
ROUNDS = 3


def settled(
    pixels: Pixels, found: Corners, box: Box, raster: Raster, each: Worth, *, lossy: bool
) -> Box:
    """Move each side of a box of lines (left, top, right, bottom) to where art seems to end.

    Art may have a plain rim without corners; corners of what is round it may lie on its lines.
    """
    edge = EDGE_LOSSY if lossy else EDGE
    for _ in range(ROUNDS):
        before, sides = box, list(box)
        for side in range(4):
            sides[side] = _moved(pixels, found, before, side, raster, each, edge)
        box = sides[0], sides[1], sides[2], sides[3]
        if box == before:
            break
    return box


def _moved(
    pixels: Pixels, found: Corners, box: Box, side: int, raster: Raster, each: Worth, edge: int
) -> int:
    """The best line for one side: 0 left, 1 top, 2 right, 3 bottom."""
    axis, sign = side % 2, 1 if side >= 2 else -1
    cross = slice(box[1 - axis], box[3 - axis])
    part = pixels[cross, :, :3].transpose(1, 0, 2) if axis == 0 else pixels[:, cross, :3]
    lines, flat = _lines(part, box, side, raster.pitch, edge)
    if len(lines) < 2:
        return box[side]
    edges = np.array([_share_of_edges(part, int(at), edge) for at in lines])
    share = np.clip((edges - LEAST_BORDER) / (WHOLE_BORDER - LEAST_BORDER), 0, 1)
    reach = np.array(box)
    reach[side], reach[2 + axis if sign < 0 else axis] = lines[-1], box[side - 2 * sign]
    there = found.only(found.inside((int(reach[0]), int(reach[1]), int(reach[2]), int(reach[3]))))
    on = raster.holds(there)
    places, beside = (there.x, there.y)[:: 1 - 2 * axis]
    behind = -(-sign * (places - lines[0]) // raster.pitch)
    # What is round the art makes corners on its border.
    behind += ~on & (sign * (places - lines[0]) % raster.pitch == 0)
    kept = on | ((beside > box[1 - axis]) & (beside < box[3 - axis]))
    values = np.where(kept, np.where(on, each.on, each.off), 0.0)
    behind = np.maximum(0, behind)
    strips = np.bincount(behind, values, len(lines))[: len(lines)]
    sums = np.maximum(strips, SPOILT * (1 - flat)).cumsum()
    return int(lines[(sums + BORDER * share - FARTHER * np.arange(len(lines))).argmax()])


def _lines(
    part: NDArray[np.uint8], box: Box, side: int, pitch: int, edge: int
) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
    """Lines that may be a side, from the middle of the box outwards, along part's first axis.

    With each the share of flat cells in the strip before it, seen from the middle.
    """
    axis, sign = side % 2, 1 if side >= 2 else -1
    half = max(1, (box[axis + 2] - box[axis]) // pitch // 2)
    at, last = box[side] - sign * half * pitch, box[side]
    lines, flat = [at], [1.0]
    while 0 <= at + sign * pitch <= len(part):
        strip = part[at : at + pitch] if sign > 0 else part[at - pitch : at]
        share = _flat_cells(strip, pitch, edge)
        if share < FLAT and sign * (at - last) >= 0:
            break
        at += sign * pitch
        lines.append(at)
        flat.append(share)
    return np.array(lines), np.array(flat)


def _share_of_edges(part: NDArray[np.uint8], at: int, edge: int) -> float:
    """Share of a line's length at which the picture changes; its rim counts as an edge."""
    if not 0 < at < len(part):
        return 1.0
    change = np.abs(part[at].astype(np.int16) - part[at - 1]).max(axis=1)
    return float((change >= edge).mean())


def _flat_cells(strip: NDArray[np.uint8], pitch: int, edge: int) -> float:
    """Share of the cells of a strip (pitch, across, 3) that are of one colour."""
    columns = strip.shape[1] // pitch
    cells = strip[:, : columns * pitch].reshape(pitch, columns, pitch, 3)
    ranges = (cells.max(axis=(0, 2)).astype(np.int16) - cells.min(axis=(0, 2))).max(axis=1)
    return float((ranges < edge).mean()) if columns else 0.0
