"""Joins the stages: a picture becomes a pack. What every front end calls.

    picture file -> Target -> Plate -> Split, Counts -> pack

`make` goes the whole way; `write_again` starts from a plate document that was touched up.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import asdict, dataclass, field, replace
from functools import cache
from pathlib import Path
from typing import Any

from img2plate.base.archive import write_zip
from img2plate.base.arrays import Cells
from img2plate.base.errors import OptionError, OutputError, PlateError
from img2plate.base.files import PACK_FILES, pack_folder, safe_file
from img2plate.base.lengths import PAPERS, parse_mm_pair, parse_pair
from img2plate.colour.look_error import Looks, View, default_view, measure_looks
from img2plate.colour.palette import Palette
from img2plate.colour.palette_file import find_palette
from img2plate.image.grid import Grid
from img2plate.image.native import NativeGrid
from img2plate.image.native.check import draw_check
from img2plate.image.png import write_rgba_png
from img2plate.image.read import read_picture
from img2plate.image.sizing import Fit, SizeWish
from img2plate.image.target import SourceOptions, Target, read_native, read_target
from img2plate.inventory.stock import Stock, read_stock
from img2plate.plate.choice import ChoiceOptions, shade_chosen
from img2plate.plate.document import is_touched, read_plate, write_plate
from img2plate.plate.plate import Plate
from img2plate.plate.scatter import Scattered, ScatterOptions, scatter
from img2plate.plate.shading import ShadingOptions
from img2plate.split.rounds import Round
from img2plate.split.tiles import Split
from img2plate.tally.bags import Bag, parse_bag
from img2plate.tally.counts import SECONDS_PER_BEAD, Counts, count, count_plates
from img2plate.typeset.pack import Plan, SheetOptions, plan_pack, write_pack_pages

DEFAULT_PALETTE = "harbour-48"
MOST_LOOK_SAMPLES = 8_000_000
"""Samples that the look error may take: very large plates are looked at more coarsely."""
Progress = Callable[[str, float], None]
"""Told the stage, in plain words, and how much of the run is done, 0..1."""


@dataclass(frozen=True)
class PackOptions:
    """How a plate is cut, counted and printed."""

    out: Path = Path("packs")
    board: str = "29x29"
    pitch_mm: float | None = None
    """None: the palette's own."""
    paper: str = "A4"
    thickness_mm: float = 4.0
    spare_percent: float = 5.0
    seconds_per_bead: float = SECONDS_PER_BEAD
    sheets: SheetOptions = field(default_factory=SheetOptions)
    """Seams, rounds, which side is seen, printer, bags."""


@dataclass(frozen=True)
class SizeOptions:
    """How large the plate is to be: one of these ways, or none."""

    width: int | None = None
    height: int | None = None
    size: str = ""
    boards: str = ""
    mm: str = ""
    fit: Fit | None = None

    def wish(self, board: tuple[int, int], pitch_mm: float) -> SizeWish | None:
        """Turn into beads. Raises OptionError when ways are mixed, or a value makes no sense."""
        one_side = self.width is not None or self.height is not None
        ways = [bool(self.size), bool(self.boards), bool(self.mm), one_side]
        if sum(ways) > 1:
            raise OptionError(
                "--width/--height, --size, --boards and --mm exclude each other; give one of them"
            )
        if self.size:
            return SizeWish(*parse_pair(self.size, "--size"), self.fit)
        if self.boards:
            across, down = parse_pair(self.boards, "--boards")
            return SizeWish(across * board[0], down * board[1], self.fit)
        if self.mm:
            wide, high = parse_mm_pair(self.mm, "--mm")
            return SizeWish(_beads_in(wide, pitch_mm), _beads_in(high, pitch_mm), self.fit)
        if one_side:
            return SizeWish(_side(self.width, "--width"), _side(self.height, "--height"), self.fit)
        if self.fit:
            raise OptionError("--fit needs both measures; give --size WxH (or --boards, or --mm)")
        return None


@dataclass(frozen=True)
class MakeOptions:
    """All that `make` can be told."""

    palette: str = DEFAULT_PALETTE
    source: SourceOptions = field(default_factory=SourceOptions)
    size: SizeOptions = field(default_factory=SizeOptions)
    shading: ShadingOptions = field(default_factory=ShadingOptions)
    choice: ChoiceOptions = field(default_factory=ChoiceOptions)
    stock: Path | None = None
    """The stock file whose counts are a hard limit; None for beads without end."""
    stock_advice: bool = False
    """Whether to tell which purchases would improve the plate most."""
    viewing_distance_m: float | None = None
    """None: twice the plate's diagonal, at least 0.5 m."""
    pack: PackOptions = field(default_factory=PackOptions)
    scatter: ScatterOptions = field(default_factory=ScatterOptions)


