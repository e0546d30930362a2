"""From a plate to the files of its pack that are looked at: plan them, then write them.

The plan holds all that can be refused (an unknown face, a ruler that is far off), so that wrong
options are told before anything is drawn.
"""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path

from img2plate.base.errors import OptionError
from img2plate.plate.plate import Plate
from img2plate.plate.strength.strength import Strength, look_at, look_at_several
from img2plate.split.by_hand import WAYS
from img2plate.split.cuts import SMALLEST_TILE
from img2plate.split.rounds import Round, plan_rounds
from img2plate.split.rounds_by_hand import Names, placed_rounds
from img2plate.split.tiles import Split, split
from img2plate.tally.counts import Counts
from img2plate.tally.table import write_counts, write_workbook
from img2plate.typeset.follow import write_follow_page
from img2plate.typeset.preview import write_picture, write_preview
from img2plate.typeset.sheets import write_sheets
from img2plate.typeset.sheets.printing import Printing
from img2plate.typeset.strength import write_strength
from img2plate.typeset.symbols import symbols_for
from img2plate.typeset.template import write_template


@dataclass(frozen=True)
class Plan:
    """How a plate is cut, built and printed."""

    split: Split
    rounds: tuple[Round, ...]
    """Empty when all boards are at hand."""
    printing: Printing
    notes: tuple[str, ...]
    """For people."""
    strength: Strength
    """Where the plate may come apart."""


def plan_pack(
    plate: Plate,
    board: tuple[int, int],
    printing: Printing,
    *,
    seams: str = "full",
    smallest_tile: int = SMALLEST_TILE,
    boards_owned: int | None = None,
    rounds: Names | None = None,
) -> Plan:
    """Cut a plate and group its boards. Raises OptionError for options that make no sense.

    smallest_tile: pegs that a tile keeps at least with quiet seams; boards_owned: None for as many
    as the plate needs; rounds: which boards in which, by hand (see `split.rounds_by_hand`).
    """
    cut = split(plate, board, seams=seams, smallest=smallest_tile)
    if boards_owned is not None and cut.boards:
        raise OptionError(
            "counts boards of one size",
            field="boards_owned",
            value=boards_owned,
            remedy="give how many you own of each size in `board`, as in 29x29*4,14x14*2",
        )
    groups: tuple[Round, ...] = ()
    if rounds is not None:
        groups = placed_rounds(plate, cut, rounds, boards_owned)
    elif boards_owned is not None:
        groups = plan_rounds(plate, cut, boards_owned)
    groups = groups if len(groups) > 1 else ()
    strength = _strength(plate)
    notes = (*_seam_notes(plate, cut, seams), *_round_notes(groups), *strength.notes)
    if printing.mirrored:
        notes += ("the front faces down on the boards: sheets and follow.html are mirrored",)
    return Plan(cut, groups, printing, notes, strength)


def _strength(plate: Plate) -> Strength:
    """Where a plate may come apart; several that were laid out are looked at one by one."""
    plates, wide, high = (plate.made.get(name) for name in ("layout", "set_wide", "set_high"))
    if isinstance(plates, int) and isinstance(wide, int) and isinstance(high, int):
        return look_at_several(plate.filled, (wide, high), plates)
    return look_at(plate.filled)


def _seam_notes(plate: Plate, cut: Split, seams: str) -> list[str]:
    """How much detail the seams cut, beside full boards; how good a cover of several sizes is."""
    if cut.boards:
        met = f"; {cut.detail_cut:,} colour changes meet them" if len(cut.tiles) > 1 else ""
        return [f"{cut.cover_words}{met}"] if cut.cover_words else []
    if seams == "full" or len(cut.tiles) == 1:
        return []
    plain = split(plate, cut.board).detail_cut
    which = f"{seams} seams" if seams in WAYS else "these seams"
    return [
        f"{which} are met by {cut.detail_cut:,} colour changes; full boards first, by {plain:,}"
    ]


def _round_notes(rounds: tuple[Round, ...]) -> list[str]:
    """In how many rounds the plate is built."""
    if not rounds:
        return []
    most = max(len(each.tiles) for each in rounds)
    first = ", ".join(tile.name for tile in rounds[0].tiles)
    on = f"{most} board" if most == 1 else f"{most} boards"
    return [f"{len(rounds)} rounds on {on}; first {first}, then see sheets.pdf"]


def write_pack_pages(
    folder: Path,
    plate: Plate,
    plan: Plan,
    counts: Counts,
    *,
    thickness_mm: float,
    template: bool,
    tell: Callable[[str, float], None],
) -> None:
    """Write everything but the plate itself: counts, pictures, page, sheets, perhaps a template.

    `tell` hears the stage and the share done, 0..1 of these files.
    """
    symbols = symbols_for([line.index for line in counts.colours])
    write_counts(folder / "counts.csv", counts, symbols)
    write_workbook(folder / "counts.xlsx", counts, symbols)
    tell("drawing the sheets", 0.0)
    write_follow_page(folder / "follow.html", plate, plan.split, counts,
                      mirrored=plan.printing.mirrored, rounds=plan.rounds)  # fmt: skip
    with ThreadPoolExecutor(1) as beside:  # packing PNG files leaves the interpreter free
        pictures = beside.submit(_write_pictures, folder, plate, plan, thickness_mm)
        write_sheets(
            folder / "sheets.pdf",
            plate,
            plan.split,
            counts,
            plan.printing,
            rounds=plan.rounds,
            thickness_mm=thickness_mm,
            remarks=plan.strength.words,
            progress=lambda part: tell("drawing the sheets", part),
        )
        if template:
            write_template(
                folder / "template.pdf",
                plate,
                plan.split,
                counts,
                plan.printing,
                rounds=plan.rounds,
                thickness_mm=thickness_mm,
                remarks=plan.strength.words,
            )
        pictures.result()


def _write_pictures(folder: Path, plate: Plate, plan: Plan, thickness_mm: float) -> None:
    """The preview, the picture to share, and where the plate may come apart."""
    write_preview(folder / "preview.png", plate, thickness_mm=thickness_mm)
    write_picture(folder / "picture.png", plate, thickness_mm=thickness_mm)
    write_strength(folder / "strength.png", plate, plan.strength)
