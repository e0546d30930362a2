"""Small pictures of single beads, stamped into pictures of whole plates.

All beads of one colour look alike, so each colour is drawn once and looked up per cell: a plate of
a million cells costs one array look-up.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from img2plate.base.arrays import Cells
from img2plate.colour.palette import Palette
from img2plate.colour.spaces import hex2srgb, linear2bytes, srgb2linear
from img2plate.typeset.look import GROUND

_FINER = 4
"""Samples along a pixel's side, so that round edges are smooth."""
_PEG_SHARE = 0.7
"""Diameter of a peg, as a share of the hole that it fits; by eye."""


def loose(palette: Palette, pixels: int) -> NDArray[np.uint8]:
    """(n + 1, pixels, pixels, 3) uint8: each colour as a loose bead, then a bare peg."""
    distance, light = _polar(pixels)
    size, pitch = palette.bead_size, palette.pitch_mm
    outer, hole = size.outer_mm / pitch / 2, size.hole_mm / pitch / 2
    peg = hole * _PEG_SHARE
    ring = (distance <= outer) & (distance >= hole)
    # The ring's cross-section is half round: its slope follows the distance from its middle.
    slope = np.clip((distance - (outer + hole) / 2) / ((outer - hole) / 2), -1, 1)
    tone = 0.94 + 0.28 * slope * light
    board = _board(distance, light, peg)
    return _stamps(palette, ring, tone, board)


def pressed(palette: Palette, pixels: int, thickness_mm: float) -> NDArray[np.uint8]:
    """(n + 1, pixels, pixels, 3) uint8: each colour pressed to a thickness, then bare ground."""
    distance, _ = _polar(pixels)
    pitch = palette.pitch_mm
    shape = palette.bead_size.pressed(pitch, thickness_mm)
    inside = _inside_round_square(pixels, shape.corner_mm / pitch)
    body = inside & (distance >= shape.hole_mm / pitch / 2)
    rim = np.clip((distance - 0.36) / 0.14, 0, 1)
    tone = 1.0 - 0.06 * rim**2
    ground = np.broadcast_to(_linear(GROUND), (*distance.shape, 3))
    return _stamps(palette, body, tone, ground)


def stamp(cells: Cells, stamps: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """(h, w) cells to a (h * pixels, w * pixels, 3) picture; the last stamp is an empty cell."""
    height, width = cells.shape
    pixels = stamps.shape[1]
    out = np.empty((height, pixels, width, pixels, 3), dtype=np.uint8)
    for row in range(pixels):  # a row of the stamp at a time: no second copy of the picture
        out[:, row] = stamps[:, row][cells]
    return out.reshape(height * pixels, width * pixels, 3)


def _polar(pixels: int) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Distance from the middle in cells, and how far each sample faces the upper left, -1..1."""
    at = (np.arange(pixels * _FINER) + 0.5) / (pixels * _FINER) - 0.5
    x, y = np.meshgrid(at, at)
    distance = np.hypot(x, y)
    return distance, -(x + y) / (np.sqrt(2) * np.maximum(distance, 1e-9))


def _inside_round_square(pixels: int, corner: float) -> NDArray[np.bool_]:
    """Where a cell-wide square with corner radius `corner` (in cells) is."""
    at = np.abs((np.arange(pixels * _FINER) + 0.5) / (pixels * _FINER) - 0.5)
    x, y = np.meshgrid(at, at)
    off = np.hypot(np.maximum(x - (0.5 - corner), 0), np.maximum(y - (0.5 - corner), 0))
    return np.asarray(off <= max(corner, 1e-9))


def _board(
    distance: NDArray[np.float64], light: NDArray[np.float64], peg: float
) -> NDArray[np.float64]:
    """(s, s, 3) linear light of the bare board with a peg."""
    tone = np.where(distance <= peg, 0.98 + 0.12 * light * distance / max(peg, 1e-9), 0.86)
    return _linear(GROUND) * tone[..., None]


def _stamps(
    palette: Palette,
    body: NDArray[np.bool_],
    tone: NDArray[np.float64],
    behind: NDArray[np.float64],
) -> NDArray[np.uint8]:
    """Draw each colour where `body` is, lit by `tone`, over `behind`; average to pixels."""
    pixels = body.shape[0] // _FINER

    def averaged(fine: NDArray[np.float64]) -> NDArray[np.float64]:
        parts = fine.reshape(pixels, _FINER, pixels, _FINER, -1)
        return np.asarray(parts.mean(axis=(1, 3)), dtype=np.float64)

    # Light adds up, so it is averaged before the colours come in: once, not for each.
    lit = averaged(np.where(body, tone, 0.0))
    unlit = averaged(np.where(body[..., None], 0.0, behind))
    drawn = palette.linear[:, None, None, :] * lit + unlit
    # White plastic has no lighter white: what is over 1 is clipped by the encoding.
    return linear2bytes(np.concatenate([drawn, averaged(behind)[None]]))


def _linear(colour: str) -> NDArray[np.float64]:
    """Linear light of `#rrggbb`."""
    return np.asarray(srgb2linear(np.array(hex2srgb(colour)) / 255), dtype=np.float64)
