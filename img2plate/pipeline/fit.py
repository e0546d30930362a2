"""Joins the stages for fit and figures, beside `pipeline`: what front ends call.

bead, pitch, what was measured -> FitAnswer; the test piece's pack
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from img2plate.base.bead import BeadSize
from img2plate.base.errors import OptionError
from img2plate.base.files import safe_file
from img2plate.base.lengths import A4, Paper
from img2plate.colour.palette import Palette
from img2plate.colour.palette_file import find_palette
from img2plate.pipeline.options import PackOptions, with_pitch
from img2plate.pipeline.pack import write_plate_pack
from img2plate.solid.fit.coins import find_coin, read_coins
from img2plate.solid.fit.measured import Measured, calibrate
from img2plate.solid.fit.model import FREE_EDGE_SHARE, FitModel, check_bead, check_thickness
from img2plate.solid.fit.opening import CLEARANCE_MM, Opening, size_opening
from img2plate.solid.fit.trial import trial_plate

USUAL_THICKNESS = 0.8
"""Of a bead's height: 4 mm of 5; common practice, no source."""


@dataclass(frozen=True)
class FitOptions:
    """All that `fit` can be told."""

    palette: str = "harbour-48"
    bead: BeadSize | None = None
    """None: the palette's."""
    pitch_mm: float | None = None
    """None: the palette's."""
    thickness_mm: float | None = None
    """Of the pressed plates; None: USUAL_THICKNESS of the bead's height."""
    tab_thickness_mm: float | None = None
    """Of the plate with the tab; None: as the one with the slot."""
    beads: int = 3
    """Of the tab; empty cells of its slot."""
    measured: tuple[Measured, ...] = ()
    opening: tuple[float, float] | None = None
    """Width and thickness, mm, of an object that is to pass."""
    coin: str = ""
    clearance_mm: float = CLEARANCE_MM
    plot: Path | None = None
    test_piece: bool = False
    out: Path = Path("packs")
    paper: Paper = A4
    how_to_answer: str = ""
    """What the test piece's form says of where to put what was measured; empty for nothing."""


@dataclass(frozen=True)
class FitAnswer:
    """The model with what was asked of it."""

    model: FitModel
    thickness_mm: float
    """Of the plate with the slot."""
    tab_mm: float
    """Of the plate with the tab."""
    beads: int
    bead_is_from_memory: bool
    opening: Opening | None
    object_name: str
    """`2 euro, ` before its measures; empty for an object given by measures."""
    assumptions: tuple[str, ...]
    files: tuple[Path, ...]

    def as_json(self) -> dict[str, Any]:
        """Plain types; lengths in mm."""
        model, t, n, tab = self.model, self.thickness_mm, self.beads, self.tab_mm
        bead = model.bead
        facts: dict[str, Any] = {
            "bead_mm": [bead.outer_mm, bead.hole_mm, bead.height_mm],
            "pitch_mm": model.pitch_mm,
            "thickness_mm": t,
            "measured": model.is_measured,
            "fill": model.fill(t),
            "hole_mm": model.hole_mm(t),
            "edge_bead_mm": model.width_mm(t),
            "beads": n,
            "slot_mm": [model.slot_mm(n, t), model.opening_mm(1, t)],
            "tab_mm": [model.tab_mm(n, tab), tab],
            "clearance_along_mm": model.between_mm(t, tab, n),
            "clearance_across_mm": model.opening_mm(1, t) - tab,
            "verdict": model.verdict(t, tab, n),
            "holds_mm": model.thickness_ranges(("holds",)),
            "joins_mm": model.thickness_ranges(),
            "assumptions": list(self.assumptions),
        }
        if self.opening:
            facts["opening"] = {
                "object_mm": list(self.opening.object_mm),
                "cells": list(self.opening.cells),
                "size_mm": list(self.opening.size_mm),
                "play_mm": list(self.opening.play_mm),
                "passes_mm": self.opening.passes,
                "spare_shrink": self.opening.spare_shrink,
            }
        return facts | {"files": [str(path) for path in self.files]}


