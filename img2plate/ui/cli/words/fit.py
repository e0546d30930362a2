"""The answers of `img2plate fit` in words, each figure with its unit."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from img2plate.solid.fit.model import FitModel, Span
from img2plate.solid.fit.opening import MOULD_SHRINKAGE, Opening

if TYPE_CHECKING:
    from img2plate.pipeline.fit import FitAnswer


def fit_lines(answer: FitAnswer) -> list[str]:
    """All that is to be said, line by line."""
    model, t = answer.model, answer.thickness_mm
    lines = [
        *_bead_lines(model, t, answer.bead_is_from_memory),
        *_joint_lines(model, t, answer.tab_mm, answer.beads),
    ]
    if answer.opening:
        lines += _opening_lines(answer.opening, answer.object_name)
    return [*lines, "assumed", *(f"  - {line}" for line in answer.assumptions)]


def _bead_lines(model: FitModel, t: float, from_memory: bool) -> list[str]:
    """The pressed bead."""
    bead = model.bead
    memory = " (from memory: measure yours)" if from_memory else ""
    holes = f"{model.hole_mm(t):.1f} mm of hole left" if model.hole_mm(t) > 0.05 else "holes closed"
    how = "measured" if model.is_measured else "estimated"
    return [
        f"bead {bead.outer_mm:g} x {bead.hole_mm:g} x {bead.height_mm:g} mm{memory},"
        f" pitch {model.pitch_mm:g} mm, pressed to {t:g} mm",
        f"  cells {model.fill(t):.0%} full, {holes} (full at {model.closed_mm:.2f} mm)",
        f"  a bead at a free edge is {model.width_mm(t):.2f} mm wide ({how})",
    ]


def _joint_lines(model: FitModel, t: float, tab: float, n: int) -> list[str]:
    """Tab and slot."""
    cells, beads = ("1 empty cell", "1 bead") if n == 1 else (f"{n} empty cells", f"{n} beads")
    lines = [
        f"slot of {cells}: {model.slot_mm(n, t):.2f} mm long, {model.opening_mm(1, t):.2f} mm wide",
        f"tab of {beads}: {model.tab_mm(n, tab):.2f} mm wide, {tab:g} mm thick",
        f"  along the joint {_clearance(model.between_mm(t, tab, n))},"
        f" across it {_clearance(model.opening_mm(1, t) - tab)}",
        f"verdict: {model.verdict(t, tab, n)}",
    ]
    both = "" if t == tab else "both plates alike: "
    for verdict in ("holds", "tight"):
        spans = model.thickness_ranges((verdict,))
        lines.append(f"  {both}{verdict} {span_words(spans) if spans else 'at no thickness'}")
    return lines


def span_words(spans: Sequence[Span]) -> str:
    """Ranges of thickness in words, thick plates first, as pressing goes."""
    return " and ".join(f"from {thick:.2f} down to {thin:.2f} mm" for thin, thick in spans[::-1])


def _clearance(mm: float) -> str:
    """Clearance or squeeze in words."""
    return f"{mm:.2f} mm clearance" if mm >= 0 else f"{-mm:.2f} mm squeeze"


def _opening_lines(opening: Opening, name: str) -> list[str]:
    """An opening for an object."""
    (wide, thick), (across, down) = opening.object_mm, opening.cells
    play, shrink = opening.play_mm, opening.spare_shrink
    spans = " and ".join(f"from {thin:g} to {thick:g} mm" for thin, thick in opening.passes)
    through = f"plates {spans}" if spans else "no plate of this pitch"
    enough = "which is enough for" if shrink > MOULD_SHRINKAGE[1] else "less than the most of"
    return [
        f"opening for {name}{wide:g} x {thick:g} mm: {across} x {down} empty cells,"
        f" {opening.size_mm[0]:.2f} x {opening.size_mm[1]:.2f} mm",
        f"  play {play[0]:.2f} mm along, {play[1]:.2f} mm across; passes {through}",
        f"  passes until the plate has shrunk by {shrink:.1%} on cooling, {enough} moulded"
        f" polyethylene's {MOULD_SHRINKAGE[0]:.1%} to {MOULD_SHRINKAGE[1]:.0%}",
    ]
