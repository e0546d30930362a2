"""Choosing colours: few of many, plates within a stock, and the proof sheet.

    python bench/bench_choice.py

The peers in the same run: the greedy choice, scipy's HiGHS on the same transport problem (at 29x29
of 24 colours), and the variants of the proof sheet one by one in this process. Prints seconds, also
of processor time, ratios and the most memory of any process.
"""

from __future__ import annotations

import resource
import tempfile
import time
from dataclasses import replace
from functools import cache, partial
from pathlib import Path

import numpy as np

from img2plate.colour.look_error import View, measure_looks
from img2plate.colour.palette_file import find_palette
from img2plate.image.sizing import SizeWish
from img2plate.image.source_options import SourceOptions
from img2plate.image.target import read_target
from img2plate.pipeline.compare import CompareOptions, make_variant
from img2plate.pipeline.compare import run as compare
from img2plate.pipeline.options import MakeOptions, PackOptions, SizeOptions
from img2plate.plate.limits.choice import wanted_colours
from img2plate.plate.limits.subset import choose_columns, greedy, summed
from img2plate.plate.limits.transport import transport
from img2plate.plate.shade.distinct import Distinct, differences
from img2plate.plate.shade.shading import ShadingOptions, colours_for_search, shade
from img2plate.plate.shade.viewing import Viewing

PHOTO = Path(__file__).parents[1] / "sample_inputs" / "harbour.jpg"
PALETTES = ("quay-24", "harbour-48", "sea-96")
SHADINGS = ("search", "floyd-steinberg", "blue-noise", "none")


def wanted_at(side: int) -> Distinct:
    target = read_target(PHOTO, SizeWish(side, side, "cover"), SourceOptions())
    return wanted_colours(target.grid)


def few_colours() -> None:
    wanted, palette = wanted_at(116), find_palette("css-named")
    start = time.perf_counter()
    off = differences(wanted.linear, palette, "hyab") * wanted.counts[:, None]
    chosen = choose_columns(off, 16)
    seconds = time.perf_counter() - start
    ratio = summed(off, chosen) / summed(off, greedy(off, 16))
    print(f"16 of {len(palette)} colours, 116x116: {seconds:.2f} s, {ratio:.4f} of greedy's sum")


def few_for_search() -> None:
    """The same for the search, and what it gains over the colours that lie nearest."""
    palette, view = find_palette("css-named"), View(2.0, 5.0)
    target = read_target(PHOTO, SizeWish(116, 116, "cover"), SourceOptions())
    options, picture = ShadingOptions("search", specks="few"), cache(target.fine)
    wanted = wanted_at(116)
    off = differences(wanted.linear, palette, "hyab") * wanted.counts[:, None]
    nearest = choose_columns(off, 16)
    choose = partial(colours_for_search, target.grid, palette, 16, options, nearest)
    viewing = Viewing(view, picture)
    choose(viewing)
    start = time.perf_counter()
    chosen = choose(viewing)
    seconds = time.perf_counter() - start
    errors = []
    for kept in (chosen, nearest):
        few = replace(palette, beads=tuple(palette.beads[i] for i in kept))
        cells = shade(target.grid, few, options, viewing).cells
        shown = few.linear.astype(np.float32)[cells]
        errors.append(measure_looks(picture(view.per_cell).rgb, shown, cells, view).error)
    print(
        f"16 of {len(palette)} colours for search, 116x116: {seconds:.2f} s, look error"
        f" {errors[0]:.2f}, with the nearest ones {errors[1]:.2f}"
    )


def stock_limits(wanted: Distinct, colours: int, share: float) -> np.ndarray:
    """A random stock that holds `share` times as many beads as the plate takes."""
    parts = np.random.default_rng(0).dirichlet(np.ones(colours))
    return np.asarray(np.ceil(parts * wanted.counts.sum() * share), np.int64)


def within_a_stock() -> None:
    for side, name, share in (
        (29, "quay-24", 2.0), (116, "sea-96", 5.0), (116, "sea-96", 2.0),
        (116, "sea-96", 1.05), (116, "sea-96", 1.0),
    ):  # fmt: skip
        wanted, palette = wanted_at(side), find_palette(name)
        costs = differences(wanted.linear, palette, "hyab")
        limits = stock_limits(wanted, len(palette), share)
        transport(costs[:9], wanted.counts[:9], limits)  # compiles, or loads what was compiled
        start, busy = time.perf_counter(), time.process_time()
        flow = transport(costs, wanted.counts, limits)
        seconds, busy = time.perf_counter() - start, time.process_time() - busy
        beside = peer(costs, wanted.counts, limits, flow, seconds) if side == 29 else ""
        print(
            f"stock of {share:g} times the beads, {side}x{side} x {name}: {seconds:.2f} s{beside}"
        )


def peer(
    costs: np.ndarray, counts: np.ndarray, limits: np.ndarray, flow: np.ndarray, seconds: float
) -> str:
    """What HiGHS takes, and how far apart the sums are."""
    from scipy.optimize import linprog
    from scipy.sparse import eye, kron

    n, m = costs.shape
    start = time.perf_counter()
    found = linprog(
        costs.ravel(),
        A_ub=kron(np.ones((1, n)), eye(m)),
        b_ub=limits,
        A_eq=kron(eye(n), np.ones((1, m))),
        b_eq=counts,
        method="highs",
    )
    theirs = time.perf_counter() - start
    apart = abs(found.fun - (flow * costs).sum()) / found.fun
    return f", HiGHS {theirs:.2f} s: {theirs / seconds:.0f} times faster, sums {apart:.0e} apart"


def proof_sheet() -> None:
    with tempfile.TemporaryDirectory() as out:
        make = MakeOptions(
            size=SizeOptions(size=(116, 116), fit="cover"), pack=PackOptions(out=Path(out))
        )
        options = CompareOptions(PALETTES, SHADINGS, make=make)
        compare(PHOTO, CompareOptions(PALETTES[:1], SHADINGS[:2], make=make))
        done = compare(PHOTO, options)
    most = max(
        resource.getrusage(who).ru_maxrss
        for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)
    )
    start, busy = time.perf_counter(), time.process_time()
    for number, each in enumerate(options.variants(), 1):
        make_variant(number, PHOTO, each, None)
    alone, busy = time.perf_counter() - start, time.process_time() - busy
    print(
        f"proof sheet of 3 x 4 variants, 116x116: {done.seconds:.1f} s;"
        f" plates alone, one by one: {alone:.1f} s ({busy:.1f} s of processor);"
        f" at most {most / 1024:.0f} MB a process"
    )


if __name__ == "__main__":
    proof_sheet()  # first: the most memory of this process is its own
    few_colours()
    few_for_search()
    within_a_stock()
