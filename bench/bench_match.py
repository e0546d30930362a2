"""Exact CIEDE2000 nearest against scikit-image brute force, on random colours.

    python bench/bench_match.py [CELLS]

Both answer for the 139 colours of css-named and for 140 random ones. Brute force goes by rows, as
all pairs at once would
take many gigabytes. Every cell must have the same answer.
"""

from __future__ import annotations

import sys
import time

import numpy as np
from skimage.color import deltaE_ciede2000

from img2plate.colour.palette import Bead, Palette
from img2plate.colour.palette_file import find_palette
from img2plate.colour.spaces import bytes2linear, linear2lab
from img2plate.plate.shade.match import nearest

ROWS = 20_000


def brute_force(lab: np.ndarray, beads: np.ndarray) -> np.ndarray:
    """Nearest bead by scikit-image, over all pairs."""
    found = np.empty(len(lab), np.int16)
    for start in range(0, len(lab), ROWS):
        part = lab[start : start + ROWS]
        found[start : start + ROWS] = deltaE_ciede2000(part[:, None, :], beads[None, :, :]).argmin(
            axis=1
        )
    return found


def random_palette(count: int) -> Palette:
    """Distinct random colours."""
    numbers = np.random.default_rng(1).choice(1 << 24, count, replace=False)
    colours = [(int(n) >> 16, int(n) >> 8 & 255, int(n) & 255) for n in numbers]
    return Palette("random-140", tuple(Bead(f"c{i}", f"c{i}", c) for i, c in enumerate(colours)))


def main() -> None:
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 1_000_000
    colours = bytes2linear(
        np.random.default_rng(0).integers(0, 256, (count, 3), dtype=np.uint8)
    ).astype(np.float64)
    for palette in (random_palette(140), find_palette("css-named")):
        nearest(colours[:100], palette)  # compiles, or loads what was compiled
        times = []
        for _ in range(3):
            start = time.perf_counter()
            ours = nearest(colours, palette)
            times.append(time.perf_counter() - start)
        start = time.perf_counter()
        peer = brute_force(linear2lab(colours), palette.lab)
        slow = time.perf_counter() - start
        print(
            f"{count:,} cells x {len(palette)} ({palette.name}): {min(times):.2f} s,"
            f" scikit-image {slow:.1f} s: {slow / min(times):.0f} times faster,"
            f" {np.count_nonzero(ours != peer)} cells differ"
        )


if __name__ == "__main__":
    main()
