"""From a figure's description to its pack, beside `pipeline`: what front ends call.

figure's TOML file -> FigureSpec -> Figure, checked -> FigurePack
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from img2plate.base.archive import write_zip
from img2plate.base.errors import OptionError
from img2plate.base.files import pack_folder, plain_name
from img2plate.base.lengths import Boards
from img2plate.inventory.stock import read_stock
from img2plate.pipeline.described import keep_description
from img2plate.pipeline.figure_plates import FOLDER, bring_back, keep_touched, lay_on, write_plates
from img2plate.pipeline.options import FigureOptions, PackOptions, Progress
from img2plate.pipeline.pack import printing_for
from img2plate.solid.box.build import Figure
from img2plate.solid.check.lattice import Step
from img2plate.solid.equal import equal_plates
from img2plate.solid.slope.roof import facts_of
from img2plate.tally.counts import Counts
from img2plate.tally.table import write_counts, write_workbook
from img2plate.typeset.colourways import stock_words
from img2plate.typeset.sheets.printing import is_mirrored
from img2plate.typeset.symbols import symbols_for

if TYPE_CHECKING:
    from img2plate.typeset.figure.drawings import Drawings
    from img2plate.typeset.figure.laying import FigureRound, Plan

__all__ = ["FigureOptions", "FigurePack", "run", "write_figure_pack"]


@dataclass(frozen=True, eq=False)
class FigurePack:
    """What a run wrote."""

    folder: Path
    figure: Figure
    counts: Counts
    files: tuple[Path, ...]
    seconds: float
    notes: tuple[str, ...] = ()
    """Besides the figure's own remarks."""
    missing: dict[str, int] | None = None
    """How many beads of which code the stock is missing; None without a stock."""
    rounds: tuple[FigureRound, ...] = ()
    """What is laid at one time, where fewer boards are owned than that takes."""

    def as_json(self) -> dict[str, Any]:
        """Plain types; lengths in mm."""
        figure, model = self.figure, self.figure.spec.model
        t = figure.spec.thickness_mm
        return {
            "name": figure.spec.name,
            "size": list(figure.size),
            "beads": self.counts.beads,
            "colour_changes": self.counts.changes,
            "hours": round(self.counts.hours, 2),
            "colours": [
                {"code": line.bead.code, "name": line.bead.name, "beads": line.beads}
                for line in self.counts.colours
            ],
            "plates": [
                {
                    "name": piece.title,
                    "size": list(piece.plate.size),
                    "beads": piece.plate.bead_count,
                    "thickness_mm": piece.thickness_mm,
                }
                for piece in figure.pieces
            ],
            "equal_plates": [
                [number + 1 for number in group]
                for group in equal_plates(figure.pieces)
                if len(group) > 1
            ],
            "order": {
                group or "parts": [_step(step) for step in steps]
                for group, steps in figure.report.orders.items()
            },
            "roofs": [facts_of(lie) for lie in figure.roofs],
            "bags": self.counts.bags,
            "price": None if self.counts.price is None else float(self.counts.price),
            "missing": self.missing,
            "rounds": [[number + 1 for number in each.plates] for each in self.rounds],
            "notes": [*figure.spec.remarks, *self.notes],
            "loose_parts": list(figure.loose_parts),
            "fit": {
                "thickness_mm": t,
                "verdict": model.verdict(t),
                "clearance_along_mm": round(model.along_mm(t), 4),
                "joins_mm": model.thickness_ranges(),
                "measured": model.is_measured,
            },
            "files": [str(path) for path in self.files],
            "seconds": round(self.seconds, 3),
        }


def _step(step: Step) -> list[Any]:
    """Who comes in, along which axis from which end; the direction itself where it is no axis."""
    along = [] if step.along is None else [[round(way, 6) for way in step.along]]
    return [step.name, "xyz"[step.axis], step.step, *along]


