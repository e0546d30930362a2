"""Which tones of a picture no bead of a palette comes near."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from img2plate.base.arrays import Mask, Pixels
from img2plate.colour.difference import delta_E_CIE2000
from img2plate.colour.gamut import GAP, nearest_beads, suggest
from img2plate.colour.palette import Palette
from img2plate.colour.spaces import bytes2linear, linear2lab

_TRIES = 2000


class UnreachedTone(NamedTuple):
    """A tone out of reach; others like it are counted with it."""

    srgb: tuple[int, int, int]
    share: float
    """Part of the picture, 0..1."""
    nearest: int
    """Palette index of the bead that comes nearest."""
    distance: float
    """CIEDE2000 to that bead, on average."""


class PictureGaps(NamedTuple):
    """What of a picture a palette cannot reach by single beads."""

    far: Mask
    """(h, w) where no bead is within `GAP`."""
    share: float
    """Part of the picture, 0..1."""
    tones: tuple[UnreachedTone, ...]
    """The most of the picture first."""


def picture_gaps(pixels: Pixels, palette: Palette, most: int = 8) -> PictureGaps:
    """Find which tones of a picture (h, w, 4) uint8 are over `GAP` from any bead.

    They are told as at most so many; see-through pixels do not count.
    """
    seen = pixels[..., 3] > 127
    packed = pixels[..., :3][seen].astype(np.int64) @ np.array([1 << 16, 1 << 8, 1])
    keys, which, counts = np.unique(packed, return_inverse=True, return_counts=True)
    lab = _lab(np.stack([keys >> 16, keys >> 8 & 255, keys & 255], axis=-1))
    nearest, distance = nearest_beads(lab, palette)
    is_far, far = distance > GAP, np.zeros(seen.shape, np.bool_)
    far[seen] = is_far[which]
    if not is_far.any():
        return PictureGaps(far, 0.0, ())
    parts = counts[is_far] / counts.sum()
    tones = _tones(lab[is_far], parts, nearest[is_far], distance[is_far], palette, most)
    return PictureGaps(far, float(parts.sum()), tones)


def _tones(
    lab: NDArray[np.float64],
    parts: NDArray[np.float64],
    nearest: NDArray[np.intp],
    distance: NDArray[np.float64],
    palette: Palette,
    most: int,
) -> tuple[UnreachedTone, ...]:
    """Gather tones (n, 3) CIELAB, each with its part of the picture, into few."""
    tries = np.random.default_rng(0).choice(len(lab), _TRIES, p=parts / parts.sum())
    centres = [gap.srgb for gap in suggest(lab[tries], palette, most)]
    like = delta_E_CIE2000(lab[:, None], _lab(np.array(centres))[None]).argmin(axis=1)
    found = []
    for number, srgb in enumerate(centres):
        own = like == number
        if own.any():
            share = float(parts[own].sum())
            beads = np.bincount(nearest[own], parts[own])
            away = float(distance[own] @ parts[own] / share)
            found.append(UnreachedTone(srgb, share, int(beads.argmax()), away))
    return tuple(sorted(found, key=lambda tone: -tone.share))


def _lab(srgb: NDArray[np.int64]) -> NDArray[np.float64]:
    """(n, 3) CIELAB of sRGB 0..255."""
    return np.asarray(linear2lab(bytes2linear(srgb.astype(np.uint8)).astype(np.float64)))
