"""Shadings against general-purpose quantisers: look error, SSIM, specks, time.

    python bench/bench_shading.py [--quick] [--last-look] [--times]

Six photos and two kept for a last look, 24, 64 and 139 colours of CSS, 58 and 116 beads of 5 mm a
side, seen from 2 m (and, for the search, from 1 m and 4 m). A ratio is ours over the best peer of
that case. `--quick` leaves out 116 beads, `--last-look` runs only the two photos kept apart,
`--times` only the clock. Peers need the `bench` extra; ImageMagick comes from Debian.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from dataclasses import dataclass
from functools import partial

import numpy as np
from photo_set import COUNTS, LAST_LOOK, PHOTOS, SIDES, Photo, palette, photo
from PIL import Image
from shading_peers import DITHERING, FLAT, pillow
from timing import fastest

from img2plate.colour.look_error import Looks, View, measure_looks
from img2plate.colour.palette import Palette
from img2plate.image.grid import Grid
from img2plate.plate.shade.shading import ShadingOptions, shade
from img2plate.plate.shade.viewing import Viewing

DISTANCES = (2.0, 1.0, 4.0)
OURS = {
    "none": ShadingOptions("none"),
    "none, hyab": ShadingOptions("none", difference="hyab"),
    "none, cielab": ShadingOptions("none", difference="cielab"),
    "none, ciede2000": ShadingOptions("none", difference="ciede2000"),
    "none, oklab": ShadingOptions("none", difference="oklab"),
    "floyd-steinberg": ShadingOptions("floyd-steinberg"),
    "atkinson": ShadingOptions("atkinson"),
    "bayer": ShadingOptions("bayer"),
    "blue-noise": ShadingOptions("blue-noise"),
    "search, free": ShadingOptions("search", specks="any"),
    "search, few": ShadingOptions("search", specks="few"),
}
SEARCHES = ("search, free", "search, few")


@dataclass(frozen=True)
class Row:
    """One plate's figures."""

    side: int
    count: int
    photo: str
    method: str
    looks: dict[float, Looks]


def measure(
    picture: Photo, side: int, colours: Palette, cells: np.ndarray, distance: float
) -> Looks:
    view = View(distance, 5.0)
    source = picture.on(side, view.per_cell).rgb
    return measure_looks(source, colours.linear.astype(np.float32)[cells], cells, view)


def rows_of(picture: Photo, side: int, count: int) -> Iterator[Row]:
    """Plates by all methods for one case."""
    colours, grid = palette(count), picture.on(side)
    for name, peer in {**DITHERING, **FLAT}.items():
        cells = peer(grid.rgb, colours)
        looks = {d: measure(picture, side, colours, cells, d) for d in DISTANCES}
        yield Row(side, count, picture.name, name, looks)
    for name, options in OURS.items():
        looks = {}
        for distance in DISTANCES if name in SEARCHES else DISTANCES[:1]:
            made = shade(
                grid,
                colours,
                options,
                Viewing(View(distance, 5.0), lambda per_cell: picture.on(side, per_cell)),
            )
            looks[distance] = measure(picture, side, colours, made.cells, distance)
        yield Row(side, count, picture.name, name, looks)


def best_peer(rows: list[Row], distance: float) -> float:
    return min(r.looks[distance].error for r in rows if r.method not in OURS)


