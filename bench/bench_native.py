"""The pixel-grid recovery, by degradation, next to general-purpose means.

    python bench/bench_native.py [--seen | --unseen | --large] [--fast] [-v] [--every N]
                                  [--only NAME...]

Columns: share of exact grid sizes; cells within dE00 3 of the truth; sprites with every cell
right; median seconds. Sprites seen while tuning and those that were not are printed apart.
The set (`sprite_set.py`) is one of its own: several packages, none of them more than a quarter of
it; a sprite on doubled pixels counts as the coarser grid. The peers (`native_peers.py`) are given
every sixth sprite: the common divisor of run lengths, autocorrelation, and, as a bound for the
cells, OpenCV's resize by area, which is told the true size. --large runs only scenes of 4000 x 4000
px (memory: the picture and what numpy holds at most); --fast leaves these and the peers out.
"""

from __future__ import annotations

import os
import sys
import time
import tracemalloc

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # as the program does

import numpy as np
from degradations import DEGRADATIONS, Case, cases, large, photos
from native_peers import by_autocorrelation, by_common_divisor, resized_to
from sprite_set import Sprite, sprites

from img2plate.colour.difference import delta_E_CIE2000
from img2plate.colour.spaces import bytes2linear, linear2lab
from img2plate.image.jpeg.source import JpegSource
from img2plate.image.native.recover import find_native_grid


def source_of(case: Case) -> JpegSource | None:
    """The file that the program would have read."""
    return JpegSource(case.file) if case.file else None


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


EVERY = 6
"""Sprites of which one is given to the peers."""


def run_peers(chosen: list[Sprite]) -> None:
    """Share of exact grid sizes, and of right cells, by general-purpose means and by ours."""
    heads = ("img2plate", "divisor", "autocorr.", "img2plate", "resized")
    print(f"\n{'':22} {'exact size':>31} {'cells':>21}")
    print(f"every {EVERY}th sprite".ljust(22) + " ".join(f"{head:>10}" for head in heads))
    rows: dict[str, list[list[float]]] = {degradation: [] for degradation in DEGRADATIONS}
    for sprite in chosen[::EVERY]:
        for degradation, case in cases(sprite.name, sprite.pixels):
            rows[degradation].append(_beside_peers(case))
    rows["all"] = [row for some in rows.values() for row in some]
    for degradation, some in rows.items():
        print(f"{degradation:22}" + " ".join(f"{v:10.3f}" for v in np.mean(some, axis=0)))


def _beside_peers(case: Case) -> list[float]:
    """Exact sizes by us and two peers; right cells by us, and by resizing to the true size."""
    size = case.truth.shape[1], case.truth.shape[0]
    native = find_native_grid(case.pixels)
    exact = native.cells == size
    ours = cells_right(native.pixels, case.truth)[0] if exact and native.pixels is not None else 0.0
    return [
        exact,
        by_common_divisor(case.pixels) == size,
        by_autocorrelation(case.pixels) == size,
        ours,
        cells_right(resized_to(case.pixels, size), case.truth)[0],
    ]


Row = tuple[bool, float, bool, float]


def measure(chosen: list[Sprite]) -> dict[str, list[Row]]:
    """Our results by degradation."""
    rows: dict[str, list[Row]] = {name: [] for name in DEGRADATIONS}
    for sprite in chosen:
        for name, case in cases(sprite.name, sprite.pixels):
            if "--only" in sys.argv and name not in sys.argv:
                continue
            start = time.perf_counter()
            native = find_native_grid(case.pixels, source=source_of(case))
            seconds = time.perf_counter() - start
            height, width = case.truth.shape[:2]
            exact = native.cells == (width, height)
            share, right = (0.0, False)
            if exact and native.pixels is not None:
                share, right = cells_right(native.pixels, case.truth)
                if "-v" in sys.argv and not right:
                    print(f"  {sprite.name}, {name}: {share:.4f} of cells ({native.kernel})")
            elif "-v" in sys.argv:
                print(
                    f"  {sprite.name}, {name}: {native} ({native.kernel}), not {width} x {height}"
                )
            rows[name].append((exact, share, right, seconds))
    return {name: row for name, row in rows.items() if row}


def run_large(chosen: list[Sprite]) -> None:
    """Scenes of 4000 x 4000 px, of the sprites seen while tuning: a line each."""
    print(f"\n{'4000 x 4000 px':28} {'exact':>6} {'cells':>6} {'s':>6} {'CPU s':>6} {'MB':>6}")
    for name, case in large([sprite.pixels for sprite in chosen if not sprite.unseen]):
        start, used = time.perf_counter(), time.process_time()
        native = find_native_grid(case.pixels, source=source_of(case))
        seconds, used = time.perf_counter() - start, time.process_time() - used
        exact = native.cells == case.truth.shape[1::-1]
        share = 0.0
        if exact and native.pixels is not None:
            share = cells_right(native.pixels, case.truth)[0]
        peak = _peak_memory(case.pixels) / 1e6
        print(f"{name:28} {exact:6} {share:6.3f} {seconds:6.2f} {used:6.2f} {peak:6.0f}")


def _peak_memory(pixels: np.ndarray) -> int:
    """Bytes that numpy holds at most in a second run, and the picture; tracing is slow."""
    tracemalloc.start()
    find_native_grid(pixels)
    peak = tracemalloc.get_traced_memory()[1] + pixels.nbytes
    tracemalloc.stop()
    return peak


def print_table(title: str, rows: dict[str, list[Row]]) -> None:
    print(f"\n{title:22} {'exact':>6} {'cells':>6} {'all':>6} {'s':>6}")
    for name, row in {**rows, "all": [r for some in rows.values() for r in some]}.items():
        shares = " ".join(f"{np.mean([r[i] for r in row]):6.3f}" for i in range(3))
        print(f"{name:22} {shares} {np.median([r[3] for r in row]):6.2f}")


def every() -> int:
    """Of so many sprites one is taken."""
    return int(sys.argv[sys.argv.index("--every") + 1]) if "--every" in sys.argv else 1


def main() -> None:
    chosen = sprites()
    # Compile and load before the clock runs.
    warm = np.add.outer(np.arange(64) // 8 * 31, np.arange(64) // 8 * 7).astype(np.uint8)
    find_native_grid(np.dstack([warm] * 3 + [np.full_like(warm, 255)]))
    if "--large" in sys.argv:
        run_large(chosen)
        return
    for title, unseen in (("seen", False), ("unseen", True)):
        if ("--seen" in sys.argv and unseen) or ("--unseen" in sys.argv and not unseen):
            continue
        some = [sprite for sprite in chosen if sprite.unseen == unseen][:: every()]
        print_table(f"{title}: {len(some)} sprites", measure(some))
    if "--only" in sys.argv:
        return
    versions = [(name, find_native_grid(pixels)) for name, pixels in photos()]
    wrong = [f"{name}: {found}" for name, found in versions if found.cells]
    print(f"\nphotos told as 'no grid': {1 - len(wrong) / len(versions):.3f} of {len(versions)}")
    print(*wrong, sep="\n")
    if "--fast" not in sys.argv:
        run_large(chosen)
        run_peers(chosen)


if __name__ == "__main__":
    main()
