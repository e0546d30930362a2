"""Find a grid, or take the one that is wished for, and put the answer together."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from img2plate.base.arrays import Pixels
from img2plate.base.errors import OptionError
from img2plate.image.kind import colour_count, has_single_pixel_detail, is_native_sprite
from img2plate.image.native import (
    FEW_COLOURS,
    MOST_NATIVE_SIDE,
    NO_GRID,
    NativeGrid,
    already_native,
    could_be_native,
)
from img2plate.image.native.axis import Axis, Lines, axes_of
from img2plate.image.native.colours import cell_colours, premultiplied, straight
from img2plate.image.native.guess import Guess
from img2plate.image.native.loops import HARDEST, NEAREST
from img2plate.image.native.refine import refine
from img2plate.image.native.search import WINDOW, search
from img2plate.image.native.solver import kept_cells

KERNELS = (
    "nearest",
    "area",
    "shrunk",
    "shrunk-sharp",
    "bilinear",
    "bicubic",
    "lanczos",
    "bicubic-sharp",
    "lanczos-wide",
)
"""By number in `loops`; sharp is a = -0.75, wide has four lobes."""
LEAST_GAIN, SURE_GAIN = 0.6, 1.0
"""Nats a pixel: below the first there is no grid, from the second on it is sure."""
_FEW_EDGES = 6
LEAST_CELLS = 3
REDUCED_PITCH = 7.0
LARGE = 1200
"""Pixels: a longer side is looked at in two steps."""


def find(pixels: Pixels) -> NativeGrid:
    """Search a picture (h, w, 4) for its grid."""
    if min(pixels.shape[:2]) < 2 * LEAST_CELLS:
        return _without_grid(pixels)
    first = _first_look(pixels)
    if first is not None and first[1] < LEAST_GAIN:
        return NO_GRID
    if first is not None and (times := _reducible(first[0])) > 1:
        return _on_reduced(pixels, times)
    planes = _planes(pixels)
    x, y = axes_of(planes)
    guess, better = search(x, y, planes)
    del planes  # of a large picture, a good part of the memory
    few = min(a.length / g.pitch for a, g in ((x, guess.x), (y, guess.y))) < LEAST_CELLS
    if better < LEAST_GAIN or few:
        return _without_grid(pixels)
    found = _result(pixels, guess, _confidence(better))
    blurred = guess.kind != NEAREST and better >= SURE_GAIN
    if could_be_native(pixels) and not blurred and not _gives_back(found, pixels):
        return already_native(pixels)
    return found


def find_as_wished(
    pixels: Pixels, cells: tuple[int, int] | None, cell_px: tuple[float, float] | None
) -> NativeGrid:
    """Take a grid of so many cells, or of a pitch at the phase that fits best.

    Raises OptionError for a wish that the picture cannot hold.
    """
    x, y = axes_of(_planes(pixels))
    guess = _of_cells(x, y, cells) if cells is not None else _of_pitch(x, y, cell_px or (1, 1))
    return _result(pixels, guess, 1.0)


def _without_grid(pixels: Pixels) -> NativeGrid:
    """What was not enlarged: a sprite at one pixel per cell, or no grid at all."""
    small = max(pixels.shape[:2]) <= MOST_NATIVE_SIDE
    plain = colour_count(pixels) <= FEW_COLOURS and has_single_pixel_detail(pixels)
    return already_native(pixels) if is_native_sprite(pixels) and (small or plain) else NO_GRID


def _first_look(pixels: Pixels) -> tuple[Guess, float] | None:
    """Search the busiest part of a large picture: enough to tell a photo. None for a small one."""
    height, width = pixels.shape[:2]
    if max(height, width) <= LARGE:
        return None
    top, left = (_busiest(pixels, axis) for axis in (0, 1))
    planes = _planes(pixels[top : top + WINDOW, left : left + WINDOW])
    x, y = axes_of(planes)
    return search(x, y, planes)


def _reducible(guess: Guess) -> int:
    """How many times smaller a smooth picture may be made and still show its grid."""
    smooth = guess.kind > HARDEST
    return int(min(guess.x.pitch, guess.y.pitch) / REDUCED_PITCH) if smooth else 1


def _on_reduced(pixels: Pixels, times: int) -> NativeGrid:
    """Find the grid of a smooth picture on a smaller one, and scale it back."""
    import cv2

    height, width = pixels.shape[:2]
    size = (round(width / times), round(height / times))
    planes = cv2.resize(premultiplied(pixels), size, interpolation=cv2.INTER_AREA)
    found = find(straight(planes))
    scale = (width / size[0], height / size[1])
    return replace(
        found,
        cell_px=(found.cell_px[0] * scale[0], found.cell_px[1] * scale[1]),
        offset_px=(found.offset_px[0] * scale[0], found.offset_px[1] * scale[1]),
    )


def _busiest(pixels: Pixels, axis: int) -> int:
    """Where the stretch of WINDOW pixels along an axis begins on which most happens."""
    step = max(1, pixels.shape[1 - axis] // 200)
    lines = pixels[:, ::step, 1] if axis == 0 else pixels[::step, :, 1].T
    change = np.abs(np.diff(lines.astype(np.int16), axis=0)).sum(axis=1)
    sums = np.concatenate([[0], change.cumsum()])
    return int((sums[WINDOW:] - sums[:-WINDOW]).argmax()) if len(sums) > WINDOW else 0


def _planes(pixels: Pixels) -> NDArray[np.float32]:
    """Channels that say something: grey once, alpha only when there is any."""
    planes = premultiplied(pixels)
    keep = [0]
    if (pixels[..., 0] != pixels[..., 1]).any() or (pixels[..., 1] != pixels[..., 2]).any():
        keep = [0, 1, 2]
    if pixels[..., 3].min() < 255:
        keep.append(3)
    return planes[..., keep]


def _gives_back(found: NativeGrid, pixels: Pixels) -> bool:
    """Whether enlarging the cells again gives nearly the picture: else its pixels are its cells."""
    assert found.pixels is not None
    best = 0.0
    for nudge in (-0.02, 0.02):  # pixels on a tie may have gone either way
        places = [
            np.floor((np.arange(length) + 0.5 + nudge - offset) / pitch).astype(int)
            for length, offset, pitch in zip(
                pixels.shape[1::-1], found.offset_px, found.cell_px, strict=True
            )
        ]
        inside = [(at >= 0) & (at < n) for at, n in zip(places, found.cells or (), strict=True)]
        x, y = (at[ok] for at, ok in zip(places, inside, strict=True))
        same = found.pixels[y[:, None], x] == pixels[np.ix_(inside[1], inside[0])]
        best = max(best, float(same.all(axis=2).mean()))
    return best >= (0.995 if min(found.cell_px) < 3 else 0.97)


def _of_cells(x: Axis, y: Axis, cells: tuple[int, int]) -> Guess:
    """Whole-frame grid of so many cells, with the kernel that fits best."""
    if not (1 <= cells[0] <= x.length and 1 <= cells[1] <= y.length):
        raise OptionError(
            f"--cells: {cells[0]} x {cells[1]} cells do not fit {x.length} x {y.length} pixels"
        )
    on_x, on_y = (Lines(a.length / n, 0.0, True) for a, n in zip((x, y), cells, strict=True))
    return _best_kernel(x, y, on_x, on_y)


def _of_pitch(x: Axis, y: Axis, cell_px: tuple[float, float]) -> Guess:
    """Grid of a pitch, at the phase that fits best."""
    if not all(1 <= p <= a.length for p, a in zip(cell_px, (x, y), strict=True)):
        raise OptionError(f"--cell-px: {cell_px[0]:g} px is not from 1 to the picture's size")
    on_x, _ = refine(x, cell_px[0], NEAREST)
    on_y, _ = refine(y, cell_px[1], NEAREST)
    return _best_kernel(x, y, on_x, on_y)


def _best_kernel(x: Axis, y: Axis, on_x: Lines, on_y: Lines) -> Guess:
    """Try each kernel on a grid."""
    guesses = [
        Guess(on_x, on_y, kind, float(x.costs([on_x], kind)[0] + y.costs([on_y], kind)[0]))
        for kind in range(len(KERNELS))
    ]
    return min(guesses, key=lambda guess: guess.cost)


def _confidence(better: float) -> float:
    """Half at the border of 'no grid', 0.75 from where it is sure, towards 1."""
    if better < SURE_GAIN:
        return 0.5 + 0.25 * (better - LEAST_GAIN) / (SURE_GAIN - LEAST_GAIN)
    return float(1 - 0.25 * np.exp(SURE_GAIN - better))


def _result(pixels: Pixels, guess: Guess, confidence: float) -> NativeGrid:
    """Sample the cells and put the answer together."""
    found = cell_colours(pixels, guess.x, guess.y, guess.kind)
    rows, columns = found.shape[:2]
    starts = [
        lines.offset + kept_cells(lines, length)[0] * lines.pitch
        for lines, length in ((guess.x, pixels.shape[1]), (guess.y, pixels.shape[0]))
    ]
    other = None
    if (
        guess.kind <= HARDEST
        and min(guess.x.pitch, guess.y.pitch) >= 3
        and _edges(found) <= _FEW_EDGES
    ):
        other = (2 * columns, 2 * rows)
    return NativeGrid(
        (columns, rows),
        (guess.x.pitch, guess.y.pitch),
        (starts[0], starts[1]),
        confidence,
        KERNELS[guess.kind],
        found,
        other,
    )


def _edges(cells: Pixels) -> int:
    """How many inner grid lines carry an edge, over both axes."""
    down = (cells[1:] != cells[:-1]).any(axis=(1, 2)).sum()
    across = (cells[:, 1:] != cells[:, :-1]).any(axis=(0, 2)).sum()
    return int(down + across)
