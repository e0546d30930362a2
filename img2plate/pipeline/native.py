"""A sprite's own pixels, out of any enlargement: what `img2plate native` calls."""

from __future__ import annotations

import time
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from img2plate.base.arrays import Pixels
from img2plate.base.errors import OutputError
from img2plate.base.files import safe_file
from img2plate.image.apart import Box
from img2plate.image.native.check import draw_check
from img2plate.image.native.native_grid import NativeGrid
from img2plate.image.opened import open_source
from img2plate.image.png import write_rgba_png
from img2plate.image.sizing import CropBox
from img2plate.image.source_options import SourceOptions
from img2plate.pipeline.options import SeveralOptions
from img2plate.pipeline.several import parts_of


@dataclass(frozen=True, eq=False)
class Recovered:
    """The native grid of one picture, and what was written of it."""

    image: Path
    native: NativeGrid
    files: tuple[Path, ...]
    seconds: float
    sprites: tuple[tuple[str, Box], ...] = ()
    """Names of places and boxes in cells, when the picture was taken apart."""
    notes: tuple[str, ...] = ()
    crop: CropBox | None = None
    """The part that was looked at; None for all of the picture."""

    def as_json(self) -> dict[str, Any]:
        """Plain types."""
        native = self.native
        return {
            "file": str(self.image),
            "crop": list(self.crop) if self.crop else None,
            "cells": list(native.cells) if native.cells else None,
            "cell_px": [round(p, 4) for p in native.cell_px],
            "offset_px": [round(p, 4) for p in native.offset_px],
            "confidence": round(native.confidence, 3),
            "kernel": native.kernel,
            "other": list(native.other) if native.other else None,
            "sprites": [
                {"place": name, "box": [box.x, box.y, box.width, box.height]}
                for name, box in self.sprites
            ],
            "files": [str(path) for path in self.files],
            "notes": list(self.notes),
            "seconds": round(self.seconds, 3),
        }


def run(
    image: Path,
    out: Path,
    options: SourceOptions,
    *,
    name: str = "",
    show: bool = False,
    several: SeveralOptions | None = None,
) -> list[Recovered]:
    """Write the native picture of an enlarged sprite to `out`, one pixel a cell, if it has a grid.

    With `show` also a picture to check the grid by eye. `several` asks for a picture of each sprite
    on a sheet, or for frames of an animation: one result for each frame.
    """
    name, found = name or image.stem, list[Recovered]()
    several = several or SeveralOptions()
    if several.apart:
        return [_take_apart(image, out, options, several, name, show=show)]
    for part in parts_of(image, options, several):
        start = time.perf_counter()
        opened = open_source(image, part.source)
        pixels, native, own = opened.pixels, opened.taken.native, name + part.name
        seconds = time.perf_counter() - start
        drawn = {f"{own}.png": native.pixels} if native.pixels is not None else {}
        if show:
            drawn[f"{own}-grid.png"] = draw_check(pixels, native)
            if opened.part_check is not None:
                drawn[f"{own}-part.png"] = opened.part_check
        files = _write(drawn, out, image)
        crop, notes = opened.crop, opened.notes
        found.append(Recovered(image, native, files, seconds, notes=notes, crop=crop))
    return found


def _take_apart(
    image: Path,
    out: Path,
    options: SourceOptions,
    several: SeveralOptions,
    name: str,
    *,
    show: bool,
) -> Recovered:
    """Write each sprite on a picture by itself."""
    start = time.perf_counter()
    parts = parts_of(image, options, several)
    sheet = parts[0].sheet
    assert sheet is not None
    boxes = [(part.name.removeprefix("-"), part.box) for part in parts if part.box is not None]
    drawn = {f"{name}-{place}.png": sheet.apart.sprite(box) for place, box in boxes}
    if show:
        drawn[f"{name}-grid.png"] = draw_check(sheet.pixels, sheet.native)
    files, seconds = _write(drawn, out, image), time.perf_counter() - start
    return Recovered(image, sheet.native, files, seconds, tuple(boxes), sheet.notes)


def _write(drawn: dict[str, Pixels], out: Path, image: Path) -> tuple[Path, ...]:
    """Write pictures by name. Raises OutputError for one that is the picture itself."""
    for file, pixels in drawn.items():
        if (out / file).resolve() == image.resolve():
            raise OutputError(f"{out / file} is the picture itself; choose another `out`")
        with safe_file(out / file) as temporary:
            write_rgba_png(temporary, pixels)
    return tuple(out / file for file in drawn)
