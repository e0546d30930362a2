"""The eye's filters on cells: what one bead adds to each sample and cell around it.

A bead's own cell and its 8 neighbours get its exact share at every sample (`near`); cells further
off get one value each (`ring`), as only smooth filters reach there. The picture is mirrored at the
plate's border, as in the look error.

FLIP's filters: P. Andersson and others, "FLIP: a difference evaluator for alternating images",
Proc. ACM Comput. Graph. Interact. Tech. 3(2), 2020, table 1. They are narrow, as are those of
S-CIELAB from near: there nothing but `near` is kept, with shares made to sum to 1.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product
from math import ceil, erf, inf, pi, sqrt

import numpy as np
from numpy.typing import NDArray

from img2plate.colour.look_error import (
    OPPONENT2XYZ,
    PARAMETERS,
    RGB2OPPONENT,
    Filters,
    View,
)
from img2plate.colour.spaces import RGB2XYZ, WHITE_XYZ
from img2plate.plate.shade.looks import FLIP, Sight

_RING_SPREADS = 2.2
"""The ring reaches so many standard deviations; what lies beyond is brought in between sweeps."""
_LONGEST_RING = 12
_WIDEST_NEAR = 1.0
"""Without a ring, Gaussians wider than so many cells are left out."""
_WIDEST_IN_RING = 5.2
"""Gaussians wider than so many cells are left to the time between sweeps altogether."""
_XYZ2YCXCZ = np.array([[0.0, 1.0, 0.0], [1.0, -1.0, 0.0], [0.0, 1.0, -1.0]])
"""FLIP's YCxCz without its scales, which a filter does not feel."""
_FLIP_TERMS = (((1.0, 0.0047),), ((1.0, 0.0053),), ((34.1, 0.04), (13.5, 0.025)))
"""For each channel a and b of a exp(-b f^2 ...): weight a sqrt(pi / b), see `_flip_filters`."""


def _flip_filters() -> Filters:
    """Weight and standard deviation (degrees): g(x) = a sqrt(pi/b) exp(-pi^2 x^2 / b)."""
    return tuple(
        tuple((a * sqrt(pi / b) * b, sqrt(b / 2) / pi) for a, b in channel)
        for channel in _FLIP_TERMS
    )


@dataclass(frozen=True, eq=False)
class Space:
    """The channels that a meter filters."""

    from_rgb: NDArray[np.float64]
    """(3, 3) from linear light."""
    to_xyz: NDArray[np.float64]
    """(3, 3) to XYZ over white."""
    filters: Filters
    """(weight, standard deviation in degrees) for each channel."""


def space_of(meter: str) -> Space:
    """Channels and filters of a meter."""
    if meter == FLIP:
        from_rgb = _XYZ2YCXCZ @ (RGB2XYZ / WHITE_XYZ[:, None])
        return Space(from_rgb, np.linalg.inv(_XYZ2YCXCZ), _flip_filters())
    to_xyz = OPPONENT2XYZ / WHITE_XYZ[:, None]
    return Space(RGB2OPPONENT, to_xyz, PARAMETERS["published-1996"])


