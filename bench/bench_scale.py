"""Processor time and peak memory of each step per cell, from 10,000 to 1,000,000 cells.

    python bench/bench_scale.py [--quick]

A photo (scikit-image's astronaut, NASA, public domain) on a square plate, sea-96. Each step runs in
a process of its own, so that its peak is its own; what the process took before the step is taken
off. The last column is what a cell of the largest plate costs over one of the smallest, wanted at
most 1.5; below 1, what is done once for any plate weighs less. `--quick` stops at 100,000 cells.
"""

from __future__ import annotations

import argparse
import json
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from functools import partial
from pathlib import Path

import cv2
import numpy as np
import skimage.data

from img2plate.base.lengths import A4
from img2plate.colour.palette_file import find_palette
from img2plate.colour.spaces import srgb2linear
from img2plate.image.grid import Grid
from img2plate.plate.plate import Plate
from img2plate.plate.shade.match import nearest
from img2plate.plate.shade.shading import SHADINGS, ShadingOptions, shade
from img2plate.plate.shade.tidy import tidy
from img2plate.split.tiles import split
from img2plate.tally.counts import count
from img2plate.typeset.sheets import write_sheets
from img2plate.typeset.sheets.printing import Printing

SIDES = (100, 316, 1000)
PALETTE = find_palette("sea-96")
BOARD = (29, 29)


def photo(side: int) -> Grid:
    """The photo on so many cells a side."""
    pixels = cv2.resize(skimage.data.astronaut(), (side, side), interpolation=cv2.INTER_AREA)
    return Grid(srgb2linear(pixels / 255).astype(np.float32), np.ones((side, side), np.float32))


def steps(side: int) -> dict[str, Callable[[], object]]:
    """What is measured; each with all that it needs at hand."""
    grid = photo(side)
    cells = nearest(grid.rgb, PALETTE, difference="hyab-hue")
    plate = Plate(cells, PALETTE, "scale")
    tiles = split(plate, BOARD)
    counts = count(plate, tiles)
    out = Path(tempfile.gettempdir()) / "scale.pdf"
    made: dict[str, Callable[[], object]] = {
        "matching": lambda: nearest(grid.rgb, PALETTE, difference="hyab-hue"),
        "tidying": lambda: tidy(cells, grid.rgb, PALETTE, 0.05),
        "splitting": lambda: split(plate, BOARD),
        "counting": lambda: count(plate, tiles),
        "sheets": lambda: write_sheets(out, plate, tiles, counts, Printing(A4)),
    }
    for name in SHADINGS:
        made[f"shading {name}"] = partial(shade, grid, PALETTE, ShadingOptions(name))
    return made


def measure(name: str, side: int) -> None:
    """In a process of its own: print processor seconds and megabytes of one step."""
    small = steps(40)[name]
    small()  # loops are compiled, libraries are there
    step = steps(side)[name]
    before, start = _peak(), time.process_time()
    step()
    print(json.dumps([time.process_time() - start, _peak() - before]))


def _peak() -> float:
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def main() -> None:
    """Print a line for each step."""
    asked = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    asked.add_argument("--quick", action="store_true")
    sides = SIDES[:2] if asked.parse_args().quick else SIDES
    head = "".join(f"{side * side:>12,} cells" for side in sides)
    print(f"{'microseconds a cell; MB':26}{head}   ratio")
    for name in steps(20):
        found = []
        for side in sides:
            command = [sys.executable, __file__, name, str(side)]
            done = subprocess.run(command, check=True, capture_output=True, text=True)
            found.append(json.loads(done.stdout))
        each = [1e6 * seconds / side**2 for (seconds, _), side in zip(found, sides, strict=True)]
        row = "".join(
            f"{cost:9.2f} {mb:5.0f} MB" for cost, (_, mb) in zip(each, found, strict=True)
        )
        print(f"{name:26}{row}   {each[-1] / max(each[0], 1e-9):.2f}", flush=True)


if __name__ == "__main__":
    if len(sys.argv) == 3:
        measure(sys.argv[1], int(sys.argv[2]))
    else:
        main()
