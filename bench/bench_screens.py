"""Pixel art found on pictures of screens (`screens.py`), with `crop` auto.

    python bench/bench_screens.py [--seen | --unseen] [--screens N] [--kinds KIND...] [-v]

Columns: pieces of art; share of them found with the right pitch and each side within a cell; of the
found ones, share with every cell right, where nothing lies on it (dE00 up to 3); share of screens
on which the part that is taken is one of them; parts that are no art, on all screens; median and
most CPU seconds. Lossless screens, JPEG files of quality 85 and 75, and photos and drawings of
`kinds_set` on which a part would be false. Loose art has no ground of its own: what is behind it
shows in its empty cells, and its box is that of the cells it has.
"""

from __future__ import annotations

import argparse
import os
import time

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # as the program does

import numpy as np
from bench_native import cells_right
from kinds_set import DRAWING, PHOTO, kind_cases
from screens import Art, Screen, saved, screens

from img2plate.base.errors import OptionError
from img2plate.image.jpeg.source import JpegSource
from img2plate.image.opened import open_picture
from img2plate.image.read import Picture
from img2plate.image.screen.propose import Piece, hint, propose
from img2plate.image.source_options import SourceOptions

HEADS = ("art", "found", "cells", "taken", "false", "CPU s", "most")


def main() -> None:
    wanted = argparse.ArgumentParser()
    wanted.add_argument("--seen", action="store_true")
    wanted.add_argument("--unseen", action="store_true")
    wanted.add_argument("--screens", type=int, default=240)
    wanted.add_argument("--kinds", nargs="*", default=())
    wanted.add_argument("--others", type=int, default=0, help="Every so many of kinds_set.")
    wanted.add_argument("-v", action="store_true")
    said = wanted.parse_args()
    all_screens = screens(said.screens, tuple(said.kinds))
    for title, unseen in (("seen", False), ("unseen", True)):
        if (said.seen and unseen) or (said.unseen and not unseen):
            continue
        some = [one for one in all_screens if one.unseen == unseen]
        for quality in (0, 85, 75):
            files = [saved(one, quality) for one in some] if quality else some
            table(f"{title}, {f'JPEG {quality}' if quality else 'lossless'}", files, loud=said.v)
    if said.others:
        others(said.others, loud=said.v)


def table(title: str, some: list[Screen], *, loud: bool) -> None:
    """A row for each kind of screen."""
    print(f"\n{title}: {len(some)} screens".ljust(32) + "".join(f"{head:>8}" for head in HEADS))
    rows: dict[str, list[list[float]]] = {}
    for one in some:
        row = judged(one, loud=loud)
        loose = any(art.cells[..., 3].min() == 0 for art in one.art)
        nearest = ["nearest", f"nearest, {'loose' if loose else 'own ground'}"]
        for kind in (one.kind, *(nearest if one.kind not in ("soft", "none") else [])):
            rows.setdefault(kind, []).append(row)
    for kind, found in sorted(rows.items()):
        art, right, exact, taken, with_art, false, seconds = np.array(found).T
        shares = (right.sum() / max(1, art.sum()), exact.sum() / max(1, right.sum()),
                  taken.sum() / max(1, with_art.sum()))  # fmt: skip
        values = (*shares, false.sum(), np.median(seconds), seconds.max())
        print(f"{kind:31} {art.sum():7.0f}" + "".join(f"{value:8.3f}" for value in values))


def judged(one: Screen, *, loud: bool) -> list[float]:
    """Pieces, found, of these with right cells, taken, whether there is art, false, seconds."""
    source = JpegSource(one.file) if one.file else None
    picture = Picture(one.pixels, one.name, (), source, one.file is not None)
    start = time.process_time()
    try:
        pieces = propose(one.pixels, source, lossy=picture.is_lossy).pieces
    except OptionError:
        pieces = ()
    seconds = time.process_time() - start
    found = [(art, piece) for art in one.art for piece in pieces if is_right(art, piece)]
    false = [piece for piece in pieces if not any(_touch(piece, art) for art in one.art)]
    if loud and (len(found) < len(one.art) or false):
        print(
            f"  {one.name}: {[(*art.box, art.pitch) for art in one.art]}, {list(map(str, pieces))}"
        )
    exact = sum(cells_are_right(picture, art, piece) for art, piece in found)
    taken = bool(pieces) and any(piece == pieces[0] for _, piece in found)
    return [len(one.art), len(found), exact, taken, bool(one.art), len(false), seconds]


def is_right(art: Art, piece: Piece) -> bool:
    """Whether a piece has the pitch, and all sides within a cell."""
    x, y, wide, high = art.box
    crop = piece.crop
    sides = (
        crop.x - x,
        crop.y - y,
        crop.x + crop.width - x - wide,
        crop.y + crop.height - y - high,
    )
    return piece.pitch == art.pitch and max(map(abs, sides)) <= art.pitch


def cells_are_right(picture: Picture, art: Art, piece: Piece) -> bool:
    """Whether all cells come back that nothing lies on."""
    native = piece.native.pixels if piece.native is not None else None
    if native is None:
        opened = open_picture(picture, SourceOptions(crop=piece.crop, cells=piece.cells))
        native = opened.taken.native.pixels
    assert native is not None
    left, top = (
        (at - start) // piece.pitch
        for at, start in ((piece.crop.x, art.box[0]), (piece.crop.y, art.box[1]))
    )
    rows, columns = native.shape[:2]
    y, x = np.arange(rows) + top, np.arange(columns) + left
    y_in, x_in = (y >= 0) & (y < art.cells.shape[0]), (x >= 0) & (x < art.cells.shape[1])
    cells, clean = art.cells[np.ix_(y[y_in], x[x_in])], art.clean[np.ix_(y[y_in], x[x_in])]
    ours = native[np.ix_(y_in, x_in)]
    return cells_right(ours[clean][None], cells[clean][None])[1]


def _touch(piece: Piece, art: Art) -> bool:
    """Whether a piece is of the art, if only in part."""
    x, y, wide, high = art.box
    crop = piece.crop
    across = min(crop.x + crop.width, x + wide) - max(crop.x, x)
    down = min(crop.y + crop.height, y + high) - max(crop.y, y)
    return across > 0 and down > 0 and across * down >= 0.5 * crop.width * crop.height


def others(every: int, *, loud: bool) -> None:
    """Photos and drawings without a grid: what is hinted at there is false."""
    counts: dict[str, list[float]] = {}
    for case in list(kind_cases((DRAWING, PHOTO)))[::every]:
        start = time.process_time()
        said = hint(case.pixels, lossy=False)
        seconds = time.process_time() - start
        counts.setdefault(case.kind, []).append(bool(said) + 0.0)
        counts.setdefault(f"{case.kind}, CPU s a megapixel", []).append(
            seconds * 1e6 / case.pixels[..., 0].size
        )
        if loud and said:
            print(f"  {case.name}: {said[0]}")
    print()
    for what, values in sorted(counts.items()):
        print(f"{what:31} {len(values):7} {np.mean(values):7.3f} {np.median(values):7.3f}")


if __name__ == "__main__":
    main()
