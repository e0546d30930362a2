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


@compiled
def gumbel_noise(temperature: Real, chance: Real, bead: int) -> Real:
    """What chance adds to a bead's cost, in the unit of `temperature`.

    Gumbel noise: the least of (cost + noise) is a draw from the Boltzmann distribution.
    """
    if temperature <= 0:
        return np.float32(0)
    even = mix64(chance ^ (np.uint64(bead + 1) * np.uint64(2654435761)))
    share = (np.float64(even >> np.uint64(11)) + 0.5) / 9007199254740992.0
    return temperature * np.float32(np.log(-np.log(share)))
