"""Sprites whose cells drift: lines that are straight but unevenly spaced, as some programs draw.

    python bench/drift.py [--seen | --unseen] [--every N] [-v]

Each case has slightly textured blocks, a blur and JPEG compression besides. `jittered`: each line
is off its place by up to a quarter of the pitch. `adding up`: each width is off by up to a quarter,
and so all that follows is. `even`: neither, for comparison.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Iterator

import numpy as np
from bench_native import cells_right, every
from degradations import SEED, Case, compressed, on_random_ground
from PIL import Image, ImageFilter
from sprite_set import sprites

from img2plate.image.native.recover import find_native_grid

WAYS = ("jittered", "adding up", "even")
OFF = 0.25
"""Share of the pitch by which lines, or widths, are off at most."""
QUALITY = 80


def lines(cells: int, pitch: float, way: str, rng: np.random.Generator) -> np.ndarray:
    """(cells + 1,) places of the lines in pixels, from 0 on."""
    places = np.arange(cells + 1) * pitch
    if way == "jittered":
        places += rng.uniform(-OFF, OFF, cells + 1) * pitch
    elif way == "adding up":
        places[1:] = np.cumsum(pitch * (1 + rng.uniform(-OFF, OFF, cells)))
    whole: np.ndarray = np.rint(places - places[0]).astype(int)
    return whole


def drifting(native: np.ndarray, way: str, rng: np.random.Generator) -> Case:
    """A sprite (h, w, 4) drawn on uneven lines."""
    native = on_random_ground(native, rng)
    pitch = float(rng.uniform(6, 12))
    down, across = (lines(side, pitch, way, rng) for side in native.shape[:2])
    big = native.repeat(np.diff(down), axis=0).repeat(np.diff(across), axis=1).astype(np.float32)
    fine = rng.normal(0, 3, big.shape[:2])
    slopes = rng.normal(0, 3, (2, *native.shape[:2])).repeat(np.diff(down), axis=1)
    slopes = slopes.repeat(np.diff(across), axis=2)
    within = (_within(down)[:, None] * slopes[0] + _within(across) * slopes[1]) + fine
    textured = np.clip(np.rint(big[..., :3] + within[..., None]), 0, 255).astype(np.uint8)
    blurred = Image.fromarray(textured).filter(ImageFilter.GaussianBlur(rng.uniform(0.4, 0.9)))
    rgb = np.asarray(blurred)
    opaque = np.dstack([rgb, np.full(rgb.shape[:2], 255, np.uint8)])
    return compressed(Case(opaque, native), QUALITY)


def _within(places: np.ndarray) -> np.ndarray:
    """Where each pixel lies in its cell, -1..1."""
    widths = np.diff(places)
    at = np.arange(places[-1]) - places[:-1].repeat(widths)
    shares: np.ndarray = (2 * at + 1) / widths.repeat(widths) - 1
    return shares


def cases(name: str, native: np.ndarray) -> Iterator[tuple[str, Case]]:
    """All ways of a sprite (h, w, 4), each with a seed of its own."""
    for number, way in enumerate(WAYS):
        rng = np.random.default_rng([SEED, 100 + number, *name.encode()])
        yield way, drifting(native, way, rng)


def main() -> None:
    for title, unseen in (("seen", False), ("unseen", True)):
        if ("--seen" in sys.argv and unseen) or ("--unseen" in sys.argv and not unseen):
            continue
        some = [sprite for sprite in sprites() if sprite.unseen == unseen][:: every()]
        rows: dict[str, list[tuple[bool, float, float]]] = {way: [] for way in WAYS}
        for sprite in some:
            for way, case in cases(sprite.name, sprite.pixels):
                start = time.process_time()
                native = find_native_grid(case.pixels)
                seconds = time.process_time() - start
                exact = native.cells == case.truth.shape[1::-1]
                share = np.nan
                if exact and native.pixels is not None:
                    share = cells_right(native.pixels, case.truth)[0]
                elif "-v" in sys.argv:
                    print(f"  {sprite.name}, {way}: {native}, not {case.truth.shape[1::-1]}")
                rows[way].append((exact, share, seconds))
        print(f"\n{title}: {len(some)} sprites".ljust(24) + "exact  cells  CPU s")
        for way, row in rows.items():
            exact, share, seconds = np.array(row).T
            means = exact.mean(), np.nanmean(share) if exact.any() else 0.0, np.median(seconds)
            print(f"{way:22} " + " ".join(f"{value:6.3f}" for value in means))


if __name__ == "__main__":
    main()
