"""The card that beads are laid on to be measured: where its markers, cells and grey steps are.

There is a card for beads of 5 mm and one for beads of 2.6 mm, which is the same made smaller, with
other markers. All lengths here are those of the 5 mm card: mm from its upper left corner. The
markers are ArUco markers of OpenCV's dictionary DICT_4X4_50 (S. Garrido-Jurado, R. Munoz-Salinas,
F. J. Madrid-Cuevas, M. J. Marin-Jimenez, Pattern Recognition 47(6), 2280-2292, 2014), an open
family.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

WIDTH, HEIGHT = 180.0, 250.0
MARKER = 20.0
"""Side of a marker with its black border."""
COLUMNS, ROWS = 5, 7
CELL, PITCH = 21.0, 25.5
"""Side of a cell, and from cell to cell: white paper lies between."""
CELLS_LEFT, CELLS_TOP = 28.5, 28.0
LINE = 0.6
"""Width of the line round a cell; how sharp it is tells how sharp the photo is."""
STEP = 14.0
STEPS_TOP = 214.0
STEP_GREYS = (0, 64, 112, 160, 208, 240)
"""sRGB of the printed grey steps."""


class Box(NamedTuple):
    """A square, mm."""

    left: float
    top: float
    side: float


MARKERS = (
    Box(0, 0, MARKER),
    Box(WIDTH - MARKER, 0, MARKER),
    Box(WIDTH - MARKER, HEIGHT - MARKER, MARKER),
    Box(0, HEIGHT - MARKER, MARKER),
    Box(0, (HEIGHT - MARKER) / 2, MARKER),
    Box(WIDTH - MARKER, (HEIGHT - MARKER) / 2, MARKER),
)
"""The place of each marker: the corners clockwise, then left and right middle."""
CORNER_NAMES = (
    "top left", "top right", "bottom right", "bottom left", "middle left", "middle right",
)  # fmt: skip
CELLS = tuple(
    Box(CELLS_LEFT + column * PITCH, CELLS_TOP + row * PITCH, CELL)
    for row in range(ROWS)
    for column in range(COLUMNS)
)
"""Cell 1 is the first of these."""
STEPS = tuple(Box(36.0 + number * 18.0, STEPS_TOP, STEP) for number in range(len(STEP_GREYS)))


@dataclass(frozen=True)
class Card:
    """One size of the card."""

    pitch_mm: float
    """Of the beads that it is for."""
    first_marker: int
    """Its markers have the numbers from here on, in the order of `MARKERS`."""

    @property
    def scale(self) -> float:
        """Its lengths, as a part of those of the 5 mm card."""
        return self.pitch_mm / CARDS[0].pitch_mm

    @property
    def markers(self) -> range:
        """Numbers of its markers."""
        return range(self.first_marker, self.first_marker + len(MARKERS))


CARDS = (Card(5.0, 0), Card(2.6, len(MARKERS)))


def marker_bits(number: int) -> NDArray[np.bool_]:
    """(6, 6) bool: where a marker is black, its border too."""
    import cv2

    return np.asarray(cv2.aruco.generateImageMarker(dictionary(), number, 6) == 0)


def dictionary() -> Any:
    """The marker family of the card."""
    import cv2

    return cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50)
