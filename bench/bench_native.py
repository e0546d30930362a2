"""The pixel-grid recovery, by degradation, next to general-purpose pixel-art tools.

    python bench/bench_native.py [--seen | --unseen] [--fast] [-v] [--only NAME...]

Columns: share of exact grid sizes; cells within dE00 3 of the truth; sprites with every cell
right; seconds. The peers `proper-pixel-art` and `unfake` (pip install them first) are run on every
fourth sprite; without them, or with --fast, their columns are left out.
"""

from __future__ import annotations

import contextlib
import io
import sys
import time
from collections.abc import Callable

import numpy as np
from PIL import Image
from sprite_set import DEGRADATIONS, Sprite, cases, photos, sprites

from img2plate.colour.difference import delta_E_CIE2000
from img2plate.colour.spaces import bytes2linear, linear2lab
from img2plate.image.native import find_native_grid


def cells_right(found: np.ndarray, truth: np.ndarray) -> tuple[float, bool]:
    """Share of cells within dE00 3 of the truth (on white), and whether all are exact."""
    on_white = []
    for pixels in (found, truth):
        alpha = pixels[..., 3:] / 255
        mixed = np.rint(pixels[..., :3] * alpha + 255 * (1 - alpha)).astype(np.uint8)
        on_white.append(mixed)
    labs = [linear2lab(bytes2linear(mixed).astype(np.float64)) for mixed in on_white]
    near = delta_E_CIE2000(*labs) <= 3
    near &= np.abs(found[..., 3].astype(int) - truth[..., 3]) < 40
    return float(near.mean()), bool(near.all())


def peers() -> dict[str, Callable[[np.ndarray], tuple[int, int] | None]]:
    """Installed general-purpose tools: picture to (columns, rows)."""
    found: dict[str, Callable[[np.ndarray], tuple[int, int] | None]] = {}
    try:
        from proper_pixel_art import pixelate

        found["proper-pixel-art"] = lambda p: pixelate(Image.fromarray(p)).image.size
    except ImportError:
        pass
    try:
        from unfake.pixel import process_image_sync

        found["unfake"] = lambda p: process_image_sync(Image.fromarray(p))["image"].size
    except ImportError:
        pass
    return found


def run_peers(chosen: list[Sprite]) -> None:
    """Share of exact grid sizes of each peer, on every fourth sprite."""
    for name, run in peers().items():
        rows: dict[str, list[bool]] = {degradation: [] for degradation in DEGRADATIONS}
        for sprite in chosen[::4]:
            for degradation, case in cases(sprite):
                try:
                    with contextlib.redirect_stdout(io.StringIO()):
                        size = run(case.pixels)
                except Exception:  # a peer that falls over has not found the grid
                    size = None
                rows[degradation].append(size == case.truth.shape[1::-1])
        print(f"{name}: {np.mean([r for row in rows.values() for r in row]):.3f} exact")
        print("  " + ", ".join(f"{key} {np.mean(row):.2f}" for key, row in rows.items()))


def main() -> None:
    chosen = sprites()
    if "--seen" in sys.argv or "--unseen" in sys.argv:
        chosen = [s for s in chosen if s.unseen == ("--unseen" in sys.argv)]
    rows: dict[str, list[tuple[bool, float, bool, float]]] = {name: [] for name in DEGRADATIONS}
    find_native_grid(np.zeros((40, 40, 4), np.uint8) + np.arange(40, dtype=np.uint8)[:, None, None])
    for sprite in chosen:
        for name, case in cases(sprite):
            if "--only" in sys.argv and name not in sys.argv:
                continue
            start = time.perf_counter()
            native = find_native_grid(case.pixels)
            seconds = time.perf_counter() - start
            height, width = case.truth.shape[:2]
            exact = native.cells == (width, height)
            share, right = (0.0, False)
            if exact and native.pixels is not None:
                share, right = cells_right(native.pixels, case.truth)
            elif "-v" in sys.argv:
                print(
                    f"  {sprite.name}, {name}: {native} ({native.kernel}), not {width} x {height}"
                )
            rows[name].append((exact, share, right, seconds))
    print(f"{len(chosen)} sprites\n{'':22} {'exact':>6} {'cells':>6} {'all':>6} {'s':>6}")
    rows = {name: row for name, row in rows.items() if row}
    for name, row in rows.items():
        print(f"{name:22} " + " ".join(f"{np.mean([r[i] for r in row]):6.3f}" for i in range(3))
              + f" {np.median([r[3] for r in row]):6.2f}")  # fmt: skip
    flat = [r for row in rows.values() for r in row]
    print(f"{'all':22} " + " ".join(f"{np.mean([r[i] for r in flat]):6.3f}" for i in range(3))
          + f" {np.median([r[3] for r in flat]):6.2f}")  # fmt: skip
    if "--fast" not in sys.argv:
        run_peers(chosen)
    versions = [(name, find_native_grid(pixels)) for name, pixels in photos()]
    wrong = [f"{name}: {found}" for name, found in versions if found.cells]
    print(f"photos told as 'no grid': {1 - len(wrong) / len(versions):.3f} of {len(versions)}")
    print(*wrong, sep="\n")


if __name__ == "__main__":
    main()
