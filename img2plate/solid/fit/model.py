"""How a pressed tab fits a pressed slot: a model that starts from the volume of plastic.

A bead of outer diameter D, hole d and height h holds V = pi/4 (D^2 - d^2) h. Pressed to a thickness
t its plastic covers V / t seen from above, so V / t - V / h has moved sideways. In the middle of a
plate it closes the hole and the gaps between round beads; when they are full, the plate grows. At a
free edge a part of it goes out over the edge instead:

    half of what a ring gives goes outwards, the other half into its hole (common mean radius),
    and one of four sides is free: share = 1/8, a guess until a test piece was measured.

Spread over the bead's own pitch p that is share * (V / t - V / h) / p on each free side, so a bead
with free edges left and right is w = D + 2 * that wide. With w and p:

    |<- slot of n empty cells: (n + 1) p - w ->|    |<- tab of n beads: (n - 1) p + w ->|

Equal counts have clearance 2 (p - w) along the joint; below 0 it is a squeeze. Across it, a plate
of thickness t has to pass a slot one cell wide: clearance 2 p - w - t.

Once all gaps are full the whole plate grows, its pitch with it. An opening that something has to
pass is not counted on to grow along: plastic flows into it too, so the board's pitch is taken, and
its edges move in by what a free edge moves out, or by what a comb's slot was measured to. So an
opening only becomes narrower by pressing longer, which is the safe side.

Left out: shrinking on cooling (tab and slot shrink alike; see `FitModel.shrink`), rounded rims,
boards that are not true to their pitch, plates pressed unevenly.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from itertools import groupby
from math import isfinite, sqrt
from operator import itemgetter
from typing import TypeAlias

import numpy as np

from img2plate.base.bead import BeadSize
from img2plate.base.errors import OptionError

FREE_EDGE_SHARE = 1 / 8
"""Share of the moved plastic that crosses one free side: a guess, see the module's head."""
VERDICTS = ("falls out", "holds", "tight", "too tight")
JOINS = ("holds", "tight")
STEP_MM = 0.01
"""Grid of thicknesses on which ranges are looked for."""
Span: TypeAlias = tuple[float, float]
"""Thinnest and thickest plate of a range, mm."""
_NARROWEST, _WIDEST = 0.7, 1.02
"""Outer diameter of a bead for one of pitch; measured ones may be a hair over it."""


@dataclass(frozen=True)
class Limits:
    """Squeeze at which one verdict turns into the next, as shares of the pitch.

    Guesses, set so that the common practice (no source) comes out: plates pressed as usual, near
    4 mm, hold; pressed longer, near 3 mm, are tight; beyond that too tight to join. Felt verdicts
    move them.
    """

    holds: float = 0.02
    tight: float = 0.12
    too_tight: float = 0.22
    play: float = 0.4
    """Play across the joint, a share of the pitch too, from which plates fall out of any slot."""

    @property
    def borders(self) -> tuple[float, float, float]:
        """All three, ascending."""
        return self.holds, self.tight, self.too_tight


