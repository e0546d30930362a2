"""Pixels that hold a bit of a line and of both its sides."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray


def share_of_line(
    colour: NDArray[np.float32],
    line: NDArray[np.float32],
    one: NDArray[np.float32],
    two: NDArray[np.float32],
) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """(n,) how much of each colour (n, 4) is the line's (4,), and how far off the mix it is.

    The rest is `one` and `two` (n, 4), its two sides, which may be equal. Least squares; shares
    are not below 0.
    """
    a, b, y = one - line, two - line, colour - line
    aa, bb, ab = (a * a).sum(axis=1), (b * b).sum(axis=1), (a * b).sum(axis=1)
    ya, yb = (y * a).sum(axis=1), (y * b).sum(axis=1)
    det = aa * bb - ab * ab
    alone = det < 1e-3 * aa * bb + 1e-6
    safe = np.where(alone, 1, det)
    s = np.where(alone, ya / np.maximum(aa, 1e-6), (ya * bb - yb * ab) / safe)
    t = np.where(alone, 0, (yb * aa - ya * ab) / safe)
    only_a, only_b = ya / np.maximum(aa, 1e-6), yb / np.maximum(bb, 1e-6)
    s, t = np.where(t < 0, only_a, s), np.where(s < 0, only_b, t)
    s, t = np.clip(s, 0, 1), np.clip(t, 0, 1)
    over = np.maximum(s + t, 1)
    s, t = s / over, t / over
    rest = y - s[:, None] * a - t[:, None] * b
    return 1 - s - t, np.sqrt((rest * rest).sum(axis=1))
