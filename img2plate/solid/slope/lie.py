"""Where sloping plates lie over a part, and what they leave of its walls.

Seen along the ridge, over the low wall of a part; the wall's top row is its shoulders:

            T /              T  a tab, as many rows as the slot has cells
          / T                s  shoulders, the wall's top row beside it: the plate lies on
        /   s                   their outer upper edge
            s
"""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, floor, sin, tan

import numpy as np
from numpy.typing import NDArray

from img2plate.solid.faces import FAR, NORMAL, OPPOSITE, Size
from img2plate.solid.fit.model import FitModel
from img2plate.solid.slope.angles import Slope, slot_needed_mm
from img2plate.solid.spec import RoofSpec
from img2plate.solid.turn import Turn

_TWO_TABS = 14
"""Beads along a wall from which it has two tabs."""
LEAST_ALONG = 6
"""Beads along a wall: a tab of two, two beads off either end."""


@dataclass(frozen=True, eq=False)
class Lie:
    """How the plates of one roof lie, in beads of its part; heights from its lowest layer."""

    spec: RoofSpec
    size: Size
    """Of the part, its walls as high as their shoulders."""
    slope: Slope
    thickness_mm: float
    model: FitModel

    @property
    def across(self) -> int:
        """Axis that the plates slope along."""
        return NORMAL[self.spec.low]

    @property
    def along(self) -> int:
        """Axis of the ridge."""
        return 1 - self.across

    @property
    def walls(self) -> tuple[str, str]:
        """The walls that it lies on, the low one first."""
        return self.spec.low, OPPOSITE[self.spec.low]

    @property
    def faces(self) -> tuple[str, ...]:
        """A wall for each plate, that it slopes down to."""
        return self.walls if self.spec.pitched else self.walls[:1]

    @property
    def rise(self) -> int:
        """Rows that the high wall of a single plate has more than the low one."""
        return 0 if self.spec.pitched else round(self.slope.rise_mm / self.pitch_mm)

    @property
    def pitch_mm(self) -> float:
        """From bead to bead."""
        return self.model.cell_mm(self.thickness_mm)

    @property
    def wide_mm(self) -> float:
        """Of a bead with free edges."""
        return self.model.width_mm(self.thickness_mm)

    @property
    def slots(self) -> tuple[float, ...]:
        """Middle row of each slot of a plate, from 0 at its upper edge, the upper one first."""
        if self.spec.pitched:
            return (self.slope.length,)
        first = self.spec.eaves + (self.slope.cells - 1) / 2
        return first, first + self.slope.length

    @property
    def rows(self) -> int:
        """Rows of a plate."""
        return round(self.slots[-1] + (self.slope.cells - 1) / 2) + self.spec.eaves + 1

    @property
    def columns(self) -> int:
        """Columns of a plate."""
        return self.size[self.along] + 2 * self.spec.overhang

    def tabs(self) -> NDArray[np.bool_]:
        """(n,) along a wall: where it has a tab; the same from either end."""
        long = self.size[self.along]
        mask = np.zeros(long, dtype=bool)
        if long < _TWO_TABS:
            wide = max(2, (long - 4) // 2)
            wide += (long - wide) % 2
            mask[(long - wide) // 2 : (long + wide) // 2] = True
        else:
            wide = max(2, long // 6)
            mask[long // 6 : long // 6 + wide] = True
            mask |= mask[::-1]
        return mask

    def tab_colours(self, face: str) -> NDArray[np.int16]:
        """(n,) palette index of each column of a wall as seen from outside, where it has a tab.

        They are those of the plate round the slot.
        """
        is_high = not self.spec.pitched and face != self.spec.low
        row = self.spec.cells[round(self.slots[0 if is_high else -1])]
        over = self.spec.overhang
        return np.asarray((row[::-1] if is_high else row)[over : len(row) - over])

    def heights(self, face: str) -> NDArray[np.int64]:
        """(n,) rows of a wall along its axis, ascending, its tabs or its steps among them."""
        high = self.size[2]
        if NORMAL[face] == self.across:
            base = high + (0 if face == self.spec.low else self.rise)
            return np.where(self.tabs(), base + self.slope.cells, base)
        across = self.size[self.across]
        steps = np.array([self._step(n) for n in range(across)])
        if self.spec.low in FAR or self.spec.pitched:
            back = steps[::-1]
            steps = np.minimum(steps, back) if self.spec.pitched else back
        return np.asarray(high + steps)

    def _step(self, place: int) -> int:
        """Rows over the low wall's shoulders that fit under the plate, so many beads off it.

        The edge of the step that is nearer to the low wall must not touch the plate.
        """
        off = place * self.pitch_mm - self.wide_mm / 2 + self.thickness_mm / 2
        return floor(off * tan(self.slope.angle) / self.pitch_mm + 1e-9)

    def turn(self, face: str, at: tuple[int, int, int], low: NDArray[np.int64]) -> Turn:
        """How the plate over a wall is turned that is written upright, as the wall is.

        at: the part's place in the figure; low: (3,) place of the plate's lowest row before that,
        of its first column.
        """
        sign = -1 if face in FAR else 1
        if self.across == 1:  # y turns towards z, x away from it
            sign = -sign
        angle, row = self.slope.angle, self.slots[-1]
        turn = Turn(self.along, sin(angle), sign * cos(angle))
        # The middle of the slot over the wall, before and after.
        from_ = low + 0.5
        from_[2] += self.rows - 1 - row
        to = from_.copy()
        wall = self.size[self.across] - 1 if face in FAR else 0
        to[self.across] = at[self.across] + wall + 0.5
        needed = slot_needed_mm(np.pi / 2 - angle, self.thickness_mm)
        to[2] = at[2] + self.size[2] - 0.5 + (self.wide_mm + needed) / 2 / self.pitch_mm
        if not self.spec.pitched:  # what the play of both slots takes is shared between them
            inward = self._late_mm() / 2 / self.pitch_mm
            to[self.across] += inward * cos(angle) * (-1 if face in FAR else 1)
            to[2] += inward * sin(angle)
        shift = to - turn.vectors(from_)
        return Turn(turn.along, turn.cos, turn.sin, (shift[0], shift[1], shift[2]))

    def _late_mm(self) -> float:
        """How much further apart the walls are along the slope than the slots' middles."""
        return (self.slope.run / cos(self.slope.angle) - self.slope.length) * self.pitch_mm
