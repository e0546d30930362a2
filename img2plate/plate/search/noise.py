"""Chance that depends on its arguments alone: the same on any machine and number of threads."""

from __future__ import annotations

import numpy as np

from img2plate.base.compiled import Real, compiled


@compiled
def mix64(number: Real) -> Real:
    """Mix 64 bits: a random number that its argument decides (MurmurHash3's end)."""
    number ^= number >> np.uint64(33)
    number *= np.uint64(0xFF51AFD7ED558CCD)
    number ^= number >> np.uint64(33)
    number *= np.uint64(0xC4CEB9FE1A85EC53)
    return number ^ (number >> np.uint64(33))
