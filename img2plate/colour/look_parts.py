"""The look error in parts, for whoever has to follow a plate bead by bead.

What a Gaussian makes of a plate is one matrix for its columns and one for its rows, as Gaussians
are separable; a bead that changes adds its own product of the two. Three samples a side stand for
all of a cell: the error of all samples and that of these differ by nearly the same from one plate
to the next, so that a change measured on these is added to an error measured on all.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from img2plate.base.arrays import Floats, Mask
from img2plate.colour.look_error import (
    OPPONENT2XYZ,
    PARAMETERS,
    RGB2OPPONENT,
    View,
    is_wide,
    kernel,
    seen_opponent,
)
from img2plate.colour.spaces import xyz2lab

SIDE = 3
"""Samples along a cell's side that stand for all."""
Plane = NDArray[np.float32]


@dataclass(frozen=True, eq=False)
class Response:
    """What one Gaussian of a channel makes of cells: `down @ cells @ across.T`, with its weight."""

    channel: int
    wide: bool
    """Whether it is told at cells, to be brought to samples by straight lines (see `lift`)."""
    down: Plane
    """(3 h, h) float32; (h, h) of a wide one."""
    across: Plane
    """(3 w, w) float32, times the Gaussian's weight; (w, w) of a wide one."""


def responses(size: tuple[int, int], view: View, per_cell: int) -> list[Response]:
    """Of all Gaussians of all channels, for a plate of (width, height) cells.

    per_cell: samples along a cell's side that the look error takes; of these `SIDE` are told.
    """
    found = []
    for channel, gaussians in enumerate(PARAMETERS["published-1996"]):
        total = sum(weight for weight, _ in gaussians)
        for weight, spread in gaussians:
            samples = spread / view.cell_degrees * per_cell
            wide = is_wide(samples, per_cell)
            across, down = (_axis(side, samples, per_cell, max(size), wide) for side in size)
            found.append(Response(channel, wide, down, across * np.float32(weight / total)))
    return found


def _axis(count: int, samples: float, per_cell: int, longest: int, wide: bool) -> Plane:
    """(3 count, count): what is seen at each sample, or of a wide one at each cell, of a bead."""
    import cv2

    unit = np.eye(count, dtype=np.float32)
    taps = kernel(samples / per_cell, longest) if wide else kernel(samples, longest * per_cell)
    fine = unit if wide else unit.repeat(per_cell, axis=0)
    seen = cv2.sepFilter2D(fine, -1, np.ones(1), taps, borderType=cv2.BORDER_REFLECT)
    return np.asarray(seen if wide else seen[_places(count, per_cell)], np.float32)


def lift(count: int, per_cell: int) -> Plane:
    """(3 count, count): cells of an axis brought to samples by straight lines."""
    import cv2

    unit, size = np.eye(count, dtype=np.float32), (count, count * per_cell)
    fine = cv2.resize(unit, size, interpolation=cv2.INTER_LINEAR)
    return np.asarray(fine[_places(count, per_cell)], np.float32)


def _places(count: int, per_cell: int) -> NDArray[np.int64]:
    """(3 count,) which samples stand for all along one axis: the middle of each third of a cell."""
    within = ((np.arange(SIDE) + 0.5) * per_cell / SIDE).astype(np.int64)
    return np.asarray((np.arange(count)[:, None] * per_cell + within).ravel())


@dataclass(frozen=True, eq=False)
class SeenPicture:
    """The picture that a plate is looked at beside, as the eye resolves it."""

    opponent: Plane
    """(3 h, 3 w, 3) float32 opponent channels, at the samples that stand for all."""
    means: Plane
    """(h, w, 3) float32: mean opponent colour of each cell before any blur."""
    cover: Mask
    """(h, w) bool: cells that counted; the others are white."""


def seen_picture(source: Floats, view: View, cover: Mask) -> SeenPicture:
    """What is seen of a picture, (h m, w m, 3) linear light, where `cover` (h, w) has beads."""
    height, width = cover.shape
    per_cell = source.shape[0] // height
    covered = cover.repeat(per_cell, axis=0).repeat(per_cell, axis=1)
    seen = seen_opponent(np.where(covered[..., None], source, np.float32(1)), view, per_cell)
    means = source.reshape(height, per_cell, width, per_cell, 3).mean((1, 3))
    rows, columns = _places(height, per_cell), _places(width, per_cell)
    opponent = means.astype(np.float32) @ RGB2OPPONENT.T.astype(np.float32)
    return SeenPicture(np.ascontiguousarray(seen[np.ix_(rows, columns)]), opponent, cover)


def sampled_error(seen: SeenPicture, plate: Floats, told: list[Response], per_cell: int) -> float:
    """The look error of a plate (h, w, 3), linear light, at the samples that stand for all."""
    shown = np.where(seen.cover[..., None], plate, np.float32(1))
    back = OPPONENT2XYZ.T.astype(np.float32)
    looks = xyz2lab(seen_plate(shown, told, per_cell) @ back)
    apart = np.sqrt(((looks - xyz2lab(seen.opponent @ back)) ** 2).sum(axis=-1))
    covered = seen.cover.repeat(SIDE, axis=0).repeat(SIDE, axis=1)
    return float(apart[covered].mean())


def seen_plate(plate: Floats, told: list[Response], per_cell: int) -> Plane:
    """(3 h, 3 w, 3) opponent channels of a plate (h, w, 3), linear light, as the eye sees it."""
    height, width = plate.shape[:2]
    cells = plate.astype(np.float32) @ RGB2OPPONENT.T.astype(np.float32)
    rows, columns = lift(height, per_cell), lift(width, per_cell)
    looks = np.zeros((SIDE * height, SIDE * width, 3), np.float32)
    for each in told:
        part = each.down @ cells[..., each.channel] @ each.across.T
        looks[..., each.channel] += rows @ part @ columns.T if each.wide else part
    return looks