def report(cases: dict[tuple[str, int, int], list[Row]], sides: tuple[int, ...]) -> None:
    """Means by method, then the search case by case, then what is judged."""
    for side in sides:
        print(f"\n{side} x {side} beads from 2 m: look error, specks; means over the photos")
        for name in [*DITHERING, *FLAT, *OURS]:
            cells = [_mean_cell(cases, side, count, name) for count in COUNTS]
            print(f"  {name:36}" + "".join(f"{cell:>18}" for cell in cells))
    print("\nsearch over best peer, by case: error, ratio, SSIM less the best ditherer's, specks")
    for (name, side, count), rows in cases.items():
        ditherer = max(r.looks[2.0].similarity for r in rows if r.method in DITHERING)
        line = f"  {name:18}{side:4}{count:5}"
        for method in SEARCHES:
            looks = next(r for r in rows if r.method == method).looks[2.0]
            ratio = looks.error / best_peer(rows, 2.0)
            more = looks.similarity - ditherer
            line += f"   {looks.error:5.1f} {ratio:.3f} {more:+.3f} {looks.specks:5.1%}"
        print(line)
    for method in SEARCHES:
        _judge(cases, method)


def _mean_cell(
    cases: dict[tuple[str, int, int], list[Row]], side: int, count: int, method: str
) -> str:
    looks = [
        row.looks[2.0]
        for (_, s, c), rows in cases.items()
        for row in rows
        if (s, c) == (side, count) and row.method == method
    ]
    return f"{np.mean([x.error for x in looks]):.1f}, {np.mean([x.specks for x in looks]):.1%}"


def _judge(cases: dict[tuple[str, int, int], list[Row]], method: str) -> None:
    for distance in DISTANCES:
        ratios, below = [], 0
        specks: dict[int, list[float]] = {c: [] for c in COUNTS}
        for (_, _, count), rows in cases.items():
            looks = next(r for r in rows if r.method == method).looks[distance]
            ratios.append(looks.error / best_peer(rows, distance))
            ditherer = max(r.looks[distance].similarity for r in rows if r.method in DITHERING)
            below += looks.similarity < ditherer
            specks[count].append(looks.specks)
        lone = ", ".join(f"{c} colours {np.mean(s):.1%}" for c, s in specks.items())
        print(
            f"{method}, {distance:g} m, {len(ratios)} cases: ratio mean {np.mean(ratios):.3f},"
            f" worst {max(ratios):.3f}; SSIM below the best ditherer's in {below}; specks {lone}"
        )


def _same(fine: Grid, _per_cell: int) -> Grid:
    """The picture as it was sampled once: its sampling is not on the clock."""
    return fine


def times() -> None:
    """Seconds of the search by size, and of Floyd-Steinberg beside Pillow's."""
    colours, picture = palette(139), photo("coffee")
    print("\nsearch x 139 colours, seconds (us a cell)")
    for side in (58, 116, 290, 1000):
        grid, view = picture.on(side), View(2.0, 5.0)
        fine = picture.on(side, 6 if side <= 290 else 3)
        line = f"  {side:4} x {side}"
        for method in SEARCHES:
            viewing = Viewing(view, partial(_same, fine))
            run = partial(shade, grid, colours, OURS[method], viewing=viewing)
            taken = fastest(run, 3 if side <= 290 else 1)
            line += f"   {method} {taken:.2f} ({taken / side**2 * 1e6:.0f})"
        print(line)
    grid = picture.on(1000)
    ours = fastest(lambda: shade(grid, colours, ShadingOptions("floyd-steinberg")))
    peer = fastest(lambda: pillow(grid.rgb, colours))
    print(
        f"Floyd-Steinberg 1000 x 1000 x 139: {ours:.2f} s, Pillow {peer:.2f} s: {ours / peer:.1f}"
    )


def main() -> None:
    if "--times" in sys.argv:
        times()
        return
    names = LAST_LOOK if "--last-look" in sys.argv else PHOTOS
    sides = SIDES[:1] if "--quick" in sys.argv else SIDES
    cases = {}
    for name in names:
        picture = photo(name)
        for side in sides:
            for count in COUNTS:
                print(f"\r{name} {side} {count}      ", end="", file=sys.stderr)
                cases[name, side, count] = list(rows_of(picture, side, count))
    print("", file=sys.stderr)
    report(cases, sides)
    if names == PHOTOS:
        times()


if __name__ == "__main__":
    Image.MAX_IMAGE_PIXELS = None
    main()
