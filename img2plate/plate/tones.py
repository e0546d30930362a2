"""Tones into the palette's reach: colours that no mixture of beads makes, to ones that one does.

Error diffusion and ordered dithering mix beads in linear light, so what they can show is the convex
hull of the palette there. Beyond it the error only piles up.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from img2plate.base.arrays import Floats
from img2plate.colour.palette import Palette
from img2plate.colour.spaces import RGB2XYZ

_CHUNK = 65536
"""Colours at a time: their distances from all planes are a large table."""


def into_hull(linear: Floats, palette: Palette) -> Floats:
    """Bring linear-light colours (..., 3) into the palette's convex hull, keeping luminance.

    Each colour is drawn towards the line from the darkest to the brightest bead, at its own
    luminance or the nearest the line has. Returns float64; a palette that spans no volume (under 4
    colours, or only greys) leaves all as it is.
    """
    from scipy.spatial import ConvexHull, QhullError

    flat = np.asarray(linear, dtype=np.float64).reshape(-1, 3)
    try:
        hull = ConvexHull(palette.linear)
    except (QhullError, ValueError):
        return flat.reshape(np.shape(linear))
    mapped = flat.copy()
    outside = _outside(flat, hull.equations)
    colours = flat[outside]
    mapped[outside] = _towards(_on_grey_line(colours, palette), colours, hull.equations)
    return mapped.reshape(np.shape(linear))


def _outside(flat: Floats, planes: Floats) -> NDArray[np.intp]:
    """Indices of the colours that lie beyond one of the planes (m, 4), mostly few of them."""
    normals, offsets = planes[:, :3].T.astype(np.float32), planes[:, 3].astype(np.float32)
    chunks = [
        start + np.nonzero((part.astype(np.float32) @ normals + offsets).max(axis=1) > 0)[0]
        for start in range(0, len(flat), _CHUNK)
        if len(part := flat[start : start + _CHUNK])
    ]
    return np.concatenate(chunks) if chunks else np.empty(0, np.intp)


def _on_grey_line(flat: Floats, palette: Palette) -> Floats:
    """For each colour the point of its luminance between the darkest and the brightest bead."""
    light = palette.linear @ RGB2XYZ[1]
    dark, bright = palette.linear[light.argmin()], palette.linear[light.argmax()]
    share = (flat @ RGB2XYZ[1] - light.min()) / (light.max() - light.min())
    return np.asarray(dark + np.clip(share, 0, 1)[:, None] * (bright - dark))


def _towards(anchors: Floats, colours: Floats, planes: Floats) -> Floats:
    """Go from anchors inside as far towards the colours as the planes (m, 4) allow."""
    way = colours - anchors
    speed = way @ planes[:, :3].T
    room = -(anchors @ planes[:, :3].T + planes[:, 3])
    with np.errstate(divide="ignore", invalid="ignore"):
        reach = np.where(speed > 1e-12, np.maximum(room, 0) / speed, np.inf).min(axis=1)
    return np.asarray(anchors + np.minimum(reach, 1)[:, None] * way)
