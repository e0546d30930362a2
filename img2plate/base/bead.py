"""One bead as a tube of plastic, and what becomes of it when it is pressed.

Values from memory, to be measured by the user: a bead for 5.0 mm pitch has an outer diameter of
5.0 mm, a hole of 2.6 mm and a height of 5.0 mm. The bead for 2.6 mm pitch is taken as the same
shape made smaller, which is a guess.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi, sqrt

DENSITY_G_PER_CM3 = 0.92
"""Low-density polyethylene, middle of 0.912 to 0.925 (Cardarelli, Materials Handbook, 2018, as
cited by a materials page); that beads are polyethylene is common knowledge, from memory."""


@dataclass(frozen=True)
class BeadSize:
    """A bead's measures in mm."""

    outer_mm: float = 5.0
    hole_mm: float = 2.6
    height_mm: float = 5.0

    @property
    def volume_mm3(self) -> float:
        """Plastic in one bead, mm3: pi/4 (D^2 - d^2) h."""
        return pi / 4 * (self.outer_mm**2 - self.hole_mm**2) * self.height_mm

    @property
    def grams(self) -> float:
        """Weight of one bead, g."""
        return self.volume_mm3 / 1000 * DENSITY_G_PER_CM3

    def fill(self, pitch_mm: float, thickness_mm: float) -> float:
        """Share of a cell that is plastic when pressed to a thickness, 0..1 (volume is kept)."""
        return min(1.0, self.volume_mm3 / (thickness_mm * pitch_mm**2))

    def pressed(self, pitch_mm: float, thickness_mm: float) -> tuple[float, float]:
        """Outer width and hole diameter (mm) of a pressed bead, by keeping its volume.

        A model: the bead spreads to its neighbours first and its hole closes with what is left,
        the outer wall having the shape of a circle cut by its square cell.
        """
        fill = self.fill(pitch_mm, thickness_mm)
        outer = min(pitch_mm * sqrt(2), self.outer_mm + (pitch_mm * sqrt(2) - self.outer_mm) * fill)
        hole = self.hole_mm * sqrt(max(0.0, 1 - fill) / max(1e-9, 1 - self.fill(pitch_mm, 5.0)))
        return outer, min(self.hole_mm, hole)


def bead_size_for(pitch_mm: float) -> BeadSize:
    """Return the bead that goes with a pitch: the 5 mm bead, scaled."""
    scale = pitch_mm / 5.0
    return BeadSize(5.0 * scale, 2.6 * scale, 5.0 * scale)
