"""Plates in space as a picture: parallel projection, hidden surfaces by depth, colours true.

Each plate is a slab of its true thickness, its beads' broad faces with a hole, its rims plain. What
is seen at a pixel, its depth, colour and tone, is one number: the largest is the nearest.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from img2plate.colour.palette import Palette
from img2plate.colour.spaces import hex2srgb, linear2bytes, srgb2linear
from img2plate.typeset.figure.edge_lines import LINE, ends_of
from img2plate.typeset.figure.slabs import DEPTHS, FAR, VIEW, Scale, Slab, alike
from img2plate.typeset.figure.stamps import TOWARDS, lay
from img2plate.typeset.figure.turned import lay_turned
from img2plate.typeset.look import GROUND

FINER = 2
"""Drawn so many times larger and averaged, so that edges are smooth."""
FAINT = 0.4
"""How much of a faint plate's colour is left over the ground."""
_LEVELS = (1 << 15) - 1
"""Steps of linear light between black and white when pictures are encoded."""


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
        depths = np.rint((points @ VIEW + 0.9) * DEPTHS).astype(np.int64) + FAR
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
    for slab in alike(slabs):
        if slab.turn is not None:
            lay_turned(canvas, int(size[0]), slab, scale, low)
            continue
        for towards in TOWARDS:
            lay(canvas, int(size[0]), slab, towards, scale, low)
    seen = canvas.reshape(size[1], size[0])
    near = seen >> np.uint64(24)
    return Drawing(_develop(seen, ends_of(near, DEPTHS), palette), scale, low, near)


def _span(slabs: Sequence[Slab], scale: Scale) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """First and last fine pixel, right and down, that any bead can reach."""
    points = scale.project(np.concatenate([slab.corners for slab in slabs]))
    low, high = np.floor(points.min(axis=0)), np.ceil(points.max(axis=0))
    return low.astype(np.int64), high.astype(np.int64)


def _develop(
    canvas: NDArray[np.uint64], ends: NDArray[np.bool_], palette: Palette
) -> NDArray[np.uint8]:
    """From numbers to (h, w, 3) sRGB, averaged to the picture's pixels in linear light."""
    table = _light(palette)
    codes = (canvas & np.uint64((1 << 24) - 1)).astype(np.intp)
    codes[ends] = len(table) - 2 + ((codes[ends] & 256) > 0)
    light = table.take(codes[::FINER, ::FINER], axis=0)
    for down in range(FINER):
        for right in range(FINER):
            if down or right:
                light += table.take(codes[down::FINER, right::FINER], axis=0)
    light *= _LEVELS / FINER**2
    light += 0.5
    return _encoding().take(light.astype(np.uint16))


@cache
def _encoding() -> NDArray[np.uint8]:
    """(_LEVELS + 1,) sRGB byte of each level of linear light."""
    return linear2bytes(np.arange(_LEVELS + 1) / _LEVELS)


def _light(palette: Palette) -> NDArray[np.float32]:
    """(codes + 2, 3) linear light of each code of a pixel, 0 the ground; then of lines."""
    ground = np.asarray(srgb2linear(np.array(hex2srgb(GROUND)) / 255))
    tones = np.arange(256)[:, None] / 255
    plain = np.vstack([ground[None], palette.linear])[:, None, None, :] * tones
    faint = FAINT * plain + (1 - FAINT) * ground
    table = np.concatenate([plain, faint], axis=1)
    table[0] = ground
    lines = np.stack([LINE, FAINT * LINE + (1 - FAINT) * ground])
    return np.vstack([table.reshape(-1, 3), lines]).astype(np.float32)
