"""The loop behind `tones`, compiled."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from img2plate.base.compiled import compiled, compiled_parallel, prange

_BLOCK = 1024


@compiled_parallel
def draw_inside(
    colours: NDArray[np.float64],
    shares: NDArray[np.float64],
    dark: NDArray[np.float64],
    bright: NDArray[np.float64],
    planes: NDArray[np.float64],
) -> NDArray[np.float64]:
    """Draw colours (n, 3) that lie beyond a plane towards points inside.

    Each has its own point, `shares` (n) of the way from `dark` to `bright`; planes: (4, m) outward
    normals and offsets.
    """
    drawn = np.empty_like(colours)
    at_dark = dark[0] * planes[0] + dark[1] * planes[1] + dark[2] * planes[2] + planes[3]
    line = bright - dark
    along = line[0] * planes[0] + line[1] * planes[1] + line[2] * planes[2]
    for block in prange((len(colours) + _BLOCK - 1) // _BLOCK):
        begin, end = block * _BLOCK, min(len(colours), (block + 1) * _BLOCK)
        outside = _farthest_out(colours[begin:end], planes)
        for i in range(begin, end):
            if outside[i - begin] <= 0:
                drawn[i] = colours[i]
                continue
            share = shares[i]
            kept = _reach(colours[i], share, at_dark, along, planes)
            for c in range(3):
                inside = dark[c] + share * line[c]
                drawn[i, c] = inside + kept * (colours[i, c] - inside)
    return drawn


@compiled
def _farthest_out(colours: NDArray[np.float64], planes: NDArray[np.float64]) -> NDArray[np.float64]:
    """How far each colour lies beyond the planes, at most: for several colours at once."""
    red, green, blue = colours[:, 0].copy(), colours[:, 1].copy(), colours[:, 2].copy()
    most = np.full(len(colours), -np.inf)
    for k in range(planes.shape[1]):
        n0, n1, n2, offset = planes[0, k], planes[1, k], planes[2, k], planes[3, k]
        for i in range(len(most)):
            beyond = red[i] * n0 + green[i] * n1 + blue[i] * n2 + offset
            most[i] = beyond if beyond > most[i] else most[i]
    return most


@compiled
def _reach(
    colour: NDArray[np.float64],
    share: float,
    at_dark: NDArray[np.float64],
    along: NDArray[np.float64],
    planes: NDArray[np.float64],
) -> float:
    """Share 0..1 of the way to the colour that stays within all planes."""
    red, green, blue = colour
    reach = 1.0
    for k in range(planes.shape[1]):
        beyond = red * planes[0, k] + green * planes[1, k] + blue * planes[2, k] + planes[3, k]
        if beyond > 0:
            room = max(-(at_dark[k] + share * along[k]), 0.0)
            reach = min(reach, room / (room + beyond))
    return reach
