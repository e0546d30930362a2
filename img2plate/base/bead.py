"""One bead as a tube of plastic, and what becomes of it when it is pressed.

Values from memory, to be measured by the user: a bead for 5.0 mm pitch has an outer diameter of
5.0 mm, a hole of 2.6 mm and a height of 5.0 mm. The bead for 2.6 mm pitch is taken as the same
shape made smaller, which is a guess.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi, sqrt
from typing import NamedTuple

from img2plate.base.errors import OptionError

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

    def pressed(self, pitch_mm: float, thickness_mm: float) -> Pressed:
        """Shape of a bead pressed to a thickness, by keeping its volume.

        The gaps of a loose bead in its square cell, round it and in it, shrink alike: a model.
        """
        loose = 1 - self.fill(pitch_mm, self.height_mm)
        gaps = 1 - self.fill(pitch_mm, min(thickness_mm, self.height_mm))
        scale = sqrt(gaps / loose) if loose > 0 else 0.0
        return Pressed(corner_mm=pitch_mm / 2 * scale, hole_mm=self.hole_mm * scale)


def parse_bead(text: str) -> BeadSize:
    """Read `5x2.6x5` as outer diameter, hole and height in mm. Raises OptionError."""
    try:
        numbers = [float(part) for part in text.lower().replace("×", "x").split("x")]
    except ValueError:
        numbers = []
    if len(numbers) != 3 or not (0 <= numbers[1] < numbers[0] <= 50 and 0 < numbers[2] <= 50):
        raise OptionError("is not outer x hole x height in mm, as 5.0x2.6x5.0", value=text)
    return BeadSize(*numbers)


class Pressed(NamedTuple):
    """A pressed bead: a square of its cell's width with round corners and a hole."""

    corner_mm: float
    """Radius of the corners; half the pitch is a circle, 0 a full square."""
    hole_mm: float
    """Diameter of the hole; 0 when it is closed."""


def bead_size_for(pitch_mm: float) -> BeadSize:
    """Return the bead that goes with a pitch: the 5 mm bead, scaled."""
    scale = pitch_mm / 5.0
    return BeadSize(5.0 * scale, 2.6 * scale, 5.0 * scale)
