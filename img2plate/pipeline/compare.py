"""Variants of one picture side by side.

picture file -> a Draft for each palette, shading, number of colours and width -> proof sheet
"""

from __future__ import annotations

import os
import time
from collections.abc import Iterator
from concurrent.futures import Future, ProcessPoolExecutor, as_completed
from dataclasses import dataclass
from functools import lru_cache
from multiprocessing import get_context
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from img2plate.base.compiled import use_cores
from img2plate.base.errors import Img2PlateError, without_marks
from img2plate.base.files import safe_file
from img2plate.image.background import CLEARING
from img2plate.image.target import Target, read_target
from img2plate.inventory.stock import read_stock
from img2plate.pipeline.draft import Draft, draft_plate
from img2plate.pipeline.options import MakeOptions, Progress, palette_for
from img2plate.pipeline.pack import Pack, write_checks, write_plate_pack
from img2plate.pipeline.proposals import propose
from img2plate.pipeline.variants import SEARCHED, CompareOptions, words_for
from img2plate.split.tiles import split
from img2plate.tally.counts import count
from img2plate.typeset.proof.pictures import far_picture, source_pictures
from img2plate.typeset.proof.proof import Proof, Variant
from img2plate.typeset.proof.write import ENDINGS, write_proof

__all__ = ["CompareOptions", "Comparison", "make_variant", "run"]

_read = lru_cache(maxsize=4)(read_target)
"""Finding a picture's native grid takes longer than most shadings: once in each process."""


@dataclass(frozen=True, eq=False)
class Comparison:
    """What a run wrote."""

    proof: Proof
    files: tuple[Path, ...]
    pack: Pack | None
    seconds: float
    notes: tuple[str, ...] = ()

    def as_json(self) -> dict[str, Any]:
        """Plain types."""
        return {
            "name": self.proof.name,
            "variants": [variant.as_json() for variant in self.proof.variants],
            "failed": [{"variant": name, "why": why} for name, why in self.proof.failed],
            "best": self.proof.best(),
            "files": [str(path) for path in self.files],
            "pack": str(self.pack.folder) if self.pack else None,
            "seconds": round(self.seconds, 3),
            "notes": list(self.notes),
        }


def run(image: Path, options: CompareOptions, *, progress: Progress | None = None) -> Comparison:
    """Write a proof sheet of all combinations: `NAME-proof.png`, `.pdf` and `.html`.

    When nothing is given twice, they are what `proposals` says. The files go to
    `options.make.pack.out`. A variant that fails is told on the sheet; raises its error when all
    fail, or the one that is to be kept.
    """
    start, tell = time.perf_counter(), progress or (lambda _stage, _done: None)
    tell("reading", 0.0)
    _read.cache_clear()  # the file may be another one since the last sheet
    _sources.clear()
    made: dict[int, Variant] = {}
    failed: list[tuple[int, str, Img2PlateError]] = []
    notes: tuple[str, ...] = ()
    if not options.says_what:
        options, notes = propose(options, _target(image, options.first()).grid)
    variants = options.variants()
    for number, result in _make_all(image, variants, options.make.stock):
        if isinstance(result, Variant):
            made[number] = result
        else:
            failed.append((number, words_for(variants[number - 1]), result))
        tell("making plates", 0.9 * (len(made) + len(failed)) / len(variants))
    if not made:
        raise min(failed)[2]
    if options.write_pack is not None and options.write_pack not in made:
        raise next(error for number, _, error in failed if number == options.write_pack)
    largest = max(made.values(), key=lambda each: each.plate.size_mm)
    proof = Proof(
        image.stem,
        largest,
        tuple(made[number] for number in sorted(made)),
        tuple(
            (f"{number}: {name}", without_marks(str(error)))
            for number, name, error in sorted(failed)
        ),
    )
    tell("drawing the proof sheet", 0.9)
    files = tuple(options.make.pack.out / f"{image.stem}-proof{ending}" for ending in ENDINGS)
    for path in files:
        with safe_file(path) as temporary:
            write_proof(temporary, proof)
    pack = None
    if options.write_pack is not None:
        pack = write_plate_pack(made[options.write_pack].plate, options.make.pack, name=image.stem)
    tell("done", 1.0)
    notes += _write_checks(image, variants[min(made) - 1])
    return Comparison(proof, files, pack, time.perf_counter() - start, notes)


