"""The search by its looks against general-purpose quantisers, from near and from far.

    python bench/bench_near_far.py [--photos NAME,NAME] [--counts 48,139] [--side 58] [--unseen]

Twelve photos, a third of them unseen while tuning; palettes of 24 (quay-24), 48 (harbour-48) and
139 colours (CSS). Two meters judge, S-CIELAB and FLIP (its authors' package), from 0.5, 1, 2 and
4 m; neither is what the search aims at. A ratio is ours over the best peer of that photo, palette,
meter and distance: nearest by CIEDE2000, nearest by CIELAB, Pillow's Floyd-Steinberg, libimagequant
with and without dithering (the `bench` extra). Then what no meter sees: excess contrast of
neighbours, specks; SSIM from 2 m; processor time; and drawn pictures.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache, partial
from pathlib import Path

import numpy as np
from meters import DISTANCES, PER_CELL, Figures, judge
from photo_set import NEAR_FAR, NEAR_FAR_UNSEEN, palette, photo
from shading_peers import imagequant_flat, imagequant_full, nearest_cielab, pillow

from img2plate.colour.look_error import View
from img2plate.colour.palette import Palette
from img2plate.colour.palette_file import find_palette
from img2plate.image.grid import Grid
from img2plate.plate.shade.match import nearest
from img2plate.plate.shade.shading import ShadingOptions, shade
from img2plate.plate.shade.viewing import Viewing

sys.path.insert(0, str(Path(__file__).parent.parent / "tests"))
from plain_pictures import PLAIN

PEERS: dict[str, Callable[[np.ndarray, Palette], np.ndarray]] = {
    "nearest, CIEDE2000": partial(nearest, difference="ciede2000"),
    "nearest, CIELAB": nearest_cielab,
    "Pillow, Floyd-Steinberg": pillow,
    "libimagequant": imagequant_flat,
    "libimagequant, dithered": imagequant_full,
}
OURS = {
    "nearest, HyAB": ShadingOptions("none"),
    "calm": ShadingOptions("search", look="calm"),
    "balanced": ShadingOptions("search", look="balanced"),
    "true": ShadingOptions("search", look="true"),
}


@dataclass(frozen=True)
class Row:
    """One plate's figures beside the best peers'."""

    photo: str
    count: int
    method: str
    ratios: tuple[float, ...]
    """S-CIELAB from each distance, then FLIP."""
    figures: Figures
    seconds: float


def colours(count: int) -> Palette:
    named = {24: "quay-24", 48: "harbour-48"}
    return find_palette(named[count]) if count in named else palette(count)


def rows_of(name: str, count: int, side: int) -> Iterator[Row]:
    """Our plates of one photo in one palette."""
    picture, beads = photo(name), colours(count)
    grid, fine = picture.on(side), picture.on(side, PER_CELL)
    peers = [judge(fine, grid, peer(grid.rgb, beads), beads) for peer in PEERS.values()]
    best = [min(values) for values in zip(*(p.s_cielab + p.flip for p in peers), strict=True)]
    viewing = Viewing(View(2.0, 5.0), cache(lambda _per_cell: fine))
    for method, options in OURS.items():
        start = time.process_time()
        cells = shade(grid, beads, options, viewing).cells
        seconds = time.process_time() - start
        found = judge(fine, grid, cells, beads)
        own = found.s_cielab + found.flip
        ratios = tuple(a / b for a, b in zip(own, best, strict=True))
        yield Row(name, count, method, ratios, found, seconds)


def line(label: str, ratios: np.ndarray, row: tuple[float, ...]) -> str:
    excess, specks, ssim, seconds = row
    shown = " ".join(f"{ratio:5.3f}" for ratio in ratios)
    return f"  {label:34}{shown}  {excess:5.1f} {specks:6.1%} {ssim:.3f} {seconds:5.2f} s"


def rest(rows: list[Row]) -> tuple[float, ...]:
    """Means of what is not a ratio."""
    each = [(r.figures.excess, r.figures.specks, r.figures.ssim, r.seconds) for r in rows]
    return tuple(np.mean(each, axis=0))


def report(rows: list[Row], counts: list[int]) -> None:
    """Means and worst cases by palette and method."""
    head = " ".join(f"{d:>3g} m " for d in DISTANCES)
    print(f"\n{'':36}S-CIELAB{'':16}FLIP\n{'':36}{head}{head}excess specks  SSIM  time")
    for method in OURS:
        for count in [*counts, 0]:
            some = [r for r in rows if r.method == method and count in (0, r.count)]
            ratios = np.array([r.ratios for r in some])
            label = f"{method}, {count or 'all'} colours"
            print(line(label, ratios.mean(axis=0), rest(some)))
            print(f"  {'  worst':34}" + " ".join(f"{x:5.2f}" for x in ratios.max(axis=0)))


def plain() -> None:
    """Drawn pictures: the share of cells that are as a person wants them."""
    beads = find_palette("harbour-48")
    print("\nDrawn pictures, harbour-48: share of cells as they should be")
    for name, draw in PLAIN.items():
        drawn = draw()
        grid, viewing = drawn.on(), Viewing(View(2.0, 5.0), drawn.on)
        shown = []
        for method, options in OURS.items():
            good = drawn.good(shade(grid, beads, options, viewing).cells, grid, beads)
            shown.append(f"{method} {good:.1%}")
        print(f"  {name:16}{', '.join(shown)}, Pillow {_drawn_peer(drawn.good, grid, beads):.1%}")


def _drawn_peer(
    good: Callable[[np.ndarray, Grid, Palette], float], grid: Grid, beads: Palette
) -> float:
    return good(pillow(grid.rgb, beads), grid, beads)


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    asked.add_argument("--photos", default="", help="names, else the seen ones")
    asked.add_argument("--unseen", action="store_true", help="those kept apart while tuning")
    asked.add_argument("--counts", default="48,139")
    asked.add_argument("--side", type=int, default=58)
    options = asked.parse_args()
    counts = [int(count) for count in options.counts.split(",")]
    names = options.photos.split(",") if options.photos else NEAR_FAR
    rows = []
    for name in NEAR_FAR_UNSEEN if options.unseen else names:
        for count in counts:
            for row in rows_of(name, count, options.side):
                rows.append(row)
                label = f"{name}, {count}, {row.method}"
                print(line(label, np.array(row.ratios), rest([row])), flush=True)
    report(rows, counts)
    plain()


if __name__ == "__main__":
    main()
