"""Find a grid, or take the one that is wished for, and put the answer together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from img2plate.base.arrays import Pixels
from img2plate.base.errors import OptionError
from img2plate.image.counts import (
    colour_count,
    has_single_pixel_detail,
    is_native_sprite,
    soft_edge_share,
)
from img2plate.image.jpeg.source import JpegSource
from img2plate.image.native.axis import AnyAxis, AxisGrid, axes_of
from img2plate.image.native.blurred import unblurred
from img2plate.image.native.colours import cell_colours
from img2plate.image.native.drift import drifting_grid
from img2plate.image.native.drift_colours import drifting_colours
from img2plate.image.native.evidence import evidence
from img2plate.image.native.grid_candidate import Candidate
from img2plate.image.native.loops import BICUBIC, BLURRED, HARD_KINDS, HARDEST, NEAREST
from img2plate.image.native.native_grid import (
    FEW_COLOURS,
    HARD_KERNELS,
    LEAST_CELLS,
    MOST_NATIVE_SIDE,
    NO_GRID,
    NativeGrid,
    UnevenLines,
    already_native,
    finer_as_good,
)
from img2plate.image.native.own_pixels import could_be_its_cells, gives_back, has_single_lines
from img2plate.image.native.parts import (
    Look,
    follow,
    halved_if_doubled,
    is_large,
    long_axes,
    looks,
    premultiplied,
    soft_kind,
    varying_channels,
)
from img2plate.image.native.refine import refine, resettle
from img2plate.image.native.search import search
from img2plate.image.native.solver import kept_cells
from img2plate.image.native.stored_evidence import explains_file
from img2plate.image.native.verdict import EXACT, FINE, Verdict, verdict

KERNELS = (*HARD_KERNELS, "bilinear", "bicubic", "lanczos", "bicubic-sharp", "lanczos-wide",
           *["blurred"] * len(BLURRED))  # fmt: skip
"""By number in `loops`; sharp is a = -0.75, wide has four lobes."""
LEAST_GAIN, SURE_GAIN = 0.75, 1.0
"""Nats a pixel: below the first there is no grid, from the second on it is sure."""
MOST_SOFT_EDGES = 0.28
"""Share of edges with a pixel between, from which on a picture is no sprite as it is."""
UNEVEN_CONFIDENCE = 0.6
"""Of uneven lines: there are cells for sure, but one may be missed where little changes."""
LEAST_REDUCED_PITCH = 1.9
"""Of a picture made smaller; finer grids are looked for on a part of it as it is."""


def find(pixels: Pixels, source: JpegSource | None = None) -> NativeGrid:
    """Search a picture (h, w, 4), read from a JPEG `source` if any, for its grid."""
    if min(pixels.shape[:2]) < 2 * LEAST_CELLS:
        return _without_grid(pixels)
    if has_single_lines(pixels):
        return already_native(pixels)
    candidate, better = _looked(pixels)
    if candidate is None:
        return _uneven(pixels) or _without_grid(pixels)
    small = max(pixels.shape[:2]) <= MOST_NATIVE_SIDE
    seen = evidence(pixels, candidate)
    judged = verdict(seen, candidate.kind, small=small)
    if judged < Verdict.BELIEVED and not small and candidate.finer_pitch >= FINE:
        stored = source.coefficients if source else None
        if stored is not None and explains_file(stored, pixels, candidate):
            judged = Verdict.BELIEVED
    if judged < Verdict.BELIEVED:
        doubtful = _cells(pixels, candidate) if judged == Verdict.DOUBTFUL else None
        return _uneven(pixels) or replace(_without_grid(pixels), doubtful=doubtful)
    found = _result(pixels, candidate, _confidence(better, judged), source)
    whole = all(pitch % 1 == 0 for pitch in found.cell_px)
    if found.other is not None and not whole:  # so few edges lie on many rasters
        if seen.same < EXACT:
            return replace(_without_grid(pixels), doubtful=found.cells)
        found = replace(found, confidence=_confidence(better, Verdict.BELIEVED))
    blurred = candidate.kind != NEAREST and not whole and better >= SURE_GAIN
    if could_be_its_cells(pixels, found) and not blurred and not gives_back(found, pixels):
        return already_native(pixels)
    return found


def _looked(pixels: Pixels) -> tuple[Candidate | None, float]:
    """The grid that one of the looks at a picture shows, if any, and its gain."""
    for look in looks(pixels):
        height, width = look.planes.shape[:2]
        if min(height, width) < 2 * LEAST_CELLS:
            continue
        finest = LEAST_REDUCED_PITCH if look.times > 1 else 0.0
        part = is_large(pixels) and look.times == 1
        x, y = axes_of(look.planes)
        candidate, better = search(x, y, look.planes, finest, part=part)
        if better >= LEAST_GAIN and not is_large(pixels):
            candidate = unblurred(look.planes, x, y, candidate)
        pitches = candidate.x.pitch, candidate.y.pitch
        few = min(width / pitches[0], height / pitches[1]) < LEAST_CELLS
        if better < LEAST_GAIN or few or min(pitches) < finest:
            continue
        return (_on_all(pixels, candidate, look) if is_large(pixels) else candidate), better
    return None, 0.0


def _on_all(pixels: Pixels, candidate: Candidate, look: Look) -> Candidate:
    """The grid on all of a large picture that was seen in a look at it."""
    x, y = long_axes(pixels)
    on_all = follow(x, y, candidate, look)
    if look.times > 1:  # which hides small cells, and how hard they are
        other = replace(candidate, kind=BICUBIC if candidate.kind <= HARDEST else NEAREST)
        on_all = min(on_all, follow(x, y, other, look), key=lambda one: one.cost)
    on_all = halved_if_doubled(x, y, on_all)
    if on_all.kind <= HARDEST:
        return _best_kernel(x, y, on_all.x, on_all.y, HARD_KINDS)
    kind = soft_kind(pixels, on_all)
    return on_all if kind == on_all.kind else resettle(x, y, on_all, kind)


def find_as_wished(
    pixels: Pixels,
    cells: tuple[int, int] | None,
    cell_px: tuple[float, float] | None,
    source: JpegSource | None = None,
) -> NativeGrid:
    """Take a grid of so many cells, or of a pitch at the phase that fits best.

    Raises OptionError for a wish that the picture cannot hold.
    """
    x, y = (
        long_axes(pixels) if is_large(pixels) else axes_of(varying_channels(premultiplied(pixels)))
    )
    candidate = _of_cells(x, y, cells) if cells is not None else _of_pitch(x, y, cell_px or (1, 1))
    return _result(pixels, candidate, 1.0, source)


def _without_grid(pixels: Pixels) -> NativeGrid:
    """What was not enlarged: a sprite at one pixel per cell, or no grid at all."""
    if max(pixels.shape[:2]) <= MOST_NATIVE_SIDE:
        return already_native(pixels)
    if not is_native_sprite(pixels):
        return NO_GRID
    plain = colour_count(pixels) <= FEW_COLOURS and has_single_pixel_detail(pixels)
    plain = plain and soft_edge_share(pixels) < MOST_SOFT_EDGES
    return already_native(pixels) if plain else NO_GRID


def _uneven(pixels: Pixels) -> NativeGrid | None:
    """The grid of cells that drift, if there are any; small pictures show too few of them."""
    drifting = None if max(pixels.shape[:2]) <= MOST_NATIVE_SIDE else drifting_grid(pixels)
    if drifting is None:
        return None
    x, y = drifting.x, drifting.y
    cells = drifting_colours(pixels, x, y)
    pitches = float(np.diff(x).mean()), float(np.diff(y).mean())
    return NativeGrid(
        (cells.shape[1], cells.shape[0]),
        pitches,
        (float(x[0]), float(y[0])),
        UNEVEN_CONFIDENCE,
        "nearest",
        cells,
        uneven=UnevenLines(x, y),
    )


def _cells(pixels: Pixels, candidate: Candidate) -> tuple[int, int]:
    """Columns and rows of a claimed grid."""
    columns, rows = (
        kept_cells(lines, length)[1]
        for lines, length in ((candidate.x, pixels.shape[1]), (candidate.y, pixels.shape[0]))
    )
    return columns, rows


def _of_cells(x: AnyAxis, y: AnyAxis, cells: tuple[int, int]) -> Candidate:
    """Whole-frame grid of so many cells, with the kernel that fits best."""
    if not (1 <= cells[0] <= x.length and 1 <= cells[1] <= y.length):
        raise OptionError(
            f"{cells[0]} x {cells[1]} cells do not fit {x.length} x {y.length} pixels",
            field="cells",
        )
    on_x, on_y = (AxisGrid(a.length / n, 0.0, True) for a, n in zip((x, y), cells, strict=True))
    return _best_kernel(x, y, on_x, on_y)


def _of_pitch(x: AnyAxis, y: AnyAxis, cell_px: tuple[float, float]) -> Candidate:
    """Grid of a pitch, at the phase that fits best."""
    if not all(1 <= p <= a.length for p, a in zip(cell_px, (x, y), strict=True)):
        raise OptionError(
            "is not from 1 pixel to the picture's size", field="cell_px", value=cell_px[0]
        )
    on_x, _ = refine(x, cell_px[0], NEAREST)
    on_y, _ = refine(y, cell_px[1], NEAREST)
    return _best_kernel(x, y, on_x, on_y)


def _best_kernel(
    x: AnyAxis,
    y: AnyAxis,
    on_x: AxisGrid,
    on_y: AxisGrid,
    kinds: Sequence[int] = range(BLURRED[0]),
) -> Candidate:
    """Try each kernel on a grid."""
    candidates = [
        Candidate(on_x, on_y, kind, float(x.costs([on_x], kind)[0] + y.costs([on_y], kind)[0]))
        for kind in kinds
    ]
    return min(candidates, key=lambda candidate: candidate.cost)


def _confidence(better: float, judged: Verdict) -> float:
    """Half at the border of 'no grid', 0.75 from where it is sure, towards 1."""
    if judged < Verdict.SURE:
        return 0.5 + 0.2 * (1 - float(np.exp(LEAST_GAIN - better)))
    return float(1 - 0.25 * np.exp(LEAST_GAIN - better))


def _result(
    pixels: Pixels, candidate: Candidate, confidence: float, source: JpegSource | None
) -> NativeGrid:
    """Sample the cells and put the answer together."""
    found = cell_colours(pixels, candidate.x, candidate.y, candidate.kind, source)
    rows, columns = found.shape[:2]
    starts = [
        lines.offset + kept_cells(lines, length)[0] * lines.pitch
        for lines, length in ((candidate.x, pixels.shape[1]), (candidate.y, pixels.shape[0]))
    ]
    hard = candidate.kind <= HARDEST
    return NativeGrid(
        (columns, rows),
        (candidate.x.pitch, candidate.y.pitch),
        (starts[0], starts[1]),
        confidence,
        KERNELS[candidate.kind],
        found,
        finer_as_good(found, min(candidate.x.pitch, candidate.y.pitch)) if hard else None,
    )