@dataclass(frozen=True, eq=False)
class CellFilters:
    """Filters in units of cells; each channel's weights sum to 1."""

    near: NDArray[np.float32]
    """(4, 4, 3, 9, n): what a bead adds to the n samples of the 9 cells around, for each channel.

    The first two axes say whether the bead lies at the low (1) or high (2) edge of rows, columns.
    """
    ring: NDArray[np.float32]
    """(3, 2 r + 1, 2 r + 1): what it adds to cells further off; 0 in the middle 3 x 3."""
    gaussians: Filters
    """(weight, standard deviation in cells) for each channel."""
    side: int
    """Samples along a cell's side."""

    @property
    def reach(self) -> int:
        """How many cells the ring reaches; 0 without one."""
        return int(self.ring.shape[1] // 2)


def terms_of(sight: Sight, pitch_mm: float) -> Filters:
    """(weight, standard deviation in degrees) for each channel of a view; weights sum to 1.

    Without a ring what is much wider than a cell is left out, of the picture as of the plate.
    """
    widest = inf if sight.has_ring else _WIDEST_NEAR * View(sight.metres, pitch_mm).cell_degrees
    kept = [[(w, s) for w, s in channel if s <= widest] or channel[:1]
            for channel in space_of(sight.meter).filters]  # fmt: skip
    return tuple(
        tuple((weight / sum(w for w, _ in channel), spread) for weight, spread in channel)
        for channel in kept
    )


def cell_filters(sight: Sight, pitch_mm: float) -> CellFilters:
    """Bring the filters of a view's meter to its cells."""
    degrees, side = View(sight.metres, pitch_mm).cell_degrees, sight.side
    gaussians = tuple(
        tuple((weight, spread / degrees) for weight, spread in channel)
        for channel in terms_of(sight, pitch_mm)
    )
    near = _near(gaussians, side)
    if not sight.has_ring:
        near /= near[0, 0].sum(axis=1, keepdims=True)
        return CellFilters(near, np.zeros((3, 1, 1), np.float32), gaussians, side)
    in_ring = [s for channel in gaussians for w, s in channel if w > 0 and s < _WIDEST_IN_RING]
    reach = min(_LONGEST_RING, max(2, ceil(_RING_SPREADS * max(in_ring, default=1))))
    return CellFilters(near, _ring(gaussians, reach, side), gaussians, side)


def far_layer(planes: NDArray[np.float32], filters: CellFilters) -> NDArray[np.float32]:
    """(3, h, w) what all beads but those of the 3 x 3 around add to each cell.

    planes: (3, h, w) channels of the beads.
    """
    import cv2

    layers = np.zeros_like(planes)
    for layer, plane, channel in zip(layers, planes, filters.gaussians, strict=True):
        for weight, spread in channel:
            # Beyond the plate's own size a mirrored picture is flat.
            reach = ceil(min(4 * spread, 3 * max(plane.shape))) + 1
            whole = _profile(spread, reach, filters.side)
            middle = whole[len(whole) // 2 - 1 :][:3]
            whole /= whole.sum()
            for kernel, sign in ((whole, weight), (middle, -weight)):
                added = cv2.sepFilter2D(plane, -1, kernel, kernel, borderType=cv2.BORDER_REFLECT)
                layer += np.float32(sign) * added
    return layers


def _near(gaussians: Filters, side: int) -> NDArray[np.float32]:
    """Shares at the samples of the 3 x 3 cells around, for each kind of edge."""
    at = (np.arange(3 * side) + 0.5) / side - 1.5
    near = np.zeros((4, 4, 3, 9, side * side))
    for channel, terms in enumerate(gaussians):
        for weight, spread in terms:
            alone, above, below = (_share(at + shift, spread) for shift in (0, 1, -1))
            axis = [alone, alone + above, alone + below, alone + above + below]
            for y, x in product(range(4), repeat=2):
                cells = np.outer(axis[y], axis[x]).reshape(3, side, 3, side).transpose(0, 2, 1, 3)
                near[y, x, channel] += weight * cells.reshape(9, side * side)
    return near.astype(np.float32)


def _ring(gaussians: Filters, reach: int, side: int) -> NDArray[np.float32]:
    """Shares of the cells further off."""
    ring = np.zeros((3, 2 * reach + 1, 2 * reach + 1))
    for channel, terms in enumerate(gaussians):
        for weight, spread in terms:
            if weight > 0 and spread < _WIDEST_IN_RING:
                profile = _profile(spread, reach, side)
                ring[channel] += weight * np.outer(profile, profile)
    ring[:, reach - 1 : reach + 2, reach - 1 : reach + 2] = 0
    return ring.astype(np.float32)


def _profile(spread: float, reach: int, side: int) -> NDArray[np.float64]:
    """Mean share of each cell in a row of 2 reach + 1, the bead in the middle."""
    inside = (np.arange(side) + 0.5) / side - 0.5
    cells = np.arange(-reach, reach + 1)
    return np.asarray(_share(cells[:, None] + inside, spread).mean(axis=1))


def _share(at: NDArray[np.float64], spread: float) -> NDArray[np.float64]:
    """A box of one cell, blurred by a Gaussian, at distances from its middle."""
    scale = spread * sqrt(2)
    box = [(erf((u + 0.5) / scale) - erf((u - 0.5) / scale)) / 2 for u in at.flat]
    return np.array(box, np.float64).reshape(at.shape)
