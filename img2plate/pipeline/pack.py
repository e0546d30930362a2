"""A plate becomes a pack: the folder that `make`, `sheets`, `scatter` and others write."""

from __future__ import annotations

import time
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import Any

from img2plate.base.archive import write_zip
from img2plate.base.arrays import Pixels
from img2plate.base.files import pack_files, pack_folder, plain_name, safe_file
from img2plate.colour.look_error import Looks
from img2plate.image.png import write_rgba_png
from img2plate.pipeline.laid import laid_as
from img2plate.pipeline.options import PackOptions, Progress, quiet, with_pitch
from img2plate.plate.document import holds_other_work, write_plate
from img2plate.plate.plate import Plate
from img2plate.plate.rebuild import changes_between
from img2plate.plate.strength.strength import Strength
from img2plate.split.rounds import Round
from img2plate.split.tiles import Split
from img2plate.tally.counts import Counts, count
from img2plate.typeset.pack import Plan, plan_pack, write_pack_pages
from img2plate.typeset.sheets.printing import Printing, is_mirrored
from img2plate.typeset.side_by_side import write_side_by_side


@dataclass(frozen=True, eq=False)
class Pack:
    """What a run wrote."""

    folder: Path
    plate: Plate
    split: Split
    counts: Counts
    notes: tuple[str, ...]
    seconds: float
    looks: Looks | None = None
    """How it looks beside its picture; None when there is no picture."""
    rounds: tuple[Round, ...] = ()
    """In which order to build, when fewer boards are owned than needed."""
    strength: Strength | None = None
    """Where the plate may come apart."""
    archive: Path | None = None
    """The pack as one zip, when asked for."""
    has_template: bool = False

    @property
    def files(self) -> list[Path]:
        """The files of the pack."""
        files = [self.folder / name for name in sorted(pack_files(template=self.has_template))]
        return [*files, self.archive] if self.archive else files

    def as_json(self) -> dict[str, Any]:
        """Plain types."""
        return {
            "size": list(self.plate.size),
            "beads": self.counts.beads,
            "colour_changes": self.counts.changes,
            "hours": round(self.counts.hours, 2),
            "colours": [
                {"code": line.bead.code, "name": line.bead.name, "beads": line.beads}
                for line in self.counts.colours
            ],
            "tiles": len(self.split.tiles),
            "detail_cut": self.split.detail_cut,
            "strength": self.strength.as_json() if self.strength else None,
            "rounds": [[tile.name for tile in each.tiles] for each in self.rounds],
            "bags": self.counts.bags,
            "price": None if self.counts.price is None else float(self.counts.price),
            "files": [str(path) for path in self.files],
            "look": self._looks_json(),
            "seconds": round(self.seconds, 3),
            "notes": list(self.notes),
        }

    def _looks_json(self) -> dict[str, float] | None:
        """The look's figures by name."""
        if self.looks is None:
            return None
        return {name: round(value, 4) for name, value in asdict(self.looks).items()}


def write_plate_pack(
    plate: Plate,
    options: PackOptions,
    *,
    name: str = "",
    notes: tuple[str, ...] = (),
    progress: Progress | None = None,
) -> Pack:
    """Write the pack of a plate, named `name`, else as the plate is."""
    start, tell = time.perf_counter(), progress or quiet
    palette = with_pitch(plate.palette, options.pitch_mm)
    plate = replace(plate, palette=palette, name=plain_name(name or plate.name))
    return write_pack(plate, options, options.out / plate.name, notes, start, tell)


def write_pack(
    plate: Plate,
    options: PackOptions,
    folder: Path,
    notes: tuple[str, ...],
    start: float,
    tell: Progress,
) -> Pack:
    """Cut a plate over boards, count it, and write its pack to `folder`, whole or not at all."""
    plate = signed(plate, options)
    plan = plan_for(plate, options)
    counts = count(
        plate,
        plan.split,
        spare_percent=options.spare_percent,
        pace=options.pace,
        sold=options.bags,
    )
    notes = (*notes, *plan.notes, *_write_pack(folder, plate, plan, counts, options, tell))
    archive = folder.parent / f"{folder.name}.zip" if options.zip else None
    if archive:
        write_zip(archive, [folder / name for name in pack_files(template=options.template)])
    tell("done", 1.0)
    seconds = time.perf_counter() - start
    return Pack(
        folder, plate, plan.split, counts, notes, seconds,
        rounds=plan.rounds, strength=plan.strength, archive=archive,
        has_template=options.template,
    )  # fmt: skip


def signed(plate: Plate, options: PackOptions) -> Plate:
    """The plate as its pack's document has it: whose it is, and how it was laid out."""
    credit = options.credit.checked().over(plate.credit)
    return replace(plate, credit=credit, laid=laid_as(options))


def write_checks(subject: Pixels | None, part: Pixels | None, folder: Path) -> tuple[str, ...]:
    """Write pictures (h, w, 4) to check by what was looked for, beside a pack; a note of each.

    subject: of a photo; part: of a screen. None where it was not looked for.
    """
    notes = []
    for check, what, said in (
        (subject, "subject", "the subject as it was seen; `subject` draws a box round it"),
        (part, "part", "the part that was taken; `crop` X,Y,W,H takes another"),
    ):
        if check is not None:
            path = folder.with_name(f"{folder.name}-{what}.png")
            with safe_file(path) as temporary:
                write_rgba_png(temporary, check)
            notes.append(f"{path} shows {said}")
    return tuple(notes)


def write_before_after(before: Plate | None, plate: Plate, folder: Path) -> tuple[str, ...]:
    """Write both plates side by side, beside a pack; a note of it. None: nothing was changed."""
    if before is None or (before.cells == plate.cells).all():
        return ()
    path = folder.with_name(f"{folder.name}-before-after.png")
    with safe_file(path) as temporary:
        write_side_by_side(temporary, before, plate, changes_between(before, plate))
    return (f"{path} shows the plate before and after colours were changed",)


def plan_for(plate: Plate, options: PackOptions) -> Plan:
    """Cut a plate, and say how it is printed. Raises OptionError."""
    return plan_pack(
        plate,
        options.board,
        printing_for(options),
        seams=options.seams,
        smallest_tile=options.smallest_tile,
        boards_owned=options.boards_owned,
        rounds=options.rounds,
    )


def printing_for(options: PackOptions) -> Printing:
    """How sheets are printed. Raises OptionError."""
    return Printing(
        options.paper,
        options.margin_mm,
        options.printer_measured,
        is_mirrored(options.front),
        options.runs,
    )


def _write_pack(
    folder: Path, plate: Plate, plan: Plan, counts: Counts, options: PackOptions, tell: Progress
) -> tuple[str, ...]:
    """Write all files of a pack, or none. Returns notes on what was kept of an older one."""
    with pack_folder(folder) as new:
        write_plate(new / "plate.png", plate)
        kept = _keep_touched(folder / "plate.png", new, plate)
        write_pack_pages(
            new,
            plate,
            plan,
            counts,
            thickness_mm=options.thickness_mm,
            template=options.template,
            tell=lambda stage, part: tell(stage, 0.5 + 0.5 * part),
        )
    return kept


def _keep_touched(old: Path, new: Path, plate: Plate) -> tuple[str, ...]:
    """Keep an older plate that was touched up by hand: a run must not lose that work."""
    if not old.is_file() or not holds_other_work(old, plate):
        return ()
    number = 1
    while (name := f"plate-touched-{number}.png") and (old.parent / name).exists():
        number += 1
    (new / name).write_bytes(old.read_bytes())
    return (f"the plate that was touched up by hand is kept as {name}",)
