"""Plain names of colours: the CSS colour keywords."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from img2plate.colour.difference import delta_E_CIE2000
from img2plate.colour.palette_file import find_palette
from img2plate.colour.spaces import bytes2linear, linear2lab

KEYWORDS = "css-named"
"""The bundled palette of CSS colour keywords."""


def nearest_keywords(srgb: NDArray[np.uint8]) -> list[str]:
    """The CSS colour keyword nearest to each colour (n, 3) uint8 by CIEDE2000."""
    keywords = find_palette(KEYWORDS)
    lab = linear2lab(bytes2linear(srgb).astype(np.float64))
    nearest = delta_E_CIE2000(lab[:, None], keywords.lab[None]).argmin(axis=1)
    return [keywords.beads[int(index)].name for index in nearest]
