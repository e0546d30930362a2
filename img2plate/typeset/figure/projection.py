"""Plates in space as a picture: parallel projection, hidden surfaces by depth, colours true.

Seen from the front, the right and above: 45 degrees round, 30 degrees up. Of a place (x, y, z)

    right on paper  (x + y) a        down on paper  (x - y) b - z h

with a : b : h = 2 : 1 : sqrt 6, which is that view to scale (h is rounded to whole pixels). Each
plate is a slab of its true thickness, its beads' broad faces with a hole, its rims plain.

All faces of one kind are the same pixels, moved by whole pixels: so one stamp a kind is worked out,
with the depth of each of its pixels, and laid down for all beads at once; the nearest pixel wins.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from math import cos, pi, sin, sqrt
from typing import Any

import numpy as np
from numpy.typing import NDArray

from img2plate.colour.palette import Palette
from img2plate.colour.spaces import hex2srgb, linear2bytes, srgb2linear
from img2plate.typeset.figure.edge_lines import LINE, ends_of
from img2plate.typeset.look import GROUND

FINER = 2
"""Drawn so many times larger and averaged, so that edges are smooth."""
_UP = pi / 6
VIEW = np.array([cos(_UP) / sqrt(2), -cos(_UP) / sqrt(2), sin(_UP)])
"""Towards the viewer; how far along it a point lies is its depth."""
_TOWARDS = ((0, 1), (1, -1), (2, 1))
"""The three ways that visible faces look: right, front, top."""
_TONES = {0: 0.70, 1: 0.84, 2: 1.0}
"""Light from the upper left: the top is seen in its true colour."""
_RIM, _HOLE = 0.86, 0.35
"""Tone of a bead's outline and of its hole."""
FAINT = 0.4
"""How much of a faint plate's colour is left over the ground."""
_DEPTHS = 1 << 12
"""Steps of depth in a bead."""
_LEVELS = (1 << 15) - 1
"""Steps of linear light between black and white when pictures are encoded."""
_FAR = 1 << 38
"""Added, so that depths of all beads are over 0."""


@dataclass(frozen=True, eq=False)
class Slab:
    """A plate in space."""

    voxels: NDArray[np.int64]
    """(n, 3) places of its beads."""
    colours: NDArray[np.int16]
    """(n,) palette indices."""
    axis: int
    share: float
    """Thickness over pitch."""
    hole: float
    """Hole over pitch."""
    is_faint: bool = False


@dataclass(frozen=True)
class Scale:
    """Pixels of one bead, before averaging."""

    b: int

    @property
    def a(self) -> int:
        """Right on paper for a step along x or y."""
        return 2 * self.b

    @property
    def h(self) -> int:
        """Up on paper for a step along z."""
        return round(sqrt(6) * self.b)

    def project(self, points: NDArray[Any]) -> NDArray[Any]:
        """(..., 3) places to (..., 2) pixels right and down."""
        x, y, z = points[..., 0], points[..., 1], points[..., 2]
        return np.stack([(x + y) * self.a, (x - y) * self.b - z * self.h], axis=-1)


@dataclass(frozen=True, eq=False)
class Drawing:
    """A picture, and how to find a place in it."""

    pixels: NDArray[np.uint8]
    """(h, w, 3) sRGB."""
    scale: Scale
    origin: NDArray[np.int64]
    """Fine pixel of the picture's upper left corner."""
    near: NDArray[np.uint64]
    """(fine h, fine w) depth of what is seen at each fine pixel, 0 where nothing is."""

    def at(self, point: Sequence[float]) -> tuple[float, float]:
        """Pixel, right and down, of a place in space."""
        fine = self.scale.project(np.asarray(point, dtype=np.float64)) - self.origin
        return float(fine[0]) / FINER, float(fine[1]) / FINER

    def sees(self, points: NDArray[Any]) -> NDArray[np.bool_]:
        """(n,) whether beads with these middles (n, 3) are the nearest where they lie."""
        fine = self.scale.project(points).astype(np.int64) - self.origin
        depths = np.rint((points @ VIEW + 0.9) * _DEPTHS).astype(np.int64) + _FAR
        return np.asarray(self.near[fine[:, 1], fine[:, 0]].astype(np.int64) <= depths)


def scale_for(slabs: Sequence[Slab], most: int) -> Scale:
    """Largest scale at which the picture is at most so many pixels on its longer side."""
    low, high = _span(slabs, Scale(1))
    units = float((high - low).max())
    return Scale(int(max(2, min(16, most * FINER / max(units, 1.0)))))


def draw(slabs: Sequence[Slab], palette: Palette, scale: Scale, *, margin: int = 24) -> Drawing:
    """Draw slabs on the neutral ground; `margin` in pixels."""
    low, high = _span(slabs, scale)
    low -= margin * FINER
    size = high + margin * FINER - low
    size += -size % FINER
    canvas = np.zeros(int(size[0] * size[1]), dtype=np.uint64)
    for slab in slabs:
        for towards in _TOWARDS:
            _lay(canvas, int(size[0]), slab, towards, scale, low)
    seen = canvas.reshape(size[1], size[0])
    near = seen >> np.uint64(24)
    return Drawing(_develop(seen, ends_of(near, _DEPTHS), palette), scale, low, near)


def _span(slabs: Sequence[Slab], scale: Scale) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """First and last fine pixel, right and down, that any bead can reach."""
    corners = np.array([[x, y, z] for x in (0, 1) for y in (0, 1) for z in (0, 1)])
    lows, highs = [], []
    for slab in slabs:
        box = np.stack([slab.voxels.min(axis=0), slab.voxels.max(axis=0) + 1]).astype(float)
        points = scale.project(box[corners, [0, 1, 2]])
        lows.append(points.min(axis=0))
        highs.append(points.max(axis=0))
    low, high = np.floor(np.min(lows, axis=0)), np.ceil(np.max(highs, axis=0))
    return low.astype(np.int64), high.astype(np.int64)


