"""Tones into the palette's reach: colours that no mixture of beads makes, to ones that one does.

Error diffusion and ordered dithering mix beads in linear light, so what they can show is the convex
hull of the palette there. Beyond it the error only piles up.
"""

from __future__ import annotations

import numpy as np

from img2plate.base.arrays import Floats
from img2plate.colour.palette import Palette
from img2plate.colour.spaces import RGB2XYZ


def into_hull(linear: Floats, palette: Palette) -> Floats:
    """Bring linear-light colours (..., 3) into the palette's convex hull, keeping luminance.

    Each colour is drawn towards the line from the darkest to the brightest bead, at its own
    luminance or the nearest the line has. Returns float64; a palette that spans no volume (under 4
    colours, or only greys) leaves all as it is.
    """
    from scipy.spatial import ConvexHull, QhullError

    from img2plate.plate.shade.tones_loops import draw_inside

    flat = np.asarray(linear, dtype=np.float64).reshape(-1, 3)
    try:
        hull = ConvexHull(palette.linear)
    except (QhullError, ValueError):
        return flat.reshape(np.shape(linear))
    light = palette.linear @ RGB2XYZ[1]
    share = np.clip((flat @ RGB2XYZ[1] - light.min()) / (light.max() - light.min()), 0, 1)
    dark, bright = palette.linear[light.argmin()], palette.linear[light.argmax()]
    planes = np.ascontiguousarray(hull.equations.T)
    return draw_inside(np.ascontiguousarray(flat), share, dark, bright, planes).reshape(
        np.shape(linear)
    )
