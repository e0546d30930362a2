"""The subject of a photo, cut out of its surroundings by colour: GrabCut, as OpenCV has it.

The border is taken for background, the middle for subject, or a box that the user draws says
where to look. How sure the cut is, its outline tells: the one of a thing follows edges in the
picture, one that has lost its way runs through even sky, fur or stone.

    C. Rother, V. Kolmogorov, A. Blake, "GrabCut: interactive foreground extraction using iterated
        graph cuts", ACM Transactions on Graphics 23(3), 309-314, 2004.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from img2plate.base.arrays import Mask, Pixels
from img2plate.image.background import on_ground

LONG_SIDE = 224
"""Pixels of the picture that is cut: a few a bead on plates of up to four boards."""
BORDER, MIDDLE, PERHAPS = 0.03, 0.2, 0.8
"""Share of the short side that is background, and of both half sides within which all is subject,
or may be."""
ROUNDS = 5
EDGE_DE = 12.0
"""CIELAB difference between both sides of an outline that is an edge."""
SURE_EDGE = 0.94
"""Share of the outline that lies on edges where the cut is right. Of photos tried, right cuts had
.95 to .98, wrong ones up to .93; chosen by looking at them."""
LEAST_PART = 0.1
"""Of the largest part; smaller ones are crumbs of the background."""
LEAST_AREA, MOST_AREA = 0.02, 0.9
_OUTLINE = np.array([181, 69, 46], np.float32)


@dataclass(frozen=True, eq=False)
class Subject:
    """What was cut out."""

    mask: Mask
    """(h, w) bool, the subject."""
    sure: bool
    edge_share: float
    """Of the outline, 0..1, that lies on edges."""


def find_subject(pixels: Pixels, box: tuple[int, int, int, int] | None = None) -> Subject:
    """Cut the subject out of a picture (h, w, 4); `box` is x, y, width, height around it.

    With a box the cut is taken as it is, unless nothing is left.
    """
    import cv2

    height, width = pixels.shape[:2]
    times = max(1.0, max(height, width) / LONG_SIDE)
    size = max(8, round(width / times)), max(8, round(height / times))
    colours = cv2.resize(on_ground(pixels), size, interpolation=cv2.INTER_AREA)
    if box is None:
        found = [_tidied(_cut(colours, _seeds(size, open_below=below))) for below in (True, False)]
    else:
        found = [_tidied(_cut(colours, _seeds_of_box(size, box, (width, height))))]
    shares = [_edge_share(colours, mask) for mask in found]
    best = int(np.argmax(shares))
    area = float(found[best].mean())
    sure = area > 0 if box else LEAST_AREA <= area <= MOST_AREA and _is_one(found[best])
    sure = sure and (box is not None or shares[best] >= SURE_EDGE)
    mask = cv2.resize(found[best].astype(np.float32), (width, height)) >= 0.5
    return Subject(np.asarray(mask), bool(sure), shares[best])


def draw_subject(pixels: Pixels, mask: Mask) -> Pixels:
    """(h, w, 4) uint8 to check a cut by eye: what is cleared is pale, the outline red."""
    import cv2

    shown = on_ground(pixels).astype(np.float32)
    shown[~mask] = shown[~mask] * 0.2 + 255 * 0.8
    wide = max(1, round(max(mask.shape) / 300))
    grown = cv2.dilate(mask.astype(np.uint8), np.ones((2 * wide + 1,) * 2, np.uint8)) > 0
    shown[grown & ~mask] = _OUTLINE
    opaque = np.full((*mask.shape, 1), 255)
    return np.concatenate([np.rint(shown), opaque], axis=-1).astype(np.uint8)


def _seeds(size: tuple[int, int], *, open_below: bool) -> NDArray[np.uint8]:
    """(h, w) what is known before: the border is background, the middle subject.

    open_below: the subject may reach the lower border, as people in portraits do.
    """
    import cv2

    width, height = size
    y, x = np.mgrid[0:height, 0:width]
    from_middle = np.hypot((x - width / 2) / (width / 2), (y - height / 2) / (height / 2))
    seeds = np.full((height, width), cv2.GC_PR_BGD, np.uint8)
    seeds[from_middle < PERHAPS] = cv2.GC_PR_FGD
    seeds[from_middle < MIDDLE] = cv2.GC_FGD
    wide = max(1, round(BORDER * min(size)))
    seeds[:wide] = seeds[:, :wide] = seeds[:, -wide:] = cv2.GC_BGD
    if not open_below:
        seeds[-wide:] = cv2.GC_BGD
    return seeds


def _seeds_of_box(
    size: tuple[int, int], box: tuple[int, int, int, int], picture: tuple[int, int]
) -> NDArray[np.uint8]:
    """(h, w) what a user's box says: outside is background, inside may be either."""
    import cv2

    (width, height), (x, y, across, down) = size, box
    left, right = (round(at * width / picture[0]) for at in (x, x + across))
    top, bottom = (round(at * height / picture[1]) for at in (y, y + down))
    seeds = np.full((height, width), cv2.GC_BGD, np.uint8)
    seeds[top : max(bottom, top + 1), left : max(right, left + 1)] = cv2.GC_PR_FGD
    return seeds


