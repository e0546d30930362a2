"""Whole-process figures: start-up, a sprite, a 12-megapixel photo; time and peak memory.

    python bench/bench_make.py

Each is run several times and the fastest is printed, after one run that warms the caches. The
peer for start-up is `python -c "import click"`, in turns with ours.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

IMG2PLATE = [sys.executable, "-m", "img2plate"]
SAMPLES = Path(__file__).parents[1] / "sample_inputs"


def run(command: list[str]) -> tuple[float, float]:
    """Seconds and peak megabytes of one process."""
    start = time.perf_counter()
    process = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE)
    errors = process.stderr.read() if process.stderr else b""
    _, status, usage = os.wait4(process.pid, 0)
    if status:
        sys.exit(f"{command}: {errors.decode()}")
    return time.perf_counter() - start, usage.ru_maxrss / 1024


def best(command: list[str], times: int) -> tuple[float, float]:
    """Fastest of several runs after a warming one, and the largest peak."""
    run(command)
    figures = [run(command) for _ in range(times)]
    return min(f[0] for f in figures), max(f[1] for f in figures)


def draw_inputs(folder: Path) -> None:
    """A sprite, and an open photo (scikit-image's astronaut, NASA) enlarged to 4000x3000.

    Runs in a process of its own: a child's peak memory counts that of the parent it came from.
    """
    import numpy as np
    import skimage.data
    from PIL import Image

    photo = Image.fromarray(skimage.data.astronaut()).resize((4000, 3000), Image.Resampling.BICUBIC)
    noisy = np.asarray(photo, np.int16) + np.random.default_rng(0).integers(-6, 7, (3000, 4000, 1))
    Image.fromarray(np.clip(noisy, 0, 255).astype(np.uint8)).save(folder / "large.jpg", quality=92)
    with Image.open(SAMPLES / "lighthouse.png") as image:
        image.convert("RGBA").crop((0, 0, 32, 32)).save(folder / "sprite.png")


def main() -> None:
    click, ours = [sys.executable, "-c", "import click"], [*IMG2PLATE, "--help"]
    times = [(run(click)[0], run(ours)[0]) for _ in range(15)]
    peer, mine = (min(column) for column in zip(*times, strict=True))
    print(
        f"--help {mine * 1000:.0f} ms, import click {peer * 1000:.0f} ms: {mine / peer:.2f} times"
    )

    with tempfile.TemporaryDirectory() as folder:
        subprocess.run([sys.executable, __file__, folder], check=True)
        large, sprite = f"{folder}/large.jpg", f"{folder}/sprite.png"
        out = ["--out", f"{folder}/packs"]
        photo = [*IMG2PLATE, "make", large, "--size", "116x116", "--fit", "cover", *out]
        for name, command, wanted in (
            ("make, 32x32 sprite", [*IMG2PLATE, "make", sprite, *out], 2),
            ("make, 12-megapixel photo to 116x116, default shading", photo, 4),
            ("the same, floyd-steinberg", [*photo, "--shading", "floyd-steinberg"], 4),
        ):
            seconds, megabytes = best(command, 3)
            print(
                f"{name}: {seconds:.2f} s (wanted {wanted}), peak {megabytes:.0f} MB (wanted 600)"
            )


if __name__ == "__main__":
    if len(sys.argv) > 1:
        draw_inputs(Path(sys.argv[1]))
    else:
        main()
