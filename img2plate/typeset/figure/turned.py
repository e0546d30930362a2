"""Plates that slope, laid on the canvas of a drawing beside those that stand on the lattice.

The faces of one kind of a plate are still one parallelogram, but each begins somewhere inside a
pixel: so for every face the pixels of a small window are turned back into places of that face.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from img2plate.typeset.figure.slabs import DEPTHS, FAR, VIEW, Scale, Slab, Way
from img2plate.typeset.figure.stamps import TONES, codes_of, face_tones

_WAYS: tuple[Way, ...] = tuple((axis, step) for axis in range(3) for step in (1, -1))
_EVERY_TONE = TONES | {(0, -1): 0.94, (1, 1): 0.76, (2, -1): 0.6}
"""The left side is turned to the light; it, the back and the foot are seen of slopes alone."""
_EDGE_ON = 0.01
"""A face that looks less towards the viewer is not seen."""
_ROUNDING = 1e-9


def lay_turned(
    canvas: NDArray[np.uint64], width: int, slab: Slab, scale: Scale, origin: NDArray[np.int64]
) -> None:
    """Lay all faces of a slab down that are seen."""
    for towards in _WAYS:
        normal = _normal(slab, towards)
        if normal @ VIEW > _EDGE_ON:
            _lay(canvas, width, slab, towards, tone_of(normal), scale, origin)


def tone_of(normal: NDArray[np.float64]) -> float:
    """Tone of a face by where it looks (3,): the tones of the axes, each by its share."""
    ways = [(axis, 1 if side > 0 else -1) for axis, side in enumerate(normal.tolist())]
    return float(normal**2 @ np.array([_EVERY_TONE[way] for way in ways]))


def _normal(slab: Slab, towards: Way) -> NDArray[np.float64]:
    """(3,) where faces to a side look once they are turned."""
    normal = np.zeros(3)
    normal[towards[0]] = towards[1]
    return slab.turn.vectors(normal) if slab.turn else normal


def _lay(
    canvas: NDArray[np.uint64], width: int, slab: Slab, towards: Way, tone: float, scale: Scale,
    origin: NDArray[np.int64],
) -> None:  # fmt: skip
    """Lay one kind of face down: pixels of a window round each face that lie on it."""
    facing = slab.facing(towards)
    low, edges = slab.face(towards)
    starts = slab.in_space(slab.voxels[facing] + low)
    edges = slab.in_space(edges) - slab.in_space(np.zeros(3))
    steps = scale.project(edges)
    fine = scale.project(starts) - origin
    base = np.floor(fine).astype(np.int64)
    window = _window(steps)
    back = np.linalg.inv(steps)
    spots, offs = (window + 0.5) @ back, (fine - base) @ back
    face, spot = np.nonzero(_is_on(spots, offs))
    rise = edges @ VIEW
    depths = (starts @ VIEW - offs @ rise)[face] + (spots @ rise)[spot]
    depths = np.rint(depths * DEPTHS).astype(np.int64) + FAR
    parts = spots[spot] - offs[face]
    tones = face_tones(parts, slab.hole if towards[0] == slab.axis else 0.0, scale) * tone
    keys = codes_of(slab, facing)[face] | np.rint(tones * 255).astype(np.uint64)
    keys |= depths.astype(np.uint64) << np.uint64(24)
    line = np.array([1, width])
    np.maximum.at(canvas, (base @ line)[face] + (window @ line)[spot], keys)


def _is_on(spots: NDArray[Any], offs: NDArray[Any]) -> NDArray[np.bool_]:
    """(faces, pixels) whether pixels of the window (p, 2) lie on faces that are off by (f, 2)."""
    inside = np.ones((len(offs), len(spots)), dtype=bool)
    for way in (0, 1):
        part = spots[None, :, way] - offs[:, None, way]
        inside &= (part > -_ROUNDING) & (part < 1 + _ROUNDING)
    return inside


def _window(steps: NDArray[np.float64]) -> NDArray[np.int64]:
    """(n, 2) pixels right and down that a face can touch, from the one that it begins in."""
    reach = np.array([[0, 0], steps[0], steps[1], steps.sum(axis=0)])
    first = np.floor(reach.min(axis=0)).astype(int)
    last = np.ceil(reach.max(axis=0)).astype(int) + 1
    down, across = np.mgrid[first[1] : last[1], first[0] : last[0]]
    return np.stack([across.ravel(), down.ravel()], axis=1)
