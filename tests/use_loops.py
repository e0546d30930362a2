"""Each compiled loop in use once, on small pictures: its code is kept for whoever runs next.

`python3 dev.py loops` runs this before the tests, as each of their processes would compile by
itself what is missing. A loop that nothing here comes to is named, and is an error.
"""

from __future__ import annotations

import os
import re
import sys
import tempfile
from collections.abc import Callable, Iterator
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context
from pathlib import Path

os.environ["NUMBA_NUM_THREADS"] = "1"  # as in the tests; before numba is imported

from command import good
from drawn_pictures import uneven_cells
from PIL import Image
from support import SAMPLES

from img2plate.base.loop_cache import PACKAGE, loop_cache
from img2plate.colour.palette_file import find_palette

HARBOUR = SAMPLES / "harbour.jpg"


def looked_at(folder: Path) -> Iterator[tuple[object, ...]]:
    """Words after `make` that look at pictures, then those that keep to a stock."""
    for picture in pictures(folder):
        yield picture, "--scatter", "prt"
    palette, stock = find_palette("quay-24"), folder / "stock.csv"
    stock.write_text("code,count\n" + "".join(f"{bead.code},14\n" for bead in palette.beads))
    for shading in ("none", "floyd-steinberg", "bayer", "blue-noise"):
        yield (HARBOUR, "--width", 20, "--palette", "quay-24", "--stock", stock, "--specks", "few",
               "--shading", shading)  # fmt: skip


def chosen(_: Path) -> Iterator[tuple[object, ...]]:
    """Words after `make` that search for beads, or compare more pairs than are left to numpy."""
    yield HARBOUR, "--width", 20, "--shading", "search"
    for difference in ("ciede2000", "hyab-hue", "hyab"):
        yield (HARBOUR, "--width", 60, "--palette", "sea-96", "--shading", "none",
               "--difference", difference)  # fmt: skip


def use(runs: Callable[[Path], Iterator[tuple[object, ...]]]) -> None:
    with tempfile.TemporaryDirectory() as name:
        for number, words in enumerate(runs(Path(name))):
            good("make", *words, "--out", Path(name) / str(number))


def pictures(folder: Path) -> Iterator[Path]:
    """Pixel art whose grid has to be searched: soft, compressed, of uneven cells."""
    with Image.open(SAMPLES / "trawler.png") as sprite:
        ground = Image.new("RGBA", sprite.size, "#dfe8ea")
        ground.alpha_composite(sprite.convert("RGBA"))
    wide, high = (7 * side + 3 for side in ground.size)
    soft = ground.convert("RGB").resize((wide, high), Image.Resampling.BICUBIC)
    for name in ("soft.png", "soft.jpg"):
        soft.save(folder / name, quality=85)
        yield folder / name
    Image.fromarray(uneven_cells(4, adding_up=True)[0]).save(folder / "uneven.png")
    yield folder / "uneven.png"


def unused() -> list[str]:
    """Names of loops of which no machine code is kept."""
    kept = {re.sub(r"-\d+\.py\d+\.nbi$", "", path.name) for path in loop_cache().rglob("*.nbi")}
    loops = {
        f"{path.stem}.{name}"
        for path in PACKAGE.rglob("*.py")
        for name in re.findall(r"^@compiled\w*\ndef (\w+)", path.read_text("utf-8"), re.MULTILINE)
    }
    return sorted(loops - kept)


if __name__ == "__main__":
    with ProcessPoolExecutor(2, get_context("spawn")) as pool:
        list(pool.map(use, (looked_at, chosen)))
    if missing := unused():
        sys.exit(f"loops that {Path(__file__).name} does not come to: {', '.join(missing)}")
