"""The few flat colours that explain a drawing.

A colour is one of the drawing's own when flat areas of at least half a bead have it and its
neighbours in colour are rare (in a gradient they are not). Colours that only thin lines have never
fill an area: those are added, the one that explains most first, until under 0.2% of the pixels are
lines and neither near a flat colour nor on the straight mix of two.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from img2plate.image.drawing.bins import Bins
from img2plate.image.drawing.mixes import share_of_line
from img2plate.image.drawing.work import Work

MOST_FLATS = 24
NEAR = 22.0
"""Levels (premultiplied sRGB, Euclidean) within which a pixel has a flat colour."""
MIXED = 26.0
"""Levels off the straight line between two flat colours that a soft edge may be."""
_CORE = 10.0
_RARE = 0.6
"""Share of a flat colour's pixels that may lie just outside `_CORE`."""
_APART, _LARGE = 28.0, 0.005
"""Two flat colours differ by so many levels, unless both fill this share of the picture."""
_EVERY = 2
"""Rows and columns of which one is looked at where a sample is enough."""
_PLAIN, _MOST_AWAY = 5.0, 0.4
"""Levels off its mean, and the share of a plain area that may be further off."""
_LINE_APART = 64.0
"""Levels by which a line's colour differs from all others: less may be a mix of three."""
_UNEXPLAINED = 0.002
_GAIN = 0.25
"""Share of what is unexplained that a line's colour has to explain."""
_LEAST_AREAS = 0.2
"""Share of a drawing that lies within areas."""
_MOST_BINS, _MOST_LINE_BINS, _MOST_TRIED = 600, 1200, 60
_Colours = NDArray[np.float32]


def find_flats(work: Work, bins: Bins) -> _Colours:
    """(k, 4) flat colours, premultiplied sRGB and alpha in levels, the commonest first."""
    flats = _of_areas(bins, work.each * work.each / 2)
    if not len(flats) or work.inside.mean() < _LEAST_AREAS:
        return np.empty((0, 4), np.float32)
    flats = _plain_ones(flats, work, bins)
    return _with_lines(flats, bins)


def _of_areas(bins: Bins, least: float) -> _Colours:
    """Flat colours of areas: peaks of the histogram of pixels within areas."""
    top = np.argsort(-bins.inside, kind="stable")[:_MOST_BINS]
    colour, mass = bins.colour[top], bins.inside[top].copy()
    total = bins.total
    apart = distances(colour, colour)
    core = (apart <= _CORE).astype(np.float32)
    found: list[NDArray[np.float32]] = []
    while len(found) < MOST_FLATS:
        weight = core @ mass
        best = int(weight.argmax())
        if weight[best] < least:
            break
        own = (apart[best] <= _CORE) & (mass > 0)
        mean = np.average(colour[own], axis=0, weights=mass[own]).astype(np.float32)
        off = distances(colour, mean[None])[:, 0]
        about = mass[(off > _CORE) & (off <= NEAR)].sum()
        size = weight[best]
        far = not found or distances(mean[None], np.array(found)).min() >= _APART
        if about <= _RARE * size and (far or size >= _LARGE * total):
            found.append(mean)
        mass[own | (off <= _CORE)] = 0
    return np.array(found, np.float32).reshape(-1, 4)


def _plain_ones(flats: _Colours, work: Work, bins: Bins) -> _Colours:
    """Those of the flat colours (k, 4) whose areas are plain: the others are part of a gradient."""
    off = distances(bins.colour, flats)
    closest = np.where(off.min(axis=1) <= NEAR, off.argmin(axis=1), len(flats))
    few = np.s_[::_EVERY, ::_EVERY]
    inside = work.inside[few]
    own = closest[bins.where[few][inside]]
    seen = work.colour[few][inside].astype(np.float32)
    counts = np.maximum(np.bincount(own, minlength=len(flats) + 1), 1)
    means = np.stack(
        [np.bincount(own, seen[:, c], len(flats) + 1) / counts for c in range(4)], axis=1
    )
    away = np.abs(seen - means[own]).max(axis=1) > _PLAIN
    return flats[(np.bincount(own, away, len(flats) + 1) / counts)[:-1] <= _MOST_AWAY]


