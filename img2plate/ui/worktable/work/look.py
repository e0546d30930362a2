"""How a plate looks beside its picture, done in a worker process, and what a page follows it by."""

from __future__ import annotations

import json
import shutil
import tempfile
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from img2plate.base.arrays import Cells
from img2plate.colour.look_error import OPPONENT2XYZ, RGB2OPPONENT, View, look_error
from img2plate.colour.look_parts import lift, responses, sampled_error, seen_picture
from img2plate.colour.spaces import WHITE_XYZ
from img2plate.image.grid import Grid
from img2plate.pipeline.draft import affordable
from img2plate.pipeline.options import Progress, palette_for
from img2plate.plate.plate import Plate
from img2plate.ui.worktable.wishes.files import Files
from img2plate.ui.worktable.wishes.settings import Settings, read_settings
from img2plate.ui.worktable.work.cut import CELLS
from img2plate.ui.worktable.work.kept import FACTS
from img2plate.ui.worktable.work.reading import read_once

ABOUT, PARTS = "about.json", "parts.f32"
LEAST = 1e-7
"""Shares of a bead's light that are told."""


def make_look(
    picture: Path, settings: Settings, files: Files, plate: Path, folder: Path, _tell: Progress
) -> dict[str, Any]:
    """Write what the look error of a plate is made of, for a page that changes beads of it.

    plate: its folder. `about.json` has the error, of all samples (`exact`) and of those that stand
    for all (`sampled`), and the names and lengths of the arrays in `parts.f32`, float32, little end
    first: `seen` (3h, 3w, 3) opponent channels of the picture as the eye resolves it; `means` (h,
    w, 3) before any blur, and `cover` (h, w), for cells that get or lose their bead; `beads` (n+1,
    3) opponent colours, the last that of no bead; `xyz` (3, 3), from opponent channels to XYZ
    over white; for each Gaussian i its bands `across-i` and `down-i` (see `_bands`), at samples or,
    of a wide one, at cells, which `lift-across` and `lift-down` bring to samples: of each sample
    the first cell and the shares of two.
    """
    looked = _looked(picture, settings, files, plate)
    linear = looked.plate.linear()
    seen = seen_picture(looked.given.rgb, looked.view, looked.plate.cells >= 0)
    told = responses(looked.plate.size, looked.view, looked.given.per_cell)
    colours = np.vstack([looked.plate.palette.linear, np.ones((1, 3))])
    height, width = seen.cover.shape
    parts: dict[str, NDArray[Any]] = {
        "seen": seen.opponent,
        "means": seen.means,
        "cover": seen.cover,
        "beads": colours @ RGB2OPPONENT.T,
        "xyz": OPPONENT2XYZ / WHITE_XYZ[:, None],
        "lift-across": _bands(lift(width, looked.given.per_cell).T),
        "lift-down": _bands(lift(height, looked.given.per_cell).T),
    }
    for number, each in enumerate(told):
        parts[f"across-{number}"] = _bands(each.across)
        parts[f"down-{number}"] = _bands(each.down)
    about = {
        "exact": look_error(looked.given.rgb, linear, looked.view, cover=seen.cover),
        "sampled": sampled_error(seen, linear, told, looked.given.per_cell),
        "metres": round(looked.view.distance_m, 1),
        "gaussians": [{"channel": each.channel, "wide": each.wide} for each in told],
        "parts": {name: int(part.size) for name, part in parts.items()},
    }
    _keep(folder, about, list(parts.values()))
    return about


def measure_look(
    picture: Path, settings: Settings, files: Files, base: Path, plate: Path, _tell: Progress
) -> dict[str, float]:
    """The look error of a plate in a folder, whose size and view are those of `base`."""
    looked = _looked(picture, settings, files, base)
    cells = np.load(plate / CELLS, allow_pickle=False)
    linear = Plate(cells, looked.plate.palette).linear()
    error = look_error(looked.given.rgb, linear, looked.view, cover=cells >= 0)
    return {"exact": error}


@dataclass(frozen=True, eq=False)
class _Looked:
    """A plate, the picture beside it, and from where both are looked at."""

    plate: Plate
    given: Grid
    view: View


def _looked(picture: Path, settings: Settings, files: Files, folder: Path) -> _Looked:
    """Of a plate in its folder. Raises Img2PlateError."""
    return _remembered(picture, json.dumps(settings, sort_keys=True), files, folder)


@lru_cache(maxsize=1)
def _remembered(picture: Path, text: str, files: Files, folder: Path) -> _Looked:
    with files.plainly():
        options = read_settings(json.loads(text), files)
        palette = palette_for(options.palette, options.pack.pitch_mm)
        wish = options.size.wish(options.pack.board, palette.pitch_mm)
        target = read_once(picture, wish, options.source)
    cells: Cells = np.load(folder / CELLS, allow_pickle=False)
    view = View(*json.loads((folder / FACTS).read_text(encoding="utf-8"))["view"])
    given = target.as_given(affordable(view.per_cell, cells.size))
    return _Looked(Plate(cells, palette), given, view)


def _bands(matrix: NDArray[np.float32]) -> NDArray[np.float32]:
    """(n, 1 + m) of a matrix (k, n): the first row that each column reaches, and m values.

    As many values for each, zeros behind the last row where there are fewer.
    """
    samples, count = matrix.shape
    reached = np.abs(matrix) > LEAST
    first = reached.argmax(axis=0)
    last = samples - reached[::-1].argmax(axis=0)
    width = int((last - first).max())
    padded = np.vstack([matrix, np.zeros((width, count), np.float32)])
    rows = first[:, None] + np.arange(width)
    values = padded[rows, np.arange(count)[:, None]]
    return np.hstack([first[:, None].astype(np.float32), values])


def _keep(folder: Path, about: dict[str, Any], parts: list[NDArray[Any]]) -> None:
    """Write a folder, whole or not at all."""
    folder.parent.mkdir(parents=True, exist_ok=True)
    new = Path(tempfile.mkdtemp(prefix=".new-", dir=folder.parent))
    try:
        with (new / PARTS).open("wb") as file:
            for part in parts:
                file.write(np.ascontiguousarray(part, "<f4").tobytes())
        (new / ABOUT).write_text(json.dumps(about), encoding="utf-8")
        if not folder.exists():
            new.rename(folder)
    finally:
        shutil.rmtree(new, ignore_errors=True)
