"""The eye's filters on cells: what one bead adds to each sample and cell around it.

A cell is sampled 3 x 3. A bead's own cell and its 8 neighbours get its exact share at every sample
(`near`); cells further off get one value each (`ring`), as only smooth filters reach there. The
picture is mirrored at the plate's border, as in the look error.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product
from math import ceil, erf, sqrt

import numpy as np
from numpy.typing import NDArray

from img2plate.colour.look_error import PARAMETERS, Filters, View

SIDE = 3
"""Samples along a cell's side."""
SAMPLES = SIDE * SIDE
_RING_SPREADS = 2.2
"""The ring reaches so many standard deviations; what lies beyond is brought in between sweeps."""
_LONGEST_RING = 15
_WIDEST_IN_RING = 6.0
"""Gaussians wider than so many cells are left to the time between sweeps altogether."""


@dataclass(frozen=True, eq=False)
class CellFilters:
    """Filters in units of cells; each channel's weights sum to 1."""

    near: NDArray[np.float32]
    """(4, 4, 3, 9, 9): what a bead adds to the samples of the 9 cells around, for each channel.

    The first two axes say whether the bead lies at the low (1) or high (2) edge of rows, columns.
    """
    ring: NDArray[np.float32]
    """(3, 2 r + 1, 2 r + 1): what it adds to cells further off; 0 in the middle 3 x 3."""
    gaussians: Filters
    """(weight, standard deviation in cells) for each channel."""

    @property
    def reach(self) -> int:
        """How many cells the ring reaches."""
        return int(self.ring.shape[1] // 2)


def cell_filters(view: View, parameters: str = "published-1996") -> CellFilters:
    """Bring the filters of S-CIELAB to a view's cells."""
    gaussians = tuple(
        tuple((weight / sum(w for w, _ in channel), spread / view.cell_degrees)
              for weight, spread in channel)
        for channel in PARAMETERS[parameters]
    )  # fmt: skip
    in_ring = [s for channel in gaussians for _, s in channel if s < _WIDEST_IN_RING]
    reach = min(_LONGEST_RING, max(2, ceil(_RING_SPREADS * max(in_ring, default=1))))
    return CellFilters(_near(gaussians), _ring(gaussians, reach), gaussians)


def far_layer(planes: NDArray[np.float32], filters: CellFilters) -> NDArray[np.float32]:
    """(3, h, w) what all beads but those of the 3 x 3 around add to each cell.

    planes: (3, h, w) opponent channels of the beads.
    """
    import cv2

    layers = np.zeros_like(planes)
    for layer, plane, channel in zip(layers, planes, filters.gaussians, strict=True):
        for weight, spread in channel:
            whole = _profile(spread, ceil(4 * spread) + 1)
            middle = whole[len(whole) // 2 - 1 :][:3]
            for kernel, sign in ((whole, weight), (middle, -weight)):
                added = cv2.sepFilter2D(plane, -1, kernel, kernel, borderType=cv2.BORDER_REFLECT)
                layer += np.float32(sign) * added
    return layers


def _near(gaussians: Filters) -> NDArray[np.float32]:
    """Shares at the samples of the 3 x 3 cells around, for each kind of edge."""
    at = (np.arange(3 * SIDE) + 0.5) / SIDE - 1.5
    near = np.zeros((4, 4, 3, 9, SAMPLES))
    for channel, terms in enumerate(gaussians):
        for weight, spread in terms:
            alone, above, below = (_share(at + shift, spread) for shift in (0, 1, -1))
            axis = [alone, alone + above, alone + below, alone + above + below]
            for y, x in product(range(4), repeat=2):
                cells = np.outer(axis[y], axis[x]).reshape(3, SIDE, 3, SIDE).transpose(0, 2, 1, 3)
                near[y, x, channel] += weight * cells.reshape(9, SAMPLES)
    return near.astype(np.float32)


def _ring(gaussians: Filters, reach: int) -> NDArray[np.float32]:
    """Shares of the cells further off."""
    ring = np.zeros((3, 2 * reach + 1, 2 * reach + 1))
    for channel, terms in enumerate(gaussians):
        for weight, spread in terms:
            if spread < _WIDEST_IN_RING:
                profile = _profile(spread, reach)
                ring[channel] += weight * np.outer(profile, profile)
    ring[:, reach - 1 : reach + 2, reach - 1 : reach + 2] = 0
    return ring.astype(np.float32)


def _profile(spread: float, reach: int) -> NDArray[np.float64]:
    """Mean share of each cell in a row of 2 reach + 1, the bead in the middle."""
    inside = (np.arange(SIDE) + 0.5) / SIDE - 0.5
    cells = np.arange(-reach, reach + 1)
    return np.asarray(_share(cells[:, None] + inside, spread).mean(axis=1))


def _share(at: NDArray[np.float64], spread: float) -> NDArray[np.float64]:
    """A box of one cell, blurred by a Gaussian, at distances from its middle."""
    scale = spread * sqrt(2)
    box = [(erf((u + 0.5) / scale) - erf((u - 0.5) / scale)) / 2 for u in at.flat]
    return np.array(box, np.float64).reshape(at.shape)