@dataclass(frozen=True)
class FitModel:
    """Bead, pitch, and how far plastic comes out at a free edge. Lengths in mm."""

    bead: BeadSize = field(default_factory=BeadSize)
    pitch_mm: float = 5.0
    share: float = FREE_EDGE_SHARE
    loose_mm: float | None = None
    """Width of a bead that is not pressed; None: its outer diameter."""
    shrink: float = 1.0
    """Length of a cold plate for one of its board's length; 1 leaves shrinking out."""
    limits: Limits = field(default_factory=Limits)
    inset_mm: float = 0.0
    """How much longer slots were measured than free edges alone would leave them."""
    is_measured: bool = False

    def moved_mm2(self, thickness_mm: float) -> float:
        """Plastic that a bead has given sideways, mm2 seen from above."""
        volume = self.bead.volume_mm3
        return volume / min(thickness_mm, self.bead.height_mm) - volume / self.bead.height_mm

    def fill(self, thickness_mm: float) -> float:
        """Share of a cell that is plastic, 0..1."""
        return self.bead.fill(self.pitch_mm, thickness_mm)

    def hole_mm(self, thickness_mm: float) -> float:
        """Diameter of the hole that is left inside the plate."""
        return self.bead.pressed(self.pitch_mm, thickness_mm).hole_mm * self.shrink

    @property
    def closed_mm(self) -> float:
        """Thickness at which holes and gaps are full."""
        return self.bead.volume_mm3 / self.pitch_mm**2

    def cell_mm(self, thickness_mm: float) -> float:
        """Bead to bead in the pressed plate: the pitch, more once all gaps are full."""
        grown = max(self.pitch_mm**2, self.bead.volume_mm3 / thickness_mm)
        return sqrt(grown) * self.shrink

    def width_mm(self, thickness_mm: float) -> float:
        """Width of a bead with a free edge on either side: w."""
        loose = self.bead.outer_mm if self.loose_mm is None else self.loose_mm
        over = 2 * self.share * self.moved_mm2(thickness_mm) / self.pitch_mm
        grown = self.cell_mm(thickness_mm) - self.pitch_mm * self.shrink
        return (loose + over) * self.shrink + grown

    def slot_mm(self, cells: int, thickness_mm: float) -> float:
        """Length of a slot of so many empty cells, for tabs whose plate grows as it does."""
        wide = (cells + 1) * self.cell_mm(thickness_mm) - self.width_mm(thickness_mm)
        return wide + self.inset_mm

    def opening_mm(self, cells: int, thickness_mm: float) -> float:
        """Length or width of an opening for what does not grow; less, the thinner the plate."""
        wide = (cells + 1) * self.pitch_mm * self.shrink - self.width_mm(thickness_mm)
        return wide + self.inset_mm

    def tab_mm(self, beads: int, thickness_mm: float) -> float:
        """Width of a tab of so many beads."""
        return (beads - 1) * self.cell_mm(thickness_mm) + self.width_mm(thickness_mm)

    def along_mm(self, thickness_mm: float) -> float:
        """Clearance along the joint of equal counts; below 0 a squeeze."""
        return self.between_mm(thickness_mm, thickness_mm)

    def across_mm(self, thickness_mm: float) -> float:
        """Clearance of a plate's thickness in a slot one cell wide; below 0 a squeeze."""
        return self.opening_mm(1, thickness_mm) - thickness_mm

    def between_mm(self, slot_mm: float, tab_mm: float, beads: int = 1) -> float:
        """Clearance along a joint of plates of two thicknesses: the slot's, and the tab's.

        The tab's length counts where one plate has grown more than the other.
        """
        return self.slot_mm(beads, slot_mm) - self.tab_mm(beads, tab_mm)

    def squeeze(self, thickness_mm: float, tab_mm: float | None = None, beads: int = 1) -> float:
        """Squeeze as a share of the pitch: along or across the joint, whichever is more."""
        tab = thickness_mm if tab_mm is None else tab_mm
        across = tab - self.opening_mm(1, thickness_mm)
        return max(-self.between_mm(thickness_mm, tab, beads), across) / self.pitch_mm

    def verdict(self, thickness_mm: float, tab_mm: float | None = None, beads: int = 1) -> str:
        """One of VERDICTS, by the squeeze along and across, and by the play across.

        `tab_mm` is the thickness of the plate with the tab, when it is another one.
        """
        tab = thickness_mm if tab_mm is None else tab_mm
        # Rounded: a plate exactly on a border must not flip with the last bit.
        squeeze = round(self.squeeze(thickness_mm, tab, beads), 9)
        play = (self.opening_mm(1, thickness_mm) - tab) / self.pitch_mm
        if round(play, 9) > self.limits.play:
            return VERDICTS[0]
        return VERDICTS[sum(squeeze >= border for border in self.limits.borders)]

    def thickness_ranges(self, verdicts: tuple[str, ...] = JOINS) -> tuple[Span, ...]:
        """Thinnest and thickest plate of each range with one of the verdicts, thin ones first."""
        return _thickness_ranges(self, verdicts)

    def thicknesses(self) -> list[float]:
        """Thicknesses to look at, thin to thick: from 0.4 of a bead's height to the whole of it."""
        height = self.bead.height_mm
        steps = np.arange(round(0.4 * height / STEP_MM), round(height / STEP_MM) + 1)
        return [float(t) for t in np.round(steps * STEP_MM, 4)]


@lru_cache(maxsize=64)
def _thickness_ranges(model: FitModel, verdicts: tuple[str, ...]) -> tuple[Span, ...]:
    """As `FitModel.thickness_ranges`, which is asked for again and again."""
    found = model.thicknesses()
    return spans(found, [model.verdict(t) in verdicts for t in found])


def spans(thicknesses: Sequence[float], good: Sequence[bool]) -> tuple[Span, ...]:
    """First and last of each run of neighbouring thicknesses that are good."""
    pairs = zip(thicknesses, good, strict=True)
    runs = [list(run) for is_good, run in groupby(pairs, itemgetter(1)) if is_good]
    return tuple((run[0][0], run[-1][0]) for run in runs)


def check_bead(bead: BeadSize, pitch_mm: float) -> None:
    """Refuse a bead that cannot sit on a board of this pitch, or is no bead at all.

    Raises OptionError.
    """
    outer, hole, height = bead.outer_mm, bead.hole_mm, bead.height_mm
    if not all(map(isfinite, (outer, hole, height, pitch_mm))) or not (
        0 <= hole < outer and height > 0 and pitch_mm > 0
    ):
        raise OptionError(
            f"{outer:g} x {hole:g} x {height:g} mm is not outer diameter x hole x height of a bead",
            field="bead",
        )
    if not _NARROWEST * pitch_mm <= outer <= _WIDEST * pitch_mm:
        side = "wider than their pegs are apart" if outer > pitch_mm else "far too narrow"
        raise OptionError(
            f"{outer:g} mm beads do not go with a pitch of {pitch_mm:g} mm: they are {side}",
            field="bead",
            remedy="check both",
        )


def check_thickness(model: FitModel, thickness_mm: float, field: str = "thickness_mm") -> None:
    """Refuse a thickness that no pressed bead has.

    Raises OptionError that names the field.
    """
    low, high = 0.2 * model.bead.height_mm, model.bead.height_mm
    if not low <= thickness_mm <= high:
        raise OptionError(
            f"{thickness_mm:g} mm is not from {low:g} to {high:g} mm, what a bead of {high:g} mm"
            " height can be pressed to",
            field=field,
        )