@dataclass(frozen=True, eq=False)
class Recovered:
    """The native grid of one picture, and what was written of it."""

    image: Path
    native: NativeGrid
    files: tuple[Path, ...]
    seconds: float

    def as_json(self) -> dict[str, Any]:
        """Plain types, for `--json`."""
        native = self.native
        return {
            "file": str(self.image),
            "cells": list(native.cells) if native.cells else None,
            "cell_px": [round(p, 4) for p in native.cell_px],
            "offset_px": [round(p, 4) for p in native.offset_px],
            "confidence": round(native.confidence, 3),
            "kernel": native.kernel,
            "other": list(native.other) if native.other else None,
            "seconds": round(self.seconds, 3),
        }


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
    archive: Path | None = None
    """The pack as one zip, when asked for."""

    @property
    def files(self) -> list[Path]:
        """The files of the pack."""
        files = [self.folder / name for name in sorted(PACK_FILES)]
        return [*files, self.archive] if self.archive else files

    def as_json(self) -> dict[str, Any]:
        """Plain types, for `--json`."""
        return {
            "size": list(self.plate.size),
            "beads": self.counts.beads,
            "colours": [
                {"code": line.bead.code, "name": line.bead.name, "count": line.beads}
                for line in self.counts.colours
            ],
            "tiles": len(self.split.tiles),
            "detail_cut": self.split.detail_cut,
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


def make(
    image: Path, options: MakeOptions, *, name: str = "", progress: Progress | None = None
) -> Pack:
    """Turn a picture file into a pack named `name` (else as the picture) in `options.pack.out`."""
    start, tell = time.perf_counter(), progress or _quiet
    draft = _draft(image, options, name or image.stem, tell)
    folder = options.pack.out / (name or image.stem)
    with ThreadPoolExecutor(1) as beside:  # filters and sheets each keep one core busy
        looks = beside.submit(_look_at, draft.picture, draft.plate, draft.view)
        pack = _finish(draft.plate, options.pack, folder, draft.notes, start, tell)
        return replace(pack, looks=looks.result(), seconds=time.perf_counter() - start)


@dataclass(frozen=True, eq=False)
class Draft:
    """A plate before anything is written, and what it was made from."""

    plate: Plate
    picture: Callable[[int], Grid]
    """The full picture on the plate's cells, at so many samples a side."""
    view: View
    notes: tuple[str, ...]

    def looks(self) -> Looks:
        """How it looks beside its picture."""
        return _look_at(self.picture, self.plate, self.view)


def draft_plate(
    image: Path,
    options: MakeOptions,
    *,
    progress: Progress | None = None,
    read: Callable[[Path, SizeWish | None, SourceOptions], Target] = read_target,
) -> Draft:
    """Turn a picture file into a plate, and write nothing; `read` may remember what it read."""
    return _draft(image, options, image.stem, progress or _quiet, read)


def _draft(
    image: Path,
    options: MakeOptions,
    name: str,
    tell: Progress,
    read: Callable[[Path, SizeWish | None, SourceOptions], Target] = read_target,
) -> Draft:
    """Read a picture and choose beads."""
    tell("reading", 0.0)
    palette = _palette(options.palette, options.pack.pitch_mm)
    options.choice.allowed(palette)  # refuses early
    if options.stock_advice and not options.stock:
        raise OptionError("--stock-advice needs the beads you own; give --stock FILE")
    if options.stock and options.scatter.wishes:
        raise OptionError("--scatter would use beads that --stock does not count; leave one out")
    stock = read_stock(options.stock) if options.stock else None
    wish = options.size.wish(parse_pair(options.pack.board, "--board"), palette.pitch_mm)
    target = read(image, wish, options.source)
    view = _view(target, palette, options.viewing_distance_m)
    picture = cache(target.fine)
    plate, notes = _shade(target, palette, options, stock, view, picture, name, tell)
    plate, more = scatter(plate, options.scatter)
    return Draft(plate, picture, view, (*target.notes, *notes, *more))


def recover(
    image: Path, out: Path, options: SourceOptions, *, name: str = "", show: bool = False
) -> Recovered:
    """Write the native picture of an enlarged sprite to `out`, one pixel a cell, if it has a grid.

    With `show` also a picture to check the grid by eye.
    """
    start = time.perf_counter()
    picture = read_picture(image, most_megapixels=options.most_megapixels)
    native = read_native(picture.pixels, options)
    seconds, name = time.perf_counter() - start, name or image.stem
    drawn = {f"{name}.png": native.pixels} if native.pixels is not None else {}
    if show:
        drawn[f"{name}-grid.png"] = draw_check(picture.pixels, native)
    for file, pixels in drawn.items():
        if (out / file).resolve() == image.resolve():
            raise OutputError(f"{out / file} is the picture itself; choose another --out")
        with safe_file(out / file) as temporary:
            write_rgba_png(temporary, pixels)
    return Recovered(image, native, tuple(out / file for file in drawn), seconds)


def write_again(
    document: Path,
    options: PackOptions,
    *,
    palette: str = "",
    name: str = "",
    change: Callable[[Plate], Scattered] | None = None,
    suffix: str = "",
    progress: Progress | None = None,
) -> Pack:
    """Write a pack again from a plate document, perhaps touched up in a pixel editor.

    It is named `name`, else as the plate says, with `suffix`. `change` is done to the plate first.
    """
    start, tell = time.perf_counter(), progress or _quiet
    tell("reading", 0.0)
    given = _palette(palette, options.pitch_mm) if palette else None
    plate = read_plate(document, given)
    plate = Plate(plate.cells, _with_pitch(plate.palette, options.pitch_mm), plate.name, plate.made)
    name = name or plate.name + suffix
    plate, notes = change(replace(plate, name=name)) if change else (plate, ())
    return _finish(plate, options, options.out / name, notes, start, tell)


def write_plate_pack(
    plate: Plate,
    options: PackOptions,
    *,
    name: str = "",
    notes: tuple[str, ...] = (),
    progress: Progress | None = None,
) -> Pack:
    """Write the pack of a plate, named `name`, else as the plate is."""
    start, tell = time.perf_counter(), progress or _quiet
    plate = replace(plate, palette=_with_pitch(plate.palette, options.pitch_mm))
    return _finish(plate, options, options.out / (name or plate.name), notes, start, tell)


def count_documents(
    documents: Sequence[Path],
    *,
    palette: str = "",
    spare_percent: float = 0.0,
    seconds_per_bead: float = SECONDS_PER_BEAD,
    bag: Bag | None = None,
) -> Counts:
    """Add up the beads of several plate documents, one column for each."""
    given = find_palette(palette) if palette else None
    plates = [read_plate(document, given) for document in documents]
    return count_plates(
        plates,
        [plate.name for plate in plates],
        spare_percent=spare_percent,
        seconds_per_bead=seconds_per_bead,
        bag=bag,
    )


def _shade(
    target: Target,
    palette: Palette,
    options: MakeOptions,
    stock: Stock | None,
    view: View,
    picture: Callable[[int], Grid],
    name: str,
    tell: Progress,
) -> tuple[Plate, tuple[str, ...]]:
    """Choose a bead for each cell; returns notes too."""
    tell("choosing beads", 0.1)

    def watch(done: float, cells: Cells) -> bool:
        tell("choosing beads", 0.1 + 0.4 * done)
        return False

    how = options.shading.resolved(is_sprite=target.grid.is_sprite)
    size = target.grid.cover.size
    shaded = shade_chosen(
        target.grid,
        palette,
        how,
        options.choice,
        stock=stock,
        view=view,
        picture=lambda per_cell: picture(_affordable(per_cell, size)),
        watch=watch,
    )
    notes = (*shaded.notes, *_advice(target.grid, palette, options, how.difference, stock))
    made: dict[str, str | int | float] = {"source": target.grid.source, "shading": how.shading}
    if how.shading == "none":
        made |= {"difference": how.difference}
    else:
        made |= {"strength": how.strength, "seed": how.seed}
    if options.choice.colours is not None:
        made |= {"colours": options.choice.colours}
    if how.shading == "search":
        made |= {"specks": how.specks, "viewing_distance_m": round(view.distance_m, 3)}
    return Plate(shaded.cells, palette, name, made), notes


def _advice(
    grid: Grid, palette: Palette, options: MakeOptions, difference: str, stock: Stock | None
) -> tuple[str, ...]:
    """A note for each purchase that would improve the plate."""
    if stock is None or not options.stock_advice:
        return ()
    from img2plate.plate.advice import BAG_BEADS, advise

    bag = parse_bag(options.pack.sheets.bag, options.pack.sheets.bag_price)
    beads = BAG_BEADS
    if bag is not None:
        beads = bag.beads or int(bag.grams / palette.bead_size.grams)
    found = advise(grid, palette, stock, options.choice, difference=difference, beads=max(1, beads))
    return tuple(map(str, found)) or ("the stock has all that this plate wishes for",)


def _view(target: Target, palette: Palette, distance_m: float | None) -> View:
    """From where the plate will be looked at."""
    if distance_m is not None and not 0.1 <= distance_m <= 100:
        raise OptionError(f"--viewing-distance: {distance_m:g} m is not from 0.1 to 100")
    if distance_m is None:
        return default_view(target.grid.cover.shape, palette.pitch_mm)
    return View(distance_m, palette.pitch_mm)


def _affordable(per_cell: int, cells: int) -> int:
    """Samples a cell's side that memory allows for so many cells; a multiple of 3."""
    return min(per_cell, max(3, int((MOST_LOOK_SAMPLES / cells) ** 0.5) // 3 * 3))


def _look_at(picture: Callable[[int], Grid], plate: Plate, view: View) -> Looks:
    """Compare the plate with its picture."""
    per_cell = _affordable(view.per_cell, plate.cells.size)
    return measure_looks(picture(per_cell).rgb, plate.linear(), plate.cells, view)


def _finish(
    plate: Plate,
    options: PackOptions,
    folder: Path,
    notes: tuple[str, ...],
    start: float,
    tell: Progress,
) -> Pack:
    """Cut, count and write."""
    if options.paper not in PAPERS:
        raise OptionError(f"--paper: {options.paper!r} is none of {', '.join(PAPERS)}")
    board, paper = parse_pair(options.board, "--board"), PAPERS[options.paper]
    plan = plan_pack(plate, board, paper, options.sheets)
    counts = count(
        plate,
        plan.split,
        spare_percent=options.spare_percent,
        seconds_per_bead=options.seconds_per_bead,
        bag=plan.bag,
    )
    notes = (*notes, *plan.notes, *_write_pack(folder, plate, plan, counts, options, tell))
    archive = folder.parent / f"{folder.name}.zip" if options.sheets.zip else None
    if archive:
        write_zip(archive, [folder / name for name in PACK_FILES])
    tell("done", 1.0)
    seconds = time.perf_counter() - start
    return Pack(folder, plate, plan.split, counts, notes, seconds, None, plan.rounds, archive)


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
            tell=lambda stage, part: tell(stage, 0.5 + 0.5 * part),
        )
    return kept


def _keep_touched(old: Path, new: Path, plate: Plate) -> tuple[str, ...]:
    """Keep an older plate that was touched up by hand: a run must not lose that work."""
    if not old.is_file() or not is_touched(old) or _shows(old, plate):
        return ()
    number = 1
    while (name := f"plate-touched-{number}.png") and (old.parent / name).exists():
        number += 1
    (new / name).write_bytes(old.read_bytes())
    return (f"the plate that was touched up by hand is kept as {name}",)


def _shows(document: Path, plate: Plate) -> bool:
    """Whether a document has the cells of a plate."""
    try:
        cells = read_plate(document, plate.palette).cells
    except PlateError:
        return False
    return bool(cells.shape == plate.cells.shape and (cells == plate.cells).all())


def _palette(name: str, pitch_mm: float | None) -> Palette:
    """Find a palette, for the pitch that is asked for."""
    return _with_pitch(find_palette(name), pitch_mm)


def _with_pitch(palette: Palette, pitch_mm: float | None) -> Palette:
    """Check a pitch and apply it; None leaves the palette's own."""
    if pitch_mm is None:
        return palette
    if not 0.5 <= pitch_mm <= 50:
        raise OptionError(f"--pitch: {pitch_mm:g} mm is not from 0.5 to 50")
    return palette.with_pitch(pitch_mm)


def _beads_in(mm: float, pitch_mm: float) -> int:
    """How many whole beads lie in a length, at least 1."""
    return max(1, int(mm / pitch_mm + 1e-9))  # 58 x 2.6 = 150.8 must give 58, not 57.99...


def _side(value: int | None, option: str) -> int:
    """Check one measure; 0 stands for 'follows from the other'."""
    if value is not None and value < 1:
        raise OptionError(f"{option}: {value} is no number of beads; give at least 1")
    return value or 0


def _quiet(stage: str, done: float) -> None:
    """Tell nobody."""
