"""Threshold masks for ordered dithering: which cells of a tile turn first.

Sources
    B. E. Bayer, "An Optimum Method for Two-Level Rendition of Continuous Tone Pictures", IEEE
        International Conference on Communications, 26-11 to 26-15, 1973.
    R. Ulichney, "The void-and-cluster method for dither array generation", Proc. SPIE 1913,
        332-343, 1993.
"""

from __future__ import annotations

from functools import cache

import numpy as np
from numpy.typing import NDArray

BAYER_SIDE = 8
BLUE_NOISE_SIDE = 64
SPREAD = 1.5
"""Standard deviation of the Gaussian that finds voids and clusters, in cells."""
_FIRST_SHARE = 0.1
"""Share of the cells that the first pattern sets."""


@cache
def bayer(side: int = BAYER_SIDE) -> NDArray[np.int32]:
    """(side, side) ranks 0 .. side^2 - 1; side is a power of 2."""
    ranks = np.zeros((1, 1), np.int32)
    while len(ranks) < side:
        ranks = np.block([[4 * ranks, 4 * ranks + 2], [4 * ranks + 3, 4 * ranks + 1]])
    return ranks


@cache
def blue_noise(side: int = BLUE_NOISE_SIDE, seed: int = 0) -> NDArray[np.int32]:
    """(side, side) ranks by void and cluster, on a torus; made once a process and seed."""
    from img2plate.plate.shade.masks_loops import rank_cells

    first = np.zeros(side * side, np.bool_)
    chosen = np.random.default_rng(seed).permutation(side * side)
    first[chosen[: max(1, round(_FIRST_SHARE * side * side))]] = True
    return np.asarray(rank_cells(first.reshape(side, side), _wrapped_gaussian(side)))


def thresholds(ranks: NDArray[np.int32], shape: tuple[int, int]) -> NDArray[np.float32]:
    """Thresholds over a plate (h, w), in the middle of their steps from 0 to 1."""
    side = len(ranks)
    tiles = (-(-shape[0] // side), -(-shape[1] // side))
    return np.tile((ranks + np.float32(0.5)) / side**2, tiles)[: shape[0], : shape[1]].astype(
        np.float32
    )


def _wrapped_gaussian(side: int) -> NDArray[np.float64]:
    """(side, side) Gaussian around cell 0, 0 of a torus."""
    away = np.minimum(np.arange(side), side - np.arange(side))
    profile = np.exp(-(away**2) / (2 * SPREAD**2))
    return np.outer(profile, profile)