def run(options: FitOptions) -> FitAnswer:
    """Answer a question of fit, and write the plot and the test piece when asked to.

    Raises OptionError, PaletteError or OutputError with one line for the user.
    """
    palette = _palette(options)
    model = FitModel(palette.bead_size, palette.pitch_mm)
    pieces, t = list(options.measured), options.thickness_mm
    t = USUAL_THICKNESS * model.bead.height_mm if t is None else t
    check_thickness(model, t)
    tab = t if options.tab_thickness_mm is None else options.tab_thickness_mm
    check_thickness(model, tab, "tab_thickness_mm")
    fitted = calibrate(model, pieces)
    opening, name = _opening(fitted, options, t)
    files = [
        *_write_plot(options, fitted, t, tuple(pieces)),
        *_write_trial(options, palette, fitted),
    ]
    return FitAnswer(
        fitted, t, tab, options.beads, not options.bead, opening, name,
        _assumptions(fitted, pieces, from_memory=not options.bead), tuple(files),
    )  # fmt: skip


def coin_lines() -> list[str]:
    """One line a coin: name, measures, source."""
    return [
        f"{coin.label:<22} {coin.diameter_mm:5.2f} mm across, {coin.thickness_mm:4.2f} mm thick"
        f"  ({coin.source})"
        for coin in read_coins()
    ]


def _palette(options: FitOptions) -> Palette:
    """The palette with the bead and pitch that were given."""
    palette = find_palette(options.palette)
    palette = with_pitch(palette, options.pitch_mm)
    if options.bead:
        palette = replace(palette, bead_size=options.bead)
    check_bead(palette.bead_size, palette.pitch_mm)
    return palette


def _opening(model: FitModel, options: FitOptions, t: float) -> tuple[Opening | None, str]:
    """The opening for an object or a coin, and the object's name."""
    if options.opening and options.coin:
        raise OptionError("give only one of `opening` and `coin`")
    if options.coin:
        coin = find_coin(options.coin)
        size, name = (coin.diameter_mm, coin.thickness_mm), f"{coin.label}, "
    elif options.opening:
        size, name = options.opening, ""
    else:
        return None, ""
    return size_opening(model, *size, t, clearance_mm=options.clearance_mm), name


def _assumptions(model: FitModel, pieces: list[Measured], *, from_memory: bool) -> tuple[str, ...]:
    """What the figures rest on."""
    lines = []
    if from_memory:
        lines.append("the bead's size is from memory or scaled: give your own `bead`")
    if pieces:
        lines.append(f"edge width through {len(pieces)} measured piece(s), so with your shrinkage")
    else:
        lines += [
            "plastic keeps its volume; of what is pressed aside"
            f" {FREE_EDGE_SHARE:.1%} crosses a free edge (a guess: make the `test_piece`)",
            "shrinking on cooling is left out: tab and slot shrink alike, openings do not",
        ]
    if any(piece.slot_mm is not None for piece in pieces):
        lines.append("edges move into an opening as far as the combs' slots were measured to")
    else:
        lines.append(
            "plastic flows into an opening as it flows out at a free edge, and a plate that grows"
            " does not widen it (measure the comb's slot too)"
        )
    if not any(piece.felt for piece in pieces):
        lines.append(
            "verdicts: holds from {:.0%}, tight from {:.0%}, too tight from {:.0%} of the pitch in"
            " squeeze; set so that usual plates (4 mm) hold and long-pressed ones (3 mm) are"
            " tight: common practice, no source".format(*model.limits.borders)
        )
    return (*lines, "both plates pressed evenly, to the same thickness, on boards true to pitch")


def _write_plot(
    options: FitOptions, model: FitModel, t: float, pieces: tuple[Measured, ...]
) -> list[Path]:
    """Write the plot when it is asked for."""
    if options.plot is None:
        return []
    from img2plate.typeset.figure.fit_plot import write_fit_plot

    with safe_file(options.plot) as temporary:
        write_fit_plot(temporary, model, thickness_mm=t, measured=pieces)
    return [options.plot]


def _write_trial(options: FitOptions, palette: Palette, model: FitModel) -> list[Path]:
    """Write the test piece's pack and its form when they are asked for."""
    if not options.test_piece:
        return []
    from img2plate.typeset.figure.trial_form import write_trial_form

    pack_options = PackOptions(out=options.out, paper=options.paper)
    pack = write_plate_pack(trial_plate(palette), pack_options)
    form = pack.folder / "form.pdf"
    with safe_file(form) as temporary:
        write_trial_form(temporary, model, paper=options.paper, how_to_answer=options.how_to_answer)
    return [*pack.files, form]