def run(
    path: Path,
    options: FigureOptions,
    *,
    name: str = "",
    progress: Progress | None = None,
    beside: Callable[[str], Path] | None = None,
) -> FigurePack:
    """Make a figure's pack, named `name` or as its file, in `options.pack.out`.

    beside: where files are that the description names; else in its folder.
    Raises FigureError and other errors of one line; nothing half-written stays.
    """
    from img2plate.solid.box.build import build
    from img2plate.solid.file.figure_file import read_figure
    from img2plate.typeset.figure.counts import count_figure
    from img2plate.typeset.figure.laying import round_words

    start = time.perf_counter()
    tell = progress or (lambda _stage, _done: None)
    tell("reading", 0.0)
    spec = read_figure(path, palette=options.palette, colourway=options.colourway, beside=beside)
    tell("joining plates", 0.1)
    how = on_one_size(options.pack)
    figure = build(replace(spec, credit=how.credit.checked().over(spec.credit)))
    notes: tuple[str, ...] = ()
    if options.plates is not None:
        figure, notes = lay_on(figure, options.plates)
    counts = count_figure(figure, spare_percent=how.spare_percent, pace=how.pace, sold=how.bags)
    missing = missing_beads(figure, counts, options.stock)
    plan = plan_for(figure, how)
    if is_mirrored(how.front):
        notes += ("the front faces down on the boards: sheets and follow.html are mirrored",)
    if plan.rounds:
        notes += (round_words(plan.rounds),)
    name = name or "-".join(filter(None, (path.stem, options.colourway)))
    folder = how.out / plain_name(name)
    with pack_folder(folder, bring_back=bring_back) as new:
        keep_description(new, path, options, beside)
        write_figure_pack(new, figure, counts, how, plan, tell)
        written = sorted(file.relative_to(new) for file in new.rglob("*") if file.is_file())
        kept = keep_touched(folder, new, figure)
    files = tuple(folder / file for file in written)
    if how.zip:
        archive = folder.parent / f"{folder.name}.zip"
        write_zip(archive, files, folder)
        files = (*files, archive)
    tell("done", 1.0)
    notes += (*(() if missing is None else (stock_words(missing),)), *kept)
    seconds = time.perf_counter() - start
    return FigurePack(folder, figure, counts, files, seconds, notes, missing, plan.rounds)


def missing_beads(figure: Figure, counts: Counts, stock: Path | None) -> dict[str, int] | None:
    """Beads that a stock is missing, with spare ones, the most first; None without a stock."""
    if stock is None:
        return None
    wanted = np.zeros(len(figure.spec.palette), dtype=np.int64)
    for line in counts.colours:
        wanted[line.index] = line.with_spares
    return read_stock(stock).missing(figure.spec.palette, wanted)


def plan_for(figure: Figure, options: PackOptions) -> Plan:
    """How a figure is laid out on boards and pages. Raises OptionError."""
    from img2plate.typeset.figure.laying import plan_figure

    how = on_one_size(options)
    return plan_figure(
        figure, printing_for(how), board=how.board, seams=how.seams,
        smallest=how.smallest_tile, owned=how.boards_owned,
    )  # fmt: skip


def on_one_size(options: PackOptions) -> PackOptions:
    """Options whose boards are counted in `boards_owned`, as 29x29*4 counts them.

    Raises OptionError for numbers of several sizes: those are laid out under one plate.
    """
    board = options.board
    if not isinstance(board, Boards):
        return options
    numbers = [each.number for each in board.owned]
    if len(numbers) > 1 and (options.boards_owned is not None or any(numbers)):
        raise OptionError(
            "counts boards of several sizes, which are laid under one plate",
            field="board",
            value=str(board),
            remedy="give one size and its number, as 29x29*4",
        )
    if len(numbers) > 1:
        return options
    owned = numbers[0] if options.boards_owned is None else options.boards_owned
    return replace(options, board=board.owned[0].board, boards_owned=owned)


def write_figure_pack(
    folder: Path, figure: Figure, counts: Counts, options: PackOptions, plan: Plan, tell: Progress
) -> Drawings:
    """Write all files of a figure's pack but its description to a folder; returns its drawings."""
    from img2plate.typeset.figure.drawings import draw_all, write_drawings
    from img2plate.typeset.figure.follow import write_figure_follow
    from img2plate.typeset.figure.mesh import write_mesh
    from img2plate.typeset.figure.sheets import write_figure_sheets

    write_plates(folder / FOLDER, figure, options)
    symbols = symbols_for([line.index for line in counts.colours])
    write_counts(folder / "counts.csv", counts, symbols)
    write_workbook(folder / "counts.xlsx", counts, symbols)
    write_mesh(folder / "figure.glb", figure)
    write_figure_follow(folder / "follow.html", figure, counts, plan)
    tell("drawing", 0.3)
    drawings = draw_all(figure)
    write_drawings(folder, drawings)
    tell("drawing the sheets", 0.6)
    write_figure_sheets(folder / "sheets.pdf", figure, counts, drawings, plan,
                        lambda part: tell("drawing the sheets", 0.6 + 0.4 * part))  # fmt: skip
    return drawings
