"""Drawings beside nearest colours: how many beads are none of the drawing's, which lines break.

    python bench/bench_drawings.py [--side 58] [--palette harbour-48]

Ten drawings of our own and ten pieces of clip art (seen), five more kept unseen. For each: beads in
use; odd beads, in percent of the plate (the bead is of no flat colour of the drawing; where the
drawing is shaded nothing is counted); pieces (of each flat colour but the ground, pieces that hang
together, how many there are on the plate beyond those in the picture, or too few: lines broken or
lost); processor seconds. The peer is the nearest bead to each cell's mean, as drawings were before.
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from drawings_set import found_drawings, ours
from scipy.ndimage import label

from img2plate.colour.palette import Palette
from img2plate.colour.palette_file import find_palette
from img2plate.colour.spaces import linear2bytes
from img2plate.image.grid import Grid
from img2plate.image.kind.kind import Kind, KindTold
from img2plate.image.sample import sample
from img2plate.image.sizing import SizeWish
from img2plate.image.target import Target, averaged_target
from img2plate.plate.shade.match import nearest
from img2plate.plate.shade.shading import shade

NEAR = 40
"""Levels within which a pixel of the picture is of a flat colour."""
LEAST_PIECE = 0.2
"""Cells that a piece in the picture has at least to be counted."""


@dataclass(frozen=True)
class Figures:
    """Of one plate."""

    colours: int
    odd: float
    pieces: int


def measured(cells: np.ndarray, target: Target, own: np.ndarray) -> Figures:
    """cells: the plate; own: our plate, which says what bead each flat colour has."""
    grid = target.grid
    assert grid.flat is not None
    beads = {int(f): int(own[grid.flat == f][0]) for f in np.unique(grid.flat) if f >= 0}
    flat = grid.filled & (grid.flat >= 0)
    odd = flat & (cells >= 0) & ~np.isin(cells, list(beads.values()))
    ground = int(np.bincount(grid.flat[flat]).argmax())
    pieces = 0
    for number, bead in beads.items():
        if bead != beads[ground]:
            wanted = _pieces_in_picture(target, number)
            pieces += abs(label(cells == bead, np.ones((3, 3)))[1] - wanted)
    return Figures(len(np.unique(cells[cells >= 0])), odd.sum() / grid.filled.sum(), pieces)


def _pieces_in_picture(target: Target, flat: int) -> int:
    """Pieces of a flat colour's pixels that hang together."""
    assert target.grid.flat is not None
    colour = linear2bytes(target.grid.rgb[target.grid.flat == flat][0])
    off = np.abs(target.pixels[..., :3].astype(int) - colour.astype(int)).max(axis=-1)
    pieces, count = label((off <= NEAR) & (target.pixels[..., 3] >= 128), np.ones((3, 3)))
    area = np.bincount(pieces.ravel(), minlength=count + 1)[1:]
    return int((area >= LEAST_PIECE * np.prod(target.framing.step)).sum())


def plain(target: Target, palette: Palette) -> np.ndarray:
    """Nearest beads to the means of the same cells."""
    grid: Grid = sample(target.pixels, target.framing, kind=Kind.DRAWING)
    cells = nearest(grid.rgb, palette, difference="hyab")
    return np.where(target.grid.filled, cells, -1)


def run(pictures: Iterable[tuple[str, np.ndarray]], side: int, palette: Palette) -> None:
    """Print a line for each picture, and the sums."""
    rows = []
    for name, pixels in pictures:
        start = time.process_time()
        told = KindTold(Kind.DRAWING, "")
        target = averaged_target(pixels, SizeWish(side, side), name, told)
        cells = shade(target.grid, palette).cells
        seconds = time.process_time() - start
        if target.grid.flat is None:
            print(f"  {name:30} averaged")
            continue
        both = [measured(c, target, cells) for c in (cells, plain(target, palette))]
        shaded = (target.grid.filled & (target.grid.flat < 0)).sum() / target.grid.filled.sum()
        rows.append(both)
        print(f"  {name:30}{_shown(both[0])}   {_shown(both[1])}  {shaded:5.0%} {seconds:5.2f} s")
    for title, number in (("ours", 0), ("nearest", 1)):
        some = [row[number] for row in rows]
        colours, odd = np.mean([f.colours for f in some]), np.mean([f.odd for f in some])
        pieces = sum(f.pieces for f in some)
        print(f"  {title:10} mean {colours:4.1f} colours, {odd:6.2%} odd, {pieces} pieces off")


def _shown(figures: Figures) -> str:
    return f"{figures.colours:4} {figures.odd:7.2%} {figures.pieces:4}"


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    asked.add_argument("--side", type=int, default=58)
    asked.add_argument("--palette", default="harbour-48")
    options = asked.parse_args()
    palette = find_palette(options.palette)
    head = f"{'':32}ours: colours, odd, pieces; nearest the same; shaded, time"
    for title, pictures in (
        ("our own", ours()),
        ("clip art", found_drawings(unseen=False)),
        ("clip art, unseen", found_drawings(unseen=True)),
    ):
        print(f"{title}, {options.side} beads, {palette.name}\n{head}")
        run(pictures, options.side, palette)


if __name__ == "__main__":
    main()
