"""Find the card in a photo by its markers, and straighten it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from img2plate.base.errors import PictureError
from img2plate.measure.card import (
    CARDS,
    CORNER_NAMES,
    HEIGHT,
    MARKER,
    MARKERS,
    WIDTH,
    Box,
    Card,
    dictionary,
)

PX_PER_MM = 6
"""Resolution of the straightened card, by the lengths of the 5 mm card."""
_FIND_SIDE = 2000
"""Markers are looked for at this size: large enough for a card that fills half the photo."""
_LEAST_MARKERS = 2


@dataclass(frozen=True, eq=False)
class RectifiedCard:
    """A card, straightened."""

    srgb: NDArray[np.uint8]
    """(h, w, 3) uint8 at `PX_PER_MM`."""
    seen: NDArray[np.bool_]
    """(h, w) bool: where the photo reaches."""
    hidden: tuple[str, ...]
    """Markers that were not found, by their place."""
    kind: Card
    """Which card it is."""
    pixels_a_bead: float
    """How large the photo shows a bead, in its own pixels."""

    def part(self, box: Box, margin: float = 0.0) -> tuple[slice, slice]:
        """Rows and columns of a box, mm, made larger by a margin."""
        left, top = box.left - margin, box.top - margin
        side = box.side + 2 * margin
        return (
            slice(round(top * PX_PER_MM), round((top + side) * PX_PER_MM)),
            slice(round(left * PX_PER_MM), round((left + side) * PX_PER_MM)),
        )


def rectify_card(srgb: NDArray[np.uint8], name: str) -> RectifiedCard:
    """Find the card in a photo (h, w, 3) uint8 and straighten it.

    Raises PictureError when fewer than two of its markers are seen.
    """
    import cv2

    seen_markers = _find_markers(srgb)
    kind = max(CARDS, key=lambda card: len(seen_markers.keys() & set(card.markers)))
    found = {n: seen_markers[m] for n, m in enumerate(kind.markers) if m in seen_markers}
    if len(found) < _LEAST_MARKERS:
        raise PictureError(
            f"{name}: {len(found)} of the card's {len(MARKERS)} corner markers are seen, 2 are"
            " needed; take the photo from above with all of the card in it"
        )
    there = np.concatenate(list(found.values()))
    here = np.concatenate([_corners(MARKERS[number]) for number in found]) * PX_PER_MM
    matrix, _ = cv2.findHomography(there, here, cv2.RANSAC, PX_PER_MM * 1.0)
    if matrix is None:
        raise PictureError(f"{name}: the card's markers lie in no plane; lay it flat")
    size = round(WIDTH * PX_PER_MM), round(HEIGHT * PX_PER_MM)
    straight = cv2.warpPerspective(srgb, matrix, size, flags=cv2.INTER_LINEAR)
    inside = np.full(srgb.shape[:2], 255, np.uint8)
    seen = cv2.warpPerspective(inside, matrix, size, flags=cv2.INTER_NEAREST) > 0
    hidden = tuple(place for n, place in enumerate(CORNER_NAMES) if n not in found)
    edges = [np.linalg.norm(c - np.roll(c, 1, axis=0), axis=1).mean() for c in found.values()]
    pixels_a_bead = float(np.mean(edges)) / MARKER * CARDS[0].pitch_mm
    return RectifiedCard(straight, seen, hidden, kind, pixels_a_bead)


def _find_markers(srgb: NDArray[np.uint8]) -> dict[int, NDArray[np.float32]]:
    """Corners (4, 2) of each marker of a card, in pixels of the photo, by its number."""
    import cv2

    grey = cv2.cvtColor(srgb, cv2.COLOR_RGB2GRAY)
    shrink = min(1.0, _FIND_SIDE / max(grey.shape))
    if shrink < 1:
        grey = cv2.resize(grey, None, fx=shrink, fy=shrink, interpolation=cv2.INTER_AREA)
    parameters = cv2.aruco.DetectorParameters()
    parameters.cornerRefinementMethod = cv2.aruco.CORNER_REFINE_SUBPIX
    detector = cv2.aruco.ArucoDetector(dictionary(), parameters)
    corners, numbers, _ = detector.detectMarkers(grey)
    if numbers is None:
        return {}
    # A pixel's middle is at a whole number: shrinking moves it by half a pixel.
    return {
        int(number): ((places[0] + 0.5) / shrink - 0.5).astype(np.float32)
        for number, places in zip(numbers.ravel(), corners, strict=True)
    }


def _corners(box: Box) -> NDArray[np.float32]:
    """(4, 2) corners of a box, mm, in the detector's order: clockwise from the upper left."""
    left, top, right, bottom = box.left, box.top, box.left + box.side, box.top + box.side
    return np.array([(left, top), (right, top), (right, bottom), (left, bottom)], np.float32)
