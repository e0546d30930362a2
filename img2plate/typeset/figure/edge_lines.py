"""Lines where a plate ends in a drawing: they are seen in print without colour too."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from img2plate.colour.spaces import hex2srgb, srgb2linear
from img2plate.typeset.look import INK

LINE = np.asarray(srgb2linear(np.array(hex2srgb(INK)) / 255), dtype=np.float32)
"""(3,) linear light of a line."""


def ends_of(near: NDArray[np.uint64], jump: int) -> NDArray[np.bool_]:
    """(h, w) pixels on the nearer side of a place where the depth jumps.

    near: depth of each pixel, larger is nearer, 0 is the ground. On a flat face depth rises
    evenly, so that it is the change of its rise that tells an end; `jump` is the least of it.
    """
    depth = near.astype(np.int64)
    ends = np.zeros(depth.shape, dtype=bool)
    middle, left, right = depth[:, 1:-1], depth[:, :-2], depth[:, 2:]
    ends[:, 1:-1] |= 2 * middle - left - right > jump
    middle, above, below = depth[1:-1], depth[:-2], depth[2:]
    ends[1:-1] |= 2 * middle - above - below > jump
    return ends
