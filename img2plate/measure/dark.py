"""The chroma of near-black beads, which a JPEG spreads over their holes and gaps.

JPEG keeps chroma at half the resolution (usually) and drops its fine detail. On near-black beads no
more than one mean over beads, holes and gaps is left of it. Where holes and gaps are far brighter,
it is the paper that is seen in them, which is neutral. Then all the chroma there comes from the
beads, and their share of the area says how strong it is on them.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from img2plate.base.arrays import Floats
from img2plate.colour.spaces import linear2srgb, srgb2linear
from img2plate.measure.beads import BEAD_MM

_LUMA = np.array([0.299, 0.587, 0.114])
"""Of JPEG (ITU-T T.871), on encoded sRGB."""
_DARK = (0.10, 0.16)
"""Luma up to which chroma is restored wholly, and from which not at all."""
_BRIGHTER = 0.15
"""How much brighter, in luma, holes and gaps must be."""
_GLOSS = 0.12
_AROUND_MM = 2.76
"""Round each bead as much is looked at as it has room: a disc of the area of its square."""


def restore_chroma(
    colour: NDArray[np.float64], light: Floats, away_mm: Floats
) -> NDArray[np.float64]:
    """Give a bead's colour (3,) linear the chroma that JPEG took, when it is near-black.

    `light` (h, w, 3) is the cell's linear light relative to the paper, `away_mm` (h, w) how far
    each pixel is from the nearest bead's middle.
    """
    bead = linear2srgb(np.clip(colour, 0, 1))
    luma = float(bead @ _LUMA)
    weight = float(np.clip((_DARK[1] - luma) / (_DARK[1] - _DARK[0]), 0, 1))
    if not weight:
        return colour
    near = away_mm < _AROUND_MM
    srgb, away = linear2srgb(light[near].astype(np.float64)), away_mm[near]
    lumas = srgb @ _LUMA
    is_bead = (away > BEAD_MM[0]) & (away < BEAD_MM[1]) & (lumas < luma + _GLOSS)
    if not is_bead.any() or is_bead.all() or np.median(lumas[~is_bead]) < luma + _BRIGHTER:
        return colour
    chroma = (srgb - lumas[:, None]).mean(axis=0) / is_bead.mean()
    restored = srgb2linear(np.clip(luma + chroma, 0, 1))
    return np.asarray((1 - weight) * colour + weight * restored)
