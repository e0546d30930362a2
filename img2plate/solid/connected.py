"""Which cells of a plate hang together."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from img2plate.base.arrays import Mask


def components(mask: Mask) -> NDArray[np.int32]:
    """(h, w) number of the 4-connected piece that each cell is of, from 1; 0 for none."""
    import cv2

    return np.asarray(cv2.connectedComponents(mask.astype(np.uint8), connectivity=4)[1])
