"""Colourways, scatter and measured palettes: time, and how near measured colours come.

    python bench/bench_ways.py [--photos N]

48 colourways of a 58 x 58 plate with their proof sheet (to reach: under 5 s); scatter on 1,000,000
cells (under 2 s; beside it, as a peer, scikit-image's random noise on as many cells); measuring a
12-megapixel photo of the card, in memory and as a command with all its start-up (under 3 s; beside
it, only finding the markers by OpenCV). With
`--photos N` also CIEDE2000 of the measured colours in N rendered photos (mean at most 2, worst
at most 5); rendering takes some seconds each.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from functools import partial
from pathlib import Path

import numpy as np
from PIL import Image

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))

from card_photos import photo
from timing import fastest

from img2plate.colour.difference import delta_E_CIE2000
from img2plate.colour.palette_file import find_palette
from img2plate.colour.spaces import linear2lab
from img2plate.measure.find import rectify_card
from img2plate.measure.measured import read_card
from img2plate.plate.plate import Plate
from img2plate.plate.recolour import recolour
from img2plate.plate.scatter import ScatterOptions, scatter
from img2plate.typeset.colourways import write_colourways


def processor(run: Callable[[], object]) -> float:
    """Seconds of one processor for a run, whatever else the machine does."""
    start = time.process_time()
    run()
    return time.process_time() - start


def patches(side: int) -> Plate:
    """A plate of patches of ten colours."""
    palette, rng = find_palette("harbour-48"), np.random.default_rng(0)
    small = rng.choice(rng.choice(len(palette), 10, replace=False), (-(-side // 6), -(-side // 6)))
    cells = np.kron(small, np.ones((6, 6), int))[:side, :side]
    return Plate(cells.astype(np.int16), palette, "patches")


def colourways() -> None:
    plate = patches(58)
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "proof.png"
        seconds = fastest(lambda: write_colourways(file, plate, recolour(plate, range(48))))
    print(f"48 colourways of 58 x 58 with proof sheet: {seconds:.2f} s")


def scattered() -> None:
    from skimage.util import random_noise

    plate = Plate(np.zeros((1000, 1000), np.int16), find_palette("harbour-48"))
    grey = np.full((1000, 1000), 0.5)
    peer = fastest(lambda: random_noise(grey, mode="s&p", amount=0.12))
    for light in (None, 45.0):
        seconds = fastest(partial(scatter, plate, ScatterOptions(("mst::12",), light)))
        print(f"scatter, 1,000,000 cells, light {light}: {seconds:.2f} s ({seconds / peer:.1f} x)")


def measured() -> None:
    made = photo(0, size=(3000, 4000), blur=1.0).srgb
    finding = fastest(lambda: rectify_card(made, "photo"))
    seconds = fastest(lambda: read_card(made, "photo"))
    spent = processor(lambda: read_card(made, "photo"))
    print(
        f"measuring 12 megapixels in memory: {seconds:.2f} s, {spent:.2f} s of processor"
        f" ({seconds / finding:.1f} x finding the card)"
    )
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "card.jpg"
        Image.fromarray(made).save(file, quality=92)
        words = ["palette", "measure", str(file), "--out", str(Path(folder) / "mine.csv")]
        command, before = [sys.executable, "-m", "img2plate", *words], os.times()
        seconds = fastest(lambda: subprocess.run(command, check=True, capture_output=True))
        spent = (os.times().children_user + os.times().children_system) - (
            before.children_user + before.children_system
        )
    print(
        f"img2plate palette measure, 12 megapixels, whole process: {seconds:.2f} s,"
        f" {spent / 4:.2f} s of processor"
    )


def accuracy(count: int) -> None:
    off: list[float] = []
    for seed in range(100, 100 + count):
        print(f"\r{seed - 100} of {count} photos", end="", file=sys.stderr, flush=True)
        made = photo(seed)
        for cell in read_card(made.srgb, str(seed)).cells:
            if cell.linear is not None:
                truth = linear2lab(made.truth[cell.number])
                off.append(float(delta_E_CIE2000(linear2lab(cell.linear), truth)))
    print(
        f"\r{count} photos, {len(off)} colours: CIEDE2000 mean {np.mean(off):.2f},"
        f" 99 % under {np.quantile(off, 0.99):.2f}, worst {max(off):.2f}"
    )


if __name__ == "__main__":
    colourways()
    scattered()
    measured()
    if "--photos" in sys.argv:
        accuracy(int(sys.argv[sys.argv.index("--photos") + 1]))
