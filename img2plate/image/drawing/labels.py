"""Which flat colour each pixel of a drawing belongs to; soft edges go to one of their two sides."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from img2plate.base.arrays import Mask
from img2plate.image.drawing.bins import Bins
from img2plate.image.drawing.flats import MIXED, NEAR, distances, off_lines
from img2plate.image.drawing.mixes import share_of_line
from img2plate.image.drawing.work import Work

_LEAST_INK = 0.35
"""Share of a line's colour from which a pixel that is finer than it is of the line."""
_UNSURE = 255
Labels = NDArray[np.uint8]
"""(h, w) uint8: index of a flat colour, or their number where none explains the pixel."""


def label_pixels(work: Work, bins: Bins, flats: NDArray[np.float32]) -> Labels:
    """Give each pixel its flat colour; `len(flats)` where it is shaded."""
    off = distances(bins.colour, flats)
    near = off.min(axis=1)[bins.where] <= NEAR
    closest = off.argmin(axis=1).astype(np.uint8)[bins.where]
    labels = np.where(near & (work.inside | work.ridge), closest, np.uint8(_UNSURE))
    labels[work.inside & ~near] = len(flats)
    _doubt_mixes(labels, work, flats)
    _settle(labels, work, flats)
    return labels


def _doubt_mixes(labels: Labels, work: Work, flats: NDArray[np.float32]) -> None:
    """Take back what may as well be the soft edge of two areas that lie beside it, in `labels`."""
    thin = ~work.inside & (labels < len(flats))
    if not thin.any() or len(flats) < 3:
        return
    own = labels[thin]
    beside = _beside(np.where(work.inside, labels, _UNSURE), thin, len(flats), work.each) > 0
    colour = work.colour[thin].astype(np.float32)
    mixed = np.zeros(len(own), np.bool_)
    for one, two in zip(*np.triu_indices(len(flats), 1), strict=True):
        both = beside[:, one] & beside[:, two] & (own != one) & (own != two)
        if both.any():
            off, _ = off_lines(colour[both], flats[one][None], flats[two][None])
            mixed[both] |= off[:, 0] <= MIXED
    labels[thin] = np.where(mixed, np.uint8(_UNSURE), own)


def _settle(labels: Labels, work: Work, flats: NDArray[np.float32]) -> None:
    """Decide soft edges, in `labels`: the nearest in colour of what lies beside them."""
    unsure = labels == _UNSURE
    if not unsure.any():
        return
    if unsure.all():
        labels[:] = len(flats)
        return
    colour = work.colour[unsure].astype(np.float32)
    beside = _beside(labels, unsure, len(flats) + 1, work.each)
    shade = _shades(labels == len(flats), work, unsure)
    off = np.empty(beside.shape, np.float32)
    off[:, :-1] = distances(colour, flats)
    off[:, -1] = np.sqrt(((colour - shade) ** 2).sum(axis=1))
    found = np.where(beside > 0, off, np.inf).argmin(axis=1).astype(np.uint8)
    lost = ~beside.any(axis=1)
    if lost.any():
        found[lost] = _nearest_sure(labels)[unsure][lost]
    fine = work.ridge[unsure] & ~lost
    _as_lines(found, fine, colour, flats, beside, shade)
    labels[unsure] = found


def _beside(labels: Labels, where: Mask, count: int, each: int) -> NDArray[np.float32]:
    """(n, count) share of each label within a third of a cell of the pixels `where`."""
    import cv2

    reach = 2 * max(2, each // 3) + 1
    found = np.zeros((np.count_nonzero(where), count), np.float32)
    for k in range(count):
        plane = (labels == k).astype(np.uint8)
        if plane.any():
            found[:, k] = cv2.boxFilter(plane, cv2.CV_16U, (reach, reach), normalize=False)[where]
    return np.asarray(found / np.float32(reach * reach))


def _shades(shaded: Mask, work: Work, where: Mask) -> NDArray[np.float32]:
    """(n, 4) mean colour of the shaded pixels round the pixels `where`; far off where are none."""
    import cv2

    if not shaded.any():
        return np.full((np.count_nonzero(where), 4), 1e4, np.float32)
    reach = 2 * max(2, work.each // 3) + 1
    weight = cv2.blur(shaded.astype(np.float32), (reach, reach))[where]
    seen = work.colour * shaded[..., None].astype(np.float32)
    mean = cv2.blur(seen, (reach, reach))[where] / np.maximum(weight, 1e-6)[:, None]
    mean[weight < 1e-6] = 1e4
    return np.asarray(mean, np.float32)


def _nearest_sure(labels: Labels) -> Labels:
    """(h, w) the label of the nearest pixel that has one."""
    import cv2

    unsure = (labels == _UNSURE).astype(np.uint8)
    _, number = cv2.distanceTransformWithLabels(
        unsure, cv2.DIST_L2, 3, labelType=cv2.DIST_LABEL_PIXEL
    )
    table = np.zeros(int(number.max()) + 1, np.uint8)
    table[number[unsure == 0]] = labels[unsure == 0]
    return np.asarray(table[number])


def _as_lines(
    found: Labels,
    fine: Mask,
    colour: NDArray[np.float32],
    flats: NDArray[np.float32],
    beside: NDArray[np.float32],
    shade: NDArray[np.float32],
) -> None:
    """Lines finer than a pixel are a mix with what is beside them: find their ink, in `found`."""
    index = np.flatnonzero(fine)
    if not len(index):
        return
    two = np.argsort(-beside[index], axis=1, kind="stable")[:, :2]
    second = np.take_along_axis(beside[index], two[:, 1:], axis=1)[:, 0] > 0
    two[~second, 1] = two[~second, 0]
    grounds = [_colours_of(two[:, side], flats, shade[index]) for side in (0, 1)]
    best, ink = np.zeros(len(index), np.float32), found[index].copy()
    for k, flat in enumerate(flats):
        share, off = share_of_line(colour[index], flat, grounds[0], grounds[1])
        better = (off <= MIXED) & (share > best) & (two != k).all(axis=1)
        best[better], ink[better] = share[better], k
    inked = best >= _LEAST_INK
    found[index[inked]] = ink[inked]


def _colours_of(
    labels: NDArray[np.int64], flats: NDArray[np.float32], shade: NDArray[np.float32]
) -> NDArray[np.float32]:
    """(n, 4) colours of labels; shaded pixels have their own."""
    shaded = (labels == len(flats))[:, None]
    return np.where(shaded, shade, flats[np.minimum(labels, len(flats) - 1)])