def _target(image: Path, options: MakeOptions) -> Target:
    """The picture at bead resolution."""
    palette = palette_for(options.palette, options.pack.pitch_mm)
    wish = options.size.wish(options.pack.board, palette.pitch_mm)
    return _read(image, wish, options.source)


def _write_checks(image: Path, options: MakeOptions) -> tuple[str, ...]:
    """Write the pictures to check a subject or a part by, as `make` does; returns notes of them."""
    if options.source.background not in CLEARING and options.source.crop != "auto":
        return ()
    target = _target(image, options)
    return write_checks(target.check, target.part_check, options.pack.out / image.stem)


def make_variant(number: int, image: Path, options: MakeOptions, stock: Path | None) -> Variant:
    """Make one plate, and measure it."""
    draft = draft_plate(image, options, read=_read)
    plate, looks = draft.plate, draft.looks()
    tiles = split(plate, options.pack.board)
    counts = count(
        plate,
        tiles,
        spare_percent=options.pack.spare_percent,
        pace=options.pack.pace,
        sold=options.pack.bags,
    )
    missing = None
    if stock is not None:
        missing = sum(read_stock(stock).missing(plate.palette, plate.counts()).values())
    return Variant(
        number=number,
        palette=plate.palette.name,
        shading=str(plate.made["shading"]),
        look=str(plate.made.get("look", "")),
        plate=plate,
        far=far_picture(plate, draft.view),
        source=_source(image, options, draft),
        looks=looks,
        colours=len(counts.colours),
        beads=counts.beads,
        changes=counts.changes,
        boards=len(tiles.tiles),
        missing=missing,
        price=counts.price,
    )


_Pictures = tuple[NDArray[np.uint8], NDArray[np.uint8]]
_sources: dict[tuple[object, ...], _Pictures] = {}


def _source(image: Path, options: MakeOptions, draft: Draft) -> _Pictures:
    """The picture on the plate's cells; made once in each process for variants of one size."""
    key = image, options.source, draft.plate.size, options.size, draft.view
    if key not in _sources:
        _sources.clear()
        _sources[key] = source_pictures(draft.picture(draft.view.per_cell), draft.view)
    return _sources[key]


def _make_all(
    image: Path, variants: list[MakeOptions], stock: Path | None
) -> Iterator[tuple[int, Variant | Img2PlateError]]:
    """Make all variants on all cores, each as it comes; in one process when there is but one."""
    if len(variants) == 1:
        yield 1, _or_error(1, image, variants[0], stock)
        return
    cores = os.cpu_count() or 1
    workers = min(len(variants), cores)
    # The search takes longest, so it begins first.
    order = sorted(range(len(variants)), key=lambda i: _weight(variants[i]))
    # Spawned, as a fork of a process with threads may hang; each with its share of the cores.
    with ProcessPoolExecutor(
        workers, get_context("spawn"), initializer=use_cores, initargs=(cores // workers,)
    ) as pool:
        futures: dict[Future[Variant | Img2PlateError], int] = {
            pool.submit(_or_error, i + 1, image, variants[i], stock): i + 1 for i in order
        }
        for future in as_completed(futures):
            yield futures[future], _result(future)


def _result(future: Future[Variant | Img2PlateError]) -> Variant | Img2PlateError:
    """What a worker made; a worker that died, say for lack of memory, is an error like others."""
    from concurrent.futures.process import BrokenProcessPool

    try:
        return future.result()
    except BrokenProcessPool:
        return Img2PlateError("its process was ended from outside, perhaps for lack of memory")


def _or_error(
    number: int, image: Path, options: MakeOptions, stock: Path | None
) -> Variant | Img2PlateError:
    """Make one plate, or say why not."""
    try:
        return make_variant(number, image, options, stock)
    except Img2PlateError as error:
        return error
    except MemoryError:
        return Img2PlateError("not enough memory for this; make the plate smaller")


def _weight(options: MakeOptions) -> int:
    """0 for what takes long."""
    return 0 if options.shading.shading in SEARCHED else 1
