"""A sprite's own pixels, out of any enlargement: what `img2plate native` calls."""

from __future__ import annotations

import time
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from img2plate.base.errors import OutputError
from img2plate.base.files import safe_file
from img2plate.image.native.check import draw_check
from img2plate.image.native.native_grid import NativeGrid
from img2plate.image.png import write_rgba_png
from img2plate.image.read import read_picture
from img2plate.image.target import SourceOptions, look_at


@dataclass(frozen=True, eq=False)
class Recovered:
    """The native grid of one picture, and what was written of it."""

    image: Path
    native: NativeGrid
    files: tuple[Path, ...]
    seconds: float

    def as_json(self) -> dict[str, Any]:
        """Plain types."""
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


def run(
    image: Path, out: Path, options: SourceOptions, *, name: str = "", show: bool = False
) -> Recovered:
    """Write the native picture of an enlarged sprite to `out`, one pixel a cell, if it has a grid.

    With `show` also a picture to check the grid by eye.
    """
    start = time.perf_counter()
    picture = read_picture(image, max_megapixels=options.max_megapixels)
    native = look_at(picture.pixels, options, picture.source).native
    seconds, name = time.perf_counter() - start, name or image.stem
    drawn = {f"{name}.png": native.pixels} if native.pixels is not None else {}
    if show:
        drawn[f"{name}-grid.png"] = draw_check(picture.pixels, native)
    for file, pixels in drawn.items():
        if (out / file).resolve() == image.resolve():
            raise OutputError(f"{out / file} is the picture itself; choose another `out`")
        with safe_file(out / file) as temporary:
            write_rgba_png(temporary, pixels)
    return Recovered(image, native, tuple(out / file for file in drawn), seconds)
