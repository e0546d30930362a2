"""Rasters that corners lie on, and what they are worth there.

A raster is a whole pitch and a phase on both axes. By chance a corner lies on one with a share of
1 / pitch ** 2; what it tells is the logarithm of how much likelier it is there in art.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from img2plate.image.screen.corners import Corners

PITCHES = range(2, 33)
STRAY, STRAY_LOSSY = 0.05, 0.3
"""Share of the corners in art that lie beside its lines."""
LEAST_ON = 6
"""Corners on a raster, in a window, that are worth looking at."""
LEAST_SURPRISE = 10.0
"""Nats by which so many on one raster are no chance: as of a Poisson law."""
MOST_CORNERS = 120_000
"""That are looked at to find rasters: of more, some evenly spread."""


class Raster(NamedTuple):
    """Lines of x % pitch == left and y % pitch == top."""

    pitch: int
    left: int
    top: int

    def holds(self, found: Corners) -> NDArray[np.bool_]:
        """Which corners lie where lines cross."""
        on = (found.x % self.pitch == self.left) & (found.y % self.pitch == self.top)
        return np.asarray(on)


@dataclass(frozen=True)
class Worth:
    """Nats that a corner says for a raster."""

    on: float
    off: float
    """Below 0."""


def worth(pitch: int, *, lossy: bool) -> Worth:
    """Of a pitch in pixels."""
    stray, chance = STRAY_LOSSY if lossy else STRAY, 1 / pitch**2
    return Worth(float(np.log((1 - stray) / chance)), float(np.log(stray / (1 - chance))))


def likely_rasters(found: Corners, size: tuple[int, int], most: int = 16) -> list[Raster]:
    """Rasters that explain the corners of some windows of a picture, best ones first."""
    if len(found) > MOST_CORNERS:
        found = found.only(np.arange(len(found)) % (len(found) // MOST_CORNERS + 1) == 0)
    scores: dict[Raster, float] = {}
    for pitch in PITCHES:
        for raster, score in _of_pitch(found, size, pitch):
            scores[raster] = scores.get(raster, 0.0) + score
    return sorted(scores, key=lambda raster: -scores[raster])[:most]


def _of_pitch(found: Corners, size: tuple[int, int], pitch: int) -> list[tuple[Raster, float]]:
    """The best raster of each window that has one, with how surprising it is."""
    side = 32 if pitch <= 8 else 64 if pitch <= 16 else 128
    across, down = (length // side + 1 for length in size)
    block = found.y // side * across + found.x // side
    phase = found.y % pitch * pitch + found.x % pitch
    counts = np.bincount(block * pitch**2 + phase, minlength=down * across * pitch**2)
    counts = counts.reshape(down, across, pitch**2)
    counts = counts[:-1] + counts[1:] if down > 1 else counts
    counts = counts[:, :-1] + counts[:, 1:] if across > 1 else counts
    best, whole = counts.max(axis=2), counts.sum(axis=2)
    chance = np.maximum(whole, 1) / pitch**2
    score = best * np.log(np.maximum(best, 1) / chance) - best + chance
    good = (best >= LEAST_ON) & (score > LEAST_SURPRISE)
    phases = counts[good].argmax(axis=1)
    return [
        (Raster(pitch, int(at % pitch), int(at // pitch)), float(value))
        for at, value in zip(phases, score[good], strict=True)
    ]
