"""Colourways of a figure by a base colour: one proof sheet of all put together, tables to paste."""

from __future__ import annotations

import tempfile
import time
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from img2plate.base.errors import FigureError
from img2plate.base.files import plain_name, safe_file
from img2plate.pipeline.figure import FigurePack, missing_beads
from img2plate.pipeline.figure import run as make_pack
from img2plate.pipeline.options import FigureOptions, PackOptions, Progress
from img2plate.pipeline.recolour import RecolourOptions, way_json, way_notes, ways_asked
from img2plate.plate.recolouring import Recolouring

if TYPE_CHECKING:
    from img2plate.solid.box.build import Figure
    from img2plate.solid.spec import FigureSpec


@dataclass(frozen=True, eq=False)
class FigureWay:
    """One way to colour a figure."""

    name: str
    """Of the colourway, as `figure` takes it."""
    recolouring: Recolouring
    figure: Figure
    missing: dict[str, int] | None
    """How many beads of which code the stock is missing, with spare ones; None without a stock."""


@dataclass(frozen=True, eq=False)
class RecolouredFigure:
    """What a run wrote."""

    proof: Path
    ways: tuple[FigureWay, ...]
    tables: str
    """The colourways that the description does not have yet, to be put at its end."""
    packs: tuple[FigurePack, ...]
    seconds: float

    @property
    def missing(self) -> list[dict[str, int]] | None:
        """For each way, how many beads of which code the stock is missing; None without a stock."""
        found = [way.missing for way in self.ways if way.missing is not None]
        return found if found else None

    @property
    def notes(self) -> tuple[str, ...]:
        """What is to be known about each way, a sentence each."""
        return tuple(
            note
            for way in self.ways
            for note in way_notes(way.recolouring, way.figure.spec.palette, way.missing)
        )

    def as_json(self) -> dict[str, Any]:
        """Plain types."""
        return {
            "proof": str(self.proof),
            "colourways": [
                {"name": way.name}
                | way_json(
                    way.recolouring, way.figure.spec.palette, way.figure.counts(), way.missing
                )
                for way in self.ways
            ],
            "tables": self.tables,
            "packs": [str(pack.folder) for pack in self.packs],
            "seconds": round(self.seconds, 3),
        }


def run(
    path: Path, options: RecolourOptions, pack: PackOptions, *, progress: Progress
) -> RecolouredFigure:
    """Recolour a figure and write the proof sheet NAME-colourways.png, perhaps packs.

    A base and its shades are found over all plates together. What is shown is what `figure` makes
    of the description with `tables` at its end; packs are made of such a copy.

    Raises OptionError for a target or base that the palette or the figure does not have, and what
    `figure.run` raises.
    """
    from img2plate.solid.box.build import build
    from img2plate.solid.file.colourway_table import in_colourway
    from img2plate.solid.file.figure_file import read_figure
    from img2plate.solid.usage import usage_of_figure
    from img2plate.typeset.figure.ways import Way, write_ways

    start = time.perf_counter()
    progress("reading", 0.0)
    wishes = FigureOptions(options.palette, stock=options.stock, pack=pack)
    spec = read_figure(path, palette=options.palette)
    figure = build(spec)
    progress("recolouring", 0.1)
    asked = ways_asked(usage_of_figure(figure), options)
    spec, names, tables = _with_colourways(spec, asked)
    _check_room(path, tables)
    ways = []
    for number, (name, recolouring) in enumerate(zip(names, asked, strict=True)):
        progress("putting together", 0.1 + 0.3 * number / len(names))
        built = build(in_colourway(spec, name))
        ways.append(FigureWay(name, recolouring, built, _missing(built, wishes)))
    progress("drawing", 0.4)
    proof = pack.out / f"{plain_name(options.name or path.stem)}-colourways.png"
    shown = [
        Way(way.name, way.figure, way.missing, tuple(way.recolouring.changed.values()))
        for way in ways
    ]
    with safe_file(proof) as temporary:
        write_ways(temporary, spec.name, [Way("", figure, _missing(figure, wishes)), *shown])
    packs = _packs(path, tables, names, wishes, progress) if options.write_packs else ()
    progress("done", 1.0)
    seconds = time.perf_counter() - start
    return RecolouredFigure(proof, tuple(ways), tables, packs, seconds)


def _missing(figure: Figure, wishes: FigureOptions) -> dict[str, int] | None:
    """Beads that the stock is missing, as `figure` tells them."""
    from img2plate.typeset.figure.counts import count_figure

    pack = wishes.pack
    counts = count_figure(figure, spare_percent=pack.spare_percent, pace=pack.pace, sold=pack.bags)
    return missing_beads(figure, counts, wishes.stock)


def _with_colourways(
    spec: FigureSpec, ways: Sequence[Recolouring]
) -> tuple[FigureSpec, list[str], str]:
    """The description with these colourways too, their names, and the tables that say the new ones.

    One is called after its target; another one of this name that is there already keeps it.
    """
    from img2plate.solid.file.colourway_table import colourway_table

    palette, known, names, tables = spec.palette, dict(spec.colourways), list[str](), ""
    for way in ways:
        code, change, number = palette.beads[way.target].code, way.table(len(palette)), 2
        name = code
        while name in known and not np.array_equal(known[name], change):
            name, number = f"{code} {number}", number + 1
        if name not in known:
            tables += colourway_table(palette, name, way.changed)
        known[name] = change
        names.append(name)
    return replace(spec, colourways=known), names, tables


def _check_room(path: Path, tables: str) -> None:
    """Raise FigureError when the tables cannot stand at the end of the description."""
    try:
        tomllib.loads(path.read_bytes().decode("utf-8-sig") + tables)
    except tomllib.TOMLDecodeError:
        raise FigureError(
            f"{path}: `colourway = {{...}}` takes no colourways below it; write each of them as a"
            " table, [colourway.NAME]"
        ) from None


def _packs(
    path: Path, tables: str, names: Sequence[str], wishes: FigureOptions, progress: Progress
) -> tuple[FigurePack, ...]:
    """Packs of a copy of the description that has the new colourways."""
    packs = []
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(folder) / path.name
        copy.write_bytes(path.read_bytes() + tables.encode())
        for number, name in enumerate(names):
            progress("writing packs", 0.5 + 0.5 * number / len(names))
            way = replace(wishes, colourway=name)
            packs.append(make_pack(copy, way, beside=lambda named: path.parent / named))
    return tuple(packs)
