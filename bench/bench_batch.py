"""Many pictures on all cores beside one: seconds for the whole command, and their ratio.

    python bench/bench_batch.py [--pictures N]

Small drawings of our own in many colours, each made into a pack of 29 beads a side. The bytes of
all packs are compared.
"""

from __future__ import annotations

import argparse
import hashlib
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
from PIL import Image, ImageDraw

from img2plate.pipeline.batch import usual_jobs

NOT_COMPARED = ("counts.xlsx",)
"""It has the time of its making in it."""


def pictures(folder: Path, count: int) -> list[Path]:
    """Round shapes with light and shade, anti-aliased, each from a seed."""
    paths = []
    for seed in range(count):
        chance = np.random.default_rng(seed)
        image = Image.new("RGBA", (256, 256))
        draw = ImageDraw.Draw(image)
        for _ in range(12):
            x, y, r = (int(v) for v in chance.integers((20, 20, 10), (236, 236, 70)))
            colour = tuple(int(v) for v in chance.integers(0, 256, 3))
            draw.ellipse((x - r, y - r, x + r, y + r), fill=colour, outline="black", width=4)
        paths.append(folder / f"buoys-{seed:03d}.png")
        image.save(paths[-1])
    return paths


def seconds(paths: list[Path], out: Path, jobs: int) -> float:
    """Wall time of the whole command."""
    start = time.perf_counter()
    words = [sys.executable, "-m", "img2plate", "make", *map(str, paths), "--out", str(out),
             "--width", "29", "--jobs", str(jobs)]  # fmt: skip
    subprocess.run(words, check=True, capture_output=True)
    return time.perf_counter() - start


def digest(folder: Path) -> str:
    """Of all files of all packs."""
    found = hashlib.sha256()
    for path in sorted(folder.rglob("*")):
        if path.is_file() and path.name not in NOT_COMPARED:
            found.update(str(path.relative_to(folder)).encode() + path.read_bytes())
    return found.hexdigest()


def main() -> None:
    """Print both times."""
    asked = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    asked.add_argument("--pictures", type=int, default=500)
    count = asked.parse_args().pictures
    cores = usual_jobs(count)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        paths = pictures(folder, count)
        seconds(paths[:4], folder / "warm", 1)
        one, all_cores = (seconds(paths, folder / f"jobs-{jobs}", jobs) for jobs in (1, cores))
        same = digest(folder / "jobs-1") == digest(folder / f"jobs-{cores}")
    print(f"{count} pictures: one at a time {one:.1f} s, {cores} at a time {all_cores:.1f} s")
    print(f"ratio {all_cores / one:.2f} (wanted at most 0.6); same bytes: {same}")


if __name__ == "__main__":
    main()
