"""The colours of a drawing in bins of 8 levels: how often each comes, and its mean."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from img2plate.image.drawing.work import Work


@dataclass(frozen=True, eq=False)
class Bins:
    """Occupied bins."""

    where: NDArray[np.int32]
    """(h, w) bin of each pixel."""
    colour: NDArray[np.float32]
    """(n, 4) mean of each bin, premultiplied sRGB and alpha in levels."""
    inside: NDArray[np.float64]
    """(n,) pixels within flat areas."""
    line: NDArray[np.float64]
    """(n,) pixels of lines that are no areas."""

    @property
    def total(self) -> int:
        """Pixels in all."""
        return self.where.size


def bins_of(work: Work) -> Bins:
    """Count a picture's colours."""
    code = np.zeros(work.colour.shape[:2], np.int32)
    for channel in range(4):
        code = (code << 5) | (work.colour[..., channel] >> 3)
    flat = code.ravel()
    counts = np.bincount(flat, minlength=1 << 20)
    used = np.flatnonzero(counts)
    number = np.zeros(len(counts), np.int32)
    number[used] = np.arange(len(used))
    where = number[code]
    inner = np.bincount(where.ravel(), work.inside.ravel(), minlength=len(used))
    sums = [
        np.bincount(where.ravel(), work.colour[..., c].ravel(), minlength=len(used))
        for c in range(4)
    ]
    means = (np.stack(sums, axis=1) / counts[used][:, None]).astype(np.float32)
    lines = np.bincount(where.ravel(), (work.ridge & ~work.inside).ravel(), minlength=len(used))
    return Bins(where, means, inner.astype(np.float64), lines.astype(np.float64))
