"""The card that beads are laid on to be measured: where its markers, cells and grey steps are.

All lengths are mm from the card's upper left corner; the card is centred on its paper. The
markers are ArUco markers of OpenCV's dictionary DICT_4X4_50 (S. Garrido-Jurado, R. Munoz-Salinas,
F. J. Madrid-Cuevas, M. J. Marin-Jimenez, Pattern Recognition 47(6), 2280-2292, 2014), an open
family.
"""

from __future__ import annotations

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
"""The place of each marker by its number: the corners clockwise, then left and right middle."""
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


def marker_bits(number: int) -> NDArray[np.bool_]:
    """(6, 6) bool: where a marker is black, its border too."""
    import cv2

    return np.asarray(cv2.aruco.generateImageMarker(dictionary(), number, 6) == 0)


def dictionary() -> Any:
    """The marker family of the card."""
    import cv2

    return cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50)
