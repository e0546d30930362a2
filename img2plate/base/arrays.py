"""Short names for the arrays that pass between rooms; each holds what its name says."""

from __future__ import annotations

from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

Floats: TypeAlias = NDArray[np.floating[Any]]
"""Any float array; the docstring gives shape and unit."""

Pixels: TypeAlias = NDArray[np.uint8]
"""(h, w, 4) uint8, straight (not premultiplied) sRGB and alpha."""

Cells: TypeAlias = NDArray[np.int16]
"""(h, w) int16, index into a palette's beads, -1 where there is no bead."""

Mask: TypeAlias = NDArray[np.bool_]
"""(h, w) bool."""
