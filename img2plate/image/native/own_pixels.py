"""Whether a picture that seems to be enlarged has single pixels of its own after all."""

from __future__ import annotations

import numpy as np

from img2plate.base.arrays import Pixels
from img2plate.image.counts import MOST_SIDE, colour_count
from img2plate.image.native.native_grid import (
    FEW_COLOURS,
    LEAST_CELLS,
    NativeGrid,
    could_be_native,
)

MOSTLY_DOUBLED = 0.9
"""Share of the distances between lines with a change that are even, in a picture of doubled pixels
with few single lines among them."""
OFTEN_TWO = 0.3
"""Share of them that are two pixels, else the pixels may be tripled or more."""
DOUBLED = 3
"""Pixels a cell below which lines of single pixels among doubled ones may be meant."""


def has_single_lines(pixels: Pixels) -> bool:
    """Whether all is doubled but for a few lines, which are pixels of their own, then."""
    if max(pixels.shape[:2]) > MOST_SIDE or colour_count(pixels) > FEW_COLOURS:
        return False
    packed = np.ascontiguousarray(pixels).view(np.uint32)[..., 0]
    for lines in (packed, packed.T):
        changes = (lines[1:] != lines[:-1]).sum(axis=1)
        # A single line has its own changes across: few beside those of all the doubled ones.
        gaps = np.diff(np.flatnonzero(changes > changes.max() / 10))
        if len(gaps) < 2 * LEAST_CELLS or (gaps % 2 == 0).mean() < MOSTLY_DOUBLED:
            return False
        if (gaps == 2).mean() < OFTEN_TWO:
            return False
    return True


def could_be_its_cells(pixels: Pixels, found: NativeGrid) -> bool:
    """Whether a picture may be one at a pixel per cell that only looks like a doubled one."""
    doubled = max(found.cell_px) < DOUBLED and max(pixels.shape[:2]) <= MOST_SIDE
    return could_be_native(pixels) or (doubled and colour_count(pixels) <= FEW_COLOURS)


def gives_back(found: NativeGrid, pixels: Pixels) -> bool:
    """Whether enlarging the cells again gives nearly the picture: else its pixels are its cells."""
    assert found.pixels is not None
    best = 0.0
    for nudge in (-0.02, 0.02):  # pixels on a tie may have gone either way
        places = [
            np.floor((np.arange(length) + 0.5 + nudge - offset) / pitch).astype(int)
            for length, offset, pitch in zip(
                pixels.shape[1::-1], found.offset_px, found.cell_px, strict=True
            )
        ]
        inside = [(at >= 0) & (at < n) for at, n in zip(places, found.cells or (), strict=True)]
        x, y = (at[ok] for at, ok in zip(places, inside, strict=True))
        same = found.pixels[y[:, None], x] == pixels[np.ix_(inside[1], inside[0])]
        best = max(best, float(same.all(axis=2).mean()))
    if all(pitch % 1 == 0 for pitch in found.cell_px):
        return best == 1
    return best >= (0.995 if min(found.cell_px) < DOUBLED else 0.97)
