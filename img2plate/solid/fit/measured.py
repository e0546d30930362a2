"""What a user measured on a test piece, and the model that follows it.

A measurement is written THICKNESS:LONG[:SHORT[:JOINT]], lengths in mm: the pressed plate's
thickness, the strip's long edge (15 beads), its tab (5 beads), and how the joint felt. The
difference of the two lengths is ten pitches of the cold plate, whatever it shrank; without the
short one the board's own pitch has to be trusted.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from img2plate.base.errors import OptionError
from img2plate.solid.fit.model import VERDICTS, FitModel, Limits, check_thickness

LONG_BEADS = 15
SHORT_BEADS = 5
"""Of the test piece's strip; see `solid/fit/trial.py`."""
FELT = {verdict.replace(" ", "-"): verdict for verdict in VERDICTS}
_EXAMPLE = "as 3.9:75.1:25.2 or 3.9:75.1:25.2:holds"


@dataclass(frozen=True)
class Measured:
    """One pressed test piece, mm."""

    thickness_mm: float
    long_mm: float
    short_mm: float | None = None
    felt: str | None = None
    """One of VERDICTS."""

    def cell_mm(self, pitch_mm: float) -> float:
        """Bead to bead of the cold plate."""
        if self.short_mm is None:
            return pitch_mm
        return (self.long_mm - self.short_mm) / (LONG_BEADS - SHORT_BEADS)

    def width_mm(self, pitch_mm: float) -> float:
        """Width of a bead with free edges: w = L - (N - 1) p."""
        return self.long_mm - (LONG_BEADS - 1) * self.cell_mm(pitch_mm)


def parse_measured(text: str) -> Measured:
    """Read one measurement.

    Raises OptionError with what is wrong.
    """
    parts = text.split(":")
    felt = parts.pop() if len(parts) == 4 else None
    try:
        numbers = [float(part.strip().removesuffix("mm")) for part in parts]
    except ValueError:
        numbers = []
    if len(numbers) not in (2, 3) or min(numbers) <= 0:
        raise OptionError(
            f"is not THICKNESS:LONG[:SHORT[:JOINT]] in mm, {_EXAMPLE}", field="measured", value=text
        )
    if felt is not None and felt not in FELT:
        raise OptionError(f"is none of {', '.join(FELT)}", field="measured", value=felt)
    short = numbers[2] if len(numbers) == 3 else None
    return Measured(numbers[0], numbers[1], short, FELT[felt] if felt else None)


def calibrate(model: FitModel, pieces: list[Measured]) -> FitModel:
    """Return the model that goes through what was measured, by least squares.

    One piece sets the share that crosses a free edge; pieces of different thickness also set the
    width of a loose bead. Raises OptionError for lengths that no strip of this pitch can have.
    """
    if not pieces:
        return model
    for piece in pieces:
        _check(model, piece)
    shrink = float(
        np.mean([p.cell_mm(model.pitch_mm) / model.cell_mm(p.thickness_mm) for p in pieces])
    )
    moved = np.array([model.moved_mm2(p.thickness_mm) for p in pieces]) * 2 / model.pitch_mm
    over = np.array([_over(model, p, shrink) for p in pieces])
    share, loose = _line(moved, over, model.bead.outer_mm)
    if share <= 0:
        raise OptionError(
            "the strip did not grow where it was pressed thinner",
            field="measured",
            remedy="measure again, or check `bead` and `pitch_mm`",
        )
    fitted = replace(model, share=share, loose_mm=loose, shrink=shrink, is_measured=True)
    return replace(fitted, limits=_felt_limits(fitted, pieces))


def _check(model: FitModel, piece: Measured) -> None:
    """Refuse what must be a slip: a length over 10% off."""
    check_thickness(model, piece.thickness_mm, "measured")
    for beads, length in ((LONG_BEADS, piece.long_mm), (SHORT_BEADS, piece.short_mm)):
        nominal = model.tab_mm(beads, piece.thickness_mm)
        if length is not None and abs(length / nominal - 1) > 0.1:
            raise OptionError(
                f"{length:g} mm for {beads} beads, but about {nominal:.1f} mm are to be expected",
                field="measured",
                remedy=f"the order is THICKNESS:LONG:SHORT, {_EXAMPLE}",
            )


def _over(model: FitModel, piece: Measured, shrink: float) -> float:
    """Width of a bead as it would be without shrinking and growing of the whole plate."""
    grown = model.cell_mm(piece.thickness_mm) - model.pitch_mm
    return piece.width_mm(model.pitch_mm) / shrink - grown


def _line(
    moved: NDArray[np.float64], over: NDArray[np.float64], loose: float
) -> tuple[float, float]:
    """Slope and start of width over moved plastic; one piece alone starts at the loose bead."""
    if len(moved) > 1 and np.ptp(moved) > 0.05 * moved.max():
        slope, start = np.polyfit(moved, over, 1)
        return float(slope), float(start)
    total = float((moved * moved).sum())
    if total == 0:
        raise OptionError(
            "that piece is as thick as a loose bead", field="measured", remedy="press it first"
        )
    return float((moved * (over - loose)).sum() / total), loose


def _felt_limits(model: FitModel, pieces: list[Measured]) -> Limits:
    """Move the borders between verdicts so that each felt one comes out."""
    borders = list(model.limits.borders)
    for piece in pieces:
        if piece.felt is None:
            continue
        squeeze = -model.along_mm(piece.thickness_mm) / model.pitch_mm
        felt = VERDICTS.index(piece.felt)
        for i in range(len(borders)):  # border i lies between verdict i and i + 1
            less, more = squeeze - 1e-6, squeeze + 1e-6
            borders[i] = min(borders[i], less) if i < felt else max(borders[i], more)
    return Limits(*borders)
