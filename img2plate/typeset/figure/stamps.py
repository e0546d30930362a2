"""Beads of a plate laid on a drawing's canvas, where the nearest pixel wins.

All faces of one kind are the same pixels, moved by whole pixels: so one stamp a kind is worked out,
with the depth of each of its pixels, and laid down for all beads at once. Plates that slope are
drawn in `turned.py`.
"""

from __future__ import annotations

from functools import cache

import numpy as np
from numpy.typing import NDArray

from img2plate.typeset.figure.slabs import DEPTHS, FAR, VIEW, Scale, Slab, Way

TOWARDS: tuple[Way, ...] = ((0, 1), (1, -1), (2, 1))
"""The three ways that visible faces look: right, front, top."""
TONES = {(0, 1): 0.70, (1, -1): 0.84, (2, 1): 1.0}
"""Light from the upper left: the top is seen in its true colour."""
_RIM, _HOLE = 0.86, 0.35
"""Tone of a bead's outline and of its hole."""


def lay(
    canvas: NDArray[np.uint64], width: int, slab: Slab, towards: Way, scale: Scale,
    origin: NDArray[np.int64],
) -> None:  # fmt: skip
    """Lay one kind of face of a slab down."""
    facing = slab.facing(towards)
    if not facing.any():
        return
    across, down, depths, tones = _stamp(slab.axis, towards, slab.share, slab.hole, scale)
    voxels = slab.voxels[facing]
    base = scale.project(voxels).astype(np.int64) - origin
    far = np.rint(voxels @ VIEW * DEPTHS).astype(np.int64)
    places = (base[:, 1, None] + down) * width + base[:, 0, None] + across
    keys = codes_of(slab, facing)[:, None] | tones
    keys |= (far[:, None] + depths + FAR).astype(np.uint64) << np.uint64(24)
    np.maximum.at(canvas, places.ravel(), keys.ravel())


def codes_of(slab: Slab, facing: NDArray[np.bool_]) -> NDArray[np.uint64]:
    """(n,) colours of some beads as pixels of the canvas have them, 24 bits under the depth.

    The tone, 0 to 255, is the last 8 of them; the one before says that it is faint.
    """
    code = (slab.colours[facing].astype(np.uint64) + np.uint64(1)) << np.uint64(9)
    return code | np.uint64(256 * slab.is_faint)


@cache
def _stamp(
    normal: int, towards: Way, share: float, hole: float, scale: Scale
) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.int64], NDArray[np.uint64]]:
    """Pixels (right, down) of a face from its bead's place, their depths, and tones 0..255."""
    one = Slab(np.zeros((1, 3), np.int64), np.zeros(1, np.int16), normal, share, hole)
    low, spans = one.face(towards)
    start, steps = scale.project(low), scale.project(spans)
    reach = start + np.array([[0, 0], steps[0], steps[1], steps.sum(axis=0)])
    first, last = np.floor(reach.min(axis=0)), np.ceil(reach.max(axis=0))
    down, across = np.mgrid[first[1] : last[1], first[0] : last[0]]
    middles = np.stack([across, down], axis=-1) + 0.5 - start
    share_of = middles @ np.linalg.inv(steps)
    inside = ((share_of >= 0) & (share_of < 1)).all(axis=-1)
    parts = share_of[inside]
    depths = np.rint((low + parts @ spans) @ VIEW * DEPTHS).astype(np.int64)
    tones = face_tones(parts, hole if towards[0] == normal else 0.0, scale) * TONES[towards]
    return (
        across[inside].astype(np.int64), down[inside].astype(np.int64), depths,
        np.rint(tones * 255).astype(np.uint64),
    )  # fmt: skip


def face_tones(parts: NDArray[np.float64], hole: float, scale: Scale) -> NDArray[np.float64]:
    """Tone of each place (n, 2) of a face, 0..1 both ways: its outline and its hole are darker."""
    line = min(0.12, 1.0 / scale.b)
    near = np.minimum(parts, 1 - parts).min(axis=1)
    tones = np.where(near < line, _RIM, 1.0)
    middle = np.hypot(parts[:, 0] - 0.5, parts[:, 1] - 0.5)
    return np.where(middle < hole / 2, _HOLE, tones)
