"""Small pictures of single beads, stamped into pictures of whole plates.

All beads of one colour look alike, so each colour is drawn once and looked up per cell: a plate of
a million cells costs one array look-up.

What is seen through a hole lies in shadow. A bead that hardly differs from the ground has a rim.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from img2plate.base.arrays import Cells
from img2plate.colour.palette import Palette
from img2plate.colour.spaces import hex2srgb, linear2bytes, srgb2linear
from img2plate.typeset.ground import PLAIN, off_ground
from img2plate.typeset.look import GROUND

_FINER = 4
"""Samples along a pixel's side, so that round edges are smooth."""
_PEG_SHARE = 0.7
"""Diameter of a peg, as a share of the hole that it fits; by eye."""
_SHADOW, _REFLECTED = 0.2, 0.45
"""Light on the ground below a hole, as a share of that on open ground; by eye. A hole in a pressed
plate is deeper than it is wide; a white bead reflects some light into it."""
_RIM = 0.05
"""Width of a rim, as a share of the cell."""
_RIM_LIGHT = 0.62
"""Light of a rim beside that of its light bead; rims of dark beads are as much lighter."""


def loose(palette: Palette, pixels: int, ground: str = GROUND) -> NDArray[np.uint8]:
    """(n + 1, pixels, pixels, 3) uint8: each colour as a loose bead, then a bare peg."""
    distance, light = _polar(pixels)
    size, pitch = palette.bead_size, palette.pitch_mm
    outer, hole = size.outer_mm / pitch / 2, size.hole_mm / pitch / 2
    peg = hole * _PEG_SHARE
    ring = (distance <= outer) & (distance >= hole)
    # The ring's cross-section is half round: its slope follows the distance from its middle.
    slope = np.clip((distance - (outer + hole) / 2) / ((outer - hole) / 2), -1, 1)
    tone = 0.94 + 0.28 * slope * light
    board = _board(distance, light, peg, ground)
    below, rim = (distance < hole) & (distance > peg), ring & (distance >= outer - _RIM)
    return _stamps(palette, _Shape(ring, tone, below, rim, board), ground)


def pressed(
    palette: Palette, pixels: int, thickness_mm: float, ground: str = GROUND
) -> NDArray[np.uint8]:
    """(2 n + 1, pixels, pixels, 3) uint8: each colour pressed to a thickness, with free corners;
    then each among others, where corners are holes too; then bare ground. See `stamp_pressed`."""
    distance, _ = _polar(pixels)
    pitch = palette.pitch_mm
    shape = palette.bead_size.pressed(pitch, thickness_mm)
    inside = _inside_round_square(pixels, shape.corner_mm / pitch)
    body = inside & (distance >= shape.hole_mm / pitch / 2)
    tone = 1.0 - 0.06 * np.clip((distance - 0.36) / 0.14, 0, 1) ** 2
    bare = np.broadcast_to(_linear(ground), (*distance.shape, 3))
    rim = body & ~_inside_round_square(pixels, shape.corner_mm / pitch, 0.5 - _RIM)
    free, among = (
        _stamps(palette, _Shape(body, tone, below, rim, bare), ground)
        for below in (inside & ~body, ~body)
    )
    return np.concatenate([free[:-1], among])