def _lay(
    canvas: NDArray[np.uint64], width: int, slab: Slab, towards: tuple[int, int], scale: Scale,
    origin: NDArray[np.int64],
) -> None:  # fmt: skip
    """Lay one kind of face of a slab down; a pixel's depth, colour and tone are one number."""
    facing = _facing(slab, towards)
    if not facing.any():
        return
    across, down, depths, tones = _stamp(slab.axis, towards, slab.share, slab.hole, scale)
    voxels = slab.voxels[facing]
    base = scale.project(voxels).astype(np.int64) - origin
    far = np.rint(voxels @ VIEW * _DEPTHS).astype(np.int64)
    places = (base[:, 1, None] + down) * width + base[:, 0, None] + across
    keys = (far[:, None] + depths + _FAR).astype(np.uint64) << np.uint64(24)
    code = (slab.colours[facing].astype(np.uint64) + np.uint64(1)) << np.uint64(9)
    code |= np.uint64(256 * slab.is_faint)
    keys |= code[:, None] | tones
    np.maximum.at(canvas, places.ravel(), keys.ravel())


def _facing(slab: Slab, towards: tuple[int, int]) -> NDArray[np.bool_]:
    """(n,) beads whose face to that side is not covered by a bead of the same plate."""
    axis, step = towards
    if axis == slab.axis:
        return np.ones(len(slab.voxels), dtype=bool)
    low = slab.voxels.min(axis=0) - 1
    shape = slab.voxels.max(axis=0) - low + 2
    taken = np.zeros(shape, dtype=bool)
    inside = slab.voxels - low
    taken[tuple(inside.T)] = True
    inside[:, axis] += step
    return ~np.asarray(taken[tuple(inside.T)])


@cache
def _stamp(
    normal: int, towards: tuple[int, int], share: float, hole: float, scale: Scale
) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.int64], NDArray[np.uint64]]:
    """Pixels (right, down) of a face from its bead's place, their depths, and tones 0..255."""
    axis, step = towards
    low, high = np.zeros(3), np.ones(3)
    low[normal], high[normal] = (1 - share) / 2, (1 + share) / 2
    low[axis] = high[axis] = high[axis] if step > 0 else low[axis]
    ways = [a for a in range(3) if a != axis]
    spans = np.zeros((2, 3))
    spans[[0, 1], ways] = (high - low)[ways]
    start, steps = scale.project(low), scale.project(spans)
    reach = start + np.array([[0, 0], steps[0], steps[1], steps.sum(axis=0)])
    first, last = np.floor(reach.min(axis=0)), np.ceil(reach.max(axis=0))
    down, across = np.mgrid[first[1] : last[1], first[0] : last[0]]
    middles = np.stack([across, down], axis=-1) + 0.5 - start
    share_of = middles @ np.linalg.inv(steps)
    inside = ((share_of >= 0) & (share_of < 1)).all(axis=-1)
    parts = share_of[inside]
    depths = np.rint((low + parts @ spans) @ VIEW * _DEPTHS).astype(np.int64)
    tones = _tones(parts, hole if axis == normal else 0.0, scale) * _TONES[axis]
    return (
        across[inside].astype(np.int64), down[inside].astype(np.int64), depths,
        np.rint(tones * 255).astype(np.uint64),
    )  # fmt: skip


def _tones(parts: NDArray[np.float64], hole: float, scale: Scale) -> NDArray[np.float64]:
    """Tone of each place (n, 2) of a face, 0..1 both ways: its outline and its hole are darker."""
    line = min(0.12, 1.0 / scale.b)
    near = np.minimum(parts, 1 - parts).min(axis=1)
    tones = np.where(near < line, _RIM, 1.0)
    middle = np.hypot(parts[:, 0] - 0.5, parts[:, 1] - 0.5)
    return np.where(middle < hole / 2, _HOLE, tones)


def _develop(
    canvas: NDArray[np.uint64], ends: NDArray[np.bool_], palette: Palette
) -> NDArray[np.uint8]:
    """From numbers to (h, w, 3) sRGB, averaged to the picture's pixels in linear light."""
    table = _light(palette)
    codes = (canvas & np.uint64((1 << 24) - 1)).astype(np.int32)
    faint = (codes & 256) > 0
    codes[ends] = len(table) - np.where(faint, 1, 2)[ends]
    light = table[codes[::FINER, ::FINER]]
    for down in range(FINER):
        for right in range(FINER):
            if down or right:
                light += table[codes[down::FINER, right::FINER]]
    light *= _LEVELS / FINER**2
    light += 0.5
    return _encoding()[light.astype(np.uint16)]


@cache
def _encoding() -> NDArray[np.uint8]:
    """(_LEVELS + 1,) sRGB byte of each level of linear light."""
    return linear2bytes(np.arange(_LEVELS + 1) / _LEVELS)


def _light(palette: Palette) -> NDArray[np.float32]:
    """(codes + 2, 3) linear light of each colour code of `_lay`, 0 the ground; then of lines."""
    ground = np.asarray(srgb2linear(np.array(hex2srgb(GROUND)) / 255))
    tones = np.arange(256)[:, None] / 255
    plain = np.vstack([ground[None], palette.linear])[:, None, None, :] * tones
    faint = FAINT * plain + (1 - FAINT) * ground
    table = np.concatenate([plain, faint], axis=1)
    table[0] = ground
    lines = np.stack([LINE, FAINT * LINE + (1 - FAINT) * ground])
    return np.vstack([table.reshape(-1, 3), lines]).astype(np.float32)