def _with_lines(flats: _Colours, bins: Bins) -> _Colours:
    """Add colours that only lines have."""
    top = np.argsort(-bins.line, kind="stable")[:_MOST_LINE_BINS]
    colour, mass = bins.colour[top], bins.line[top]
    left = mass * (off_mixes(colour, flats) > MIXED) if len(flats) else mass
    while len(flats) < MOST_FLATS and left.sum() >= _UNEXPLAINED * bins.total:
        new = np.ones(len(left), np.bool_)
        if len(flats):
            new = distances(colour, flats).min(axis=1) >= _LINE_APART
        tried = np.argsort(-left * new, kind="stable")[:_MOST_TRIED]
        apart = distances(colour[tried], colour)
        gains = np.array(
            [left[_explained(c, flats, colour)].sum() for c in colour[tried]]
        ) + 0.5 * (np.where(apart <= _CORE, left, 0).sum(axis=1))
        best = -1
        for i in np.argsort(-gains, kind="stable"):
            if not _is_mix_of_three(colour[tried[i]], flats):
                best = int(i)
                break
            left = np.where(apart[i] <= _CORE, 0, left)
        explained = _explained(colour[tried[best]], flats, colour)
        if best < 0 or left[explained].sum() < _GAIN * left.sum():
            break
        near = (apart[best] <= _CORE) & (left > 0)
        mean = np.average(colour[near], axis=0, weights=left[near]).astype(np.float32)
        flats = np.vstack([flats, mean[None]])
        left = np.where(explained, 0, left)
    return flats


def _explained(new: _Colours, flats: _Colours, colour: _Colours) -> NDArray[np.bool_]:
    """(n,) bool: colours that are `new` (4,), or a mix of it with one of the flat ones."""
    near = distances(colour, new[None])[:, 0] <= NEAR
    if not len(flats):
        return np.asarray(near)
    off, _ = off_lines(colour, np.broadcast_to(new, flats.shape), flats)
    return np.asarray(near | (off <= MIXED).any(axis=1))


def _is_mix_of_three(colour: NDArray[np.float32], flats: _Colours) -> bool:
    """Whether flat colours mix to a colour (4,), as where a soft line parts two areas."""
    one, two = np.triu_indices(len(flats), 1)
    wanted = np.broadcast_to(colour, (len(one), 4))
    return len(flats) > 2 and any(
        (share_of_line(wanted, flat, flats[one], flats[two])[1] <= MIXED).any() for flat in flats
    )


def off_mixes(colour: _Colours, flats: _Colours) -> NDArray[np.float32]:
    """(n,) levels that colours (n, 4) are off the nearest flat colour or mix of two."""
    one, two = np.triu_indices(len(flats), 1)
    off = distances(colour, flats).min(axis=1)
    if len(one):
        off = np.minimum(off, off_lines(colour, flats[one], flats[two])[0].min(axis=1))
    return np.asarray(off)


def off_lines(
    colour: _Colours, one: _Colours, two: _Colours
) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """Levels (n, m) of colours (n, 4) off the lines from `one` to `two` (m, 4); and where on them.

    0 at `one`, 1 at `two`, not beyond.
    """
    along = two - one
    length = np.maximum((along**2).sum(axis=1), 1e-6)
    part = np.clip((colour @ along.T - (one * along).sum(axis=1)) / length, 0, 1)
    # |c - o - t a|^2 without arrays of (n, m, 4)
    square = (
        (colour**2).sum(axis=1)[:, None]
        + (one**2).sum(axis=1)
        - 2 * colour @ one.T
        - 2 * part * (colour @ along.T - (one * along).sum(axis=1))
        + part**2 * length
    )
    return np.sqrt(np.maximum(square, 0)), part


def distances(one: _Colours, two: _Colours) -> NDArray[np.float32]:
    """(n, m) Euclidean distances of colours (n, 4) and (m, 4)."""
    square = (one**2).sum(axis=1)[:, None] + (two**2).sum(axis=1) - 2 * one @ two.T
    return np.asarray(np.sqrt(np.maximum(square, 0)))