def stamp(cells: Cells, stamps: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """(h, w) cells to a (h * pixels, w * pixels, 3) picture; the last stamp is an empty cell."""
    height, width = cells.shape
    pixels = stamps.shape[1]
    out = np.empty((height, pixels, width, pixels, 3), dtype=np.uint8)
    for row in range(pixels):  # a row of the stamp at a time: no second copy of the picture
        out[:, row] = stamps[:, row][cells]
    return out.reshape(height * pixels, width * pixels, 3)


def stamp_pressed(cells: Cells, stamps: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """As `stamp`, with the stamps of `pressed`: beads with beads all round have other corners."""
    filled = np.pad(cells >= 0, 1)
    height, width = cells.shape
    among = np.ones(cells.shape, np.bool_)
    for down in range(3):
        for right in range(3):
            among &= filled[down : down + height, right : right + width]
    return stamp(np.where(among, cells + len(stamps) // 2, cells).astype(np.int16), stamps)


def _polar(pixels: int) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Distance from the middle in cells, and how far each sample faces the upper left, -1..1."""
    at = (np.arange(pixels * _FINER) + 0.5) / (pixels * _FINER) - 0.5
    x, y = np.meshgrid(at, at)
    distance = np.hypot(x, y)
    return distance, -(x + y) / (np.sqrt(2) * np.maximum(distance, 1e-9))


def _inside_round_square(pixels: int, corner: float, half: float = 0.5) -> NDArray[np.bool_]:
    """Where a square of half a side and a corner radius (in cells) is; a whole cell if not told."""
    at = np.abs((np.arange(pixels * _FINER) + 0.5) / (pixels * _FINER) - 0.5)
    x, y = np.meshgrid(at, at)
    corner = min(corner, half)
    off = np.hypot(np.maximum(x - (half - corner), 0), np.maximum(y - (half - corner), 0))
    return np.asarray(off <= max(corner, 1e-9))


def _board(
    distance: NDArray[np.float64], light: NDArray[np.float64], peg: float, ground: str
) -> NDArray[np.float64]:
    """(s, s, 3) linear light of the bare board with a peg."""
    tone = np.where(distance <= peg, 0.98 + 0.12 * light * distance / max(peg, 1e-9), 0.86)
    return _linear(ground) * tone[..., None]


class _Shape(NamedTuple):
    """A bead in its cell, in samples (s, s)."""

    body: NDArray[np.bool_]
    tone: NDArray[np.float64]
    """Light on the body."""
    below: NDArray[np.bool_]
    """Where the ground lies in shadow."""
    rim: NDArray[np.bool_]
    """Part of the body that is darker where a bead hardly differs from the ground, or lighter if
    the bead is dark."""
    ground: NDArray[np.float64]
    """(s, s, 3) linear light of an empty cell."""


def _stamps(palette: Palette, shape: _Shape, ground: str) -> NDArray[np.uint8]:
    """Draw each colour in a shape over the ground, then the ground alone; average to pixels."""
    pixels = shape.body.shape[0] // _FINER

    def averaged(fine: NDArray[Any]) -> NDArray[np.float64]:
        parts = fine.reshape(pixels, _FINER, pixels, _FINER, -1)
        return np.asarray(parts.mean(axis=(1, 3)), dtype=np.float64)

    # Light adds up, so it is averaged before the colours come in: once, not for each.
    beads = np.asarray(palette.linear, dtype=np.float64)[:, None, None, :]
    shadow = _SHADOW + _REFLECTED * beads.mean(axis=3, keepdims=True)
    bare = ~(shape.body | shape.below)
    drawn = beads * averaged(np.where(shape.body, shape.tone, 0.0))
    drawn = drawn + averaged(bare[..., None] * shape.ground)
    drawn += shadow * averaged(shape.below[..., None] * shape.ground)
    drawn += _rims(palette, ground) * averaged(shape.rim)
    # White plastic has no lighter white: what is over 1 is clipped by the encoding.
    return linear2bytes(np.concatenate([drawn, averaged(shape.ground)[None]]).clip(0, 1))


def _rims(palette: Palette, ground: str) -> NDArray[np.float64]:
    """(n, 1, 1, 3) linear light that a rim adds to each colour, below 0 where it takes some."""
    near = np.clip(1.5 - off_ground(palette, ground) / PLAIN, 0, 1)
    linear = np.asarray(palette.linear, dtype=np.float64)
    is_light = palette.lab[:, :1] > 50
    rim = np.where(is_light, linear * _RIM_LIGHT, linear + (1 - _RIM_LIGHT) * 0.3)
    return ((rim - linear) * near[:, None])[:, None, None]


def _linear(colour: str) -> NDArray[np.float64]:
    """Linear light of `#rrggbb`."""
    return np.asarray(srgb2linear(np.array(hex2srgb(colour)) / 255), dtype=np.float64)
