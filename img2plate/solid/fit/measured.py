"""What a user measured on a test piece, and the model that follows it.

A measurement is written THICKNESS:LONG[:SHORT[:SLOT]][:JOINT], lengths in mm: the pressed plate's
thickness, the strip's long edge (15 beads), its tab (5 beads), the comb's slot (5 empty cells), and
how the joint felt. The difference of the two lengths is ten pitches of the cold plate, whatever it
shrank; without the short one the board's own pitch has to be trusted. The slot says how far edges
move into an opening, which else is taken to be as far as they move out.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import isfinite

import numpy as np
from numpy.typing import NDArray

from img2plate.base.errors import OptionError
from img2plate.solid.fit.model import VERDICTS, FitModel, Limits, check_thickness

LONG_BEADS = 15
SHORT_BEADS = 5
"""Of the test piece's strip; see `solid/fit/trial.py`."""
FELT = {verdict.replace(" ", "-"): verdict for verdict in VERDICTS}
_EXAMPLE = "as 3.9:75.1:25.2, 3.9:75.1:25.2:holds or 3.9:75.1:25.2:24.8:holds"
APART_MM = 0.5
"""Two answers that differ by more than this at one thickness are not both right; a guess: calipers
over rims read to a tenth or two."""


@dataclass(frozen=True)
class Measured:
    """One pressed test piece, mm."""

    thickness_mm: float
    long_mm: float
    short_mm: float | None = None
    felt: str | None = None
    """One of VERDICTS."""
    slot_mm: float | None = None
    """Of the comb: SHORT_BEADS empty cells."""

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
    parts = [part.strip() for part in text.split(":")]
    felt = parts.pop() if len(parts) > 2 and parts[-1][:1].isalpha() else None
    try:
        numbers = [float(part.removesuffix("mm")) for part in parts]
    except ValueError:
        numbers = []
    good = len(numbers) in (2, 3, 4) and all(isfinite(mm) and mm > 0 for mm in numbers)
    if felt is not None and felt not in FELT and good:
        raise OptionError(f"is none of {', '.join(FELT)}", field="measured", value=felt)
    if not good:
        raise OptionError(
            f"is not THICKNESS:LONG[:SHORT[:SLOT]][:JOINT] in mm, {_EXAMPLE}",
            field="measured",
            value=text,
        )
    short, slot = ([*numbers[2:], None, None])[:2]
    return Measured(numbers[0], numbers[1], short, FELT[felt] if felt else None, slot)


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
    _check_lengths(fitted, pieces)
    fitted = replace(fitted, inset_mm=_inset(fitted, pieces))
    fitted = replace(fitted, limits=_felt_limits(fitted, pieces))
    _check_felt(fitted, pieces)
    return fitted


def _check(model: FitModel, piece: Measured) -> None:
    """Refuse what must be a slip: a length over 10% off."""
    check_thickness(model, piece.thickness_mm, "measured")
    t = piece.thickness_mm
    for what, length, nominal in (
        (f"{LONG_BEADS} beads", piece.long_mm, model.tab_mm(LONG_BEADS, t)),
        (f"{SHORT_BEADS} beads", piece.short_mm, model.tab_mm(SHORT_BEADS, t)),
        (f"{SHORT_BEADS} empty cells", piece.slot_mm, model.slot_mm(SHORT_BEADS, t)),
    ):
        if length is not None and abs(length / nominal - 1) > 0.1:
            raise OptionError(
                f"{length:g} mm for {what}, but about {nominal:.1f} mm are to be expected",
                field="measured",
                remedy=f"the order is THICKNESS:LONG:SHORT:SLOT, {_EXAMPLE}",
            )


def _check_lengths(fitted: FitModel, pieces: list[Measured]) -> None:
    """Refuse pieces that cannot all be of the same beads, iron and board."""
    for piece in pieces:
        t = piece.thickness_mm
        wide = fitted.tab_mm(LONG_BEADS, t)
        if abs(wide - piece.long_mm) > APART_MM:
            raise OptionError(
                f"{piece.long_mm:g} mm at {t:g} mm thickness contradicts the other pieces, which"
                f" make it {wide:.1f} mm",
                field="measured",
                remedy="measure again, or leave one out",
            )


def _inset(fitted: FitModel, pieces: list[Measured]) -> float:
    """How much longer the combs' slots are than the edges of their strips would have it."""
    found = [
        piece.slot_mm - fitted.slot_mm(SHORT_BEADS, piece.thickness_mm)
        for piece in pieces
        if piece.slot_mm is not None
    ]
    if found and max(found) - min(found) > 2 * APART_MM:
        raise OptionError(
            "the combs' slots contradict each other", field="measured", remedy="measure again"
        )
    return float(np.mean(found)) if found else 0.0


def _check_felt(fitted: FitModel, pieces: list[Measured]) -> None:
    """Refuse answers that cannot all be true: thinner plates never sit looser."""
    for piece in pieces:
        found = fitted.verdict(piece.thickness_mm)
        if piece.felt is not None and found != piece.felt:
            raise OptionError(
                f"the joint at {piece.thickness_mm:g} mm was felt as {piece.felt!r}, which"
                f" contradicts the other answers: they make it {found!r}, as more squeeze is"
                " never looser",
                field="measured",
                remedy="try it again, or leave one out",
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
    borders, play = list(model.limits.borders), model.limits.play
    for piece in pieces:
        if piece.felt is None:
            continue
        squeeze = model.squeeze(piece.thickness_mm)
        felt = VERDICTS.index(piece.felt)
        if felt:
            play = max(play, model.across_mm(piece.thickness_mm) / model.pitch_mm)
        for i in range(len(borders)):  # border i lies between verdict i and i + 1
            less, more = squeeze - 1e-6, squeeze + 1e-6
            borders[i] = min(borders[i], less) if i < felt else max(borders[i], more)
    holds, tight, too_tight = borders
    return Limits(holds, tight, too_tight, play)