def _cut(colours: NDArray[np.uint8], seeds: NDArray[np.uint8]) -> Mask:
    """(h, w) bool: run GrabCut on RGB, the same each time."""
    import cv2

    cv2.setRNGSeed(1)
    models = np.zeros((1, 65)), np.zeros((1, 65))
    mask = seeds.copy()
    if not (seeds % 2 == 0).any():  # all subject: there is nothing to learn a background from
        return np.ones(seeds.shape, np.bool_)
    cv2.grabCut(colours, mask, None, *models, ROUNDS, cv2.GC_INIT_WITH_MASK)
    return np.asarray(mask % 2 == 1)


def _tidied(mask: Mask) -> Mask:
    """Take crumbs off, and fill small holes."""
    from scipy.ndimage import binary_opening, label

    opened = binary_opening(mask, np.ones((3, 3)))
    parts, _ = label(opened)
    areas = np.bincount(parts.ravel())
    areas[0] = 0
    kept = np.isin(parts, np.flatnonzero(areas >= max(1, LEAST_PART * areas.max())))
    holes, _ = label(~kept)
    sizes = np.bincount(holes.ravel())
    small = sizes < 0.01 * mask.size
    small[0] = False
    small[np.unique(np.concatenate([holes[0], holes[-1], holes[:, 0], holes[:, -1]]))] = False
    return np.asarray(kept | small[holes])


def _is_one(mask: Mask) -> bool:
    """Whether nearly all of a mask hangs together."""
    from scipy.ndimage import label

    areas = np.bincount(label(mask)[0].ravel())[1:]
    return bool(len(areas) and areas.max() >= 0.85 * areas.sum())


def _edge_share(colours: NDArray[np.uint8], mask: Mask) -> float:
    """Share of a mask's outline, off the picture's border, that parts two colours."""
    import cv2

    lab = cv2.cvtColor(colours.astype(np.float32) / 255, cv2.COLOR_RGB2LAB)
    inside = mask.astype(np.float32)

    def mean(weight: NDArray[np.float32]) -> NDArray[np.float32]:
        """Lab around each pixel of what has a weight."""
        share = cv2.GaussianBlur(weight, (0, 0), 2.0)[..., None]
        blurred = cv2.GaussianBlur(lab * weight[..., None], (0, 0), 2.0)
        return np.asarray(blurred / np.maximum(share, 1e-3))

    apart = np.sqrt(((mean(inside) - mean(1 - inside)) ** 2).sum(axis=-1))
    outline = (cv2.dilate(inside, np.ones((3, 3))) > inside)[1:-1, 1:-1]
    return float((apart[1:-1, 1:-1][outline] > EDGE_DE).mean()) if outline.any() else 0.0
