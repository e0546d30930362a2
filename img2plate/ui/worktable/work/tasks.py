"""What is done in a worker process. Each task takes paths and settings and gives plain types."""

from __future__ import annotations

import json
import tempfile
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

from img2plate.image.read import read_picture
from img2plate.pipeline.options import Progress, palette_for
from img2plate.pipeline.pack import write_plate_pack
from img2plate.plate.document import read_plate
from img2plate.ui.worktable.store.samples import SAMPLES, samples_folder
from img2plate.ui.worktable.wishes.files import Files
from img2plate.ui.worktable.wishes.proofs import proposed
from img2plate.ui.worktable.wishes.settings import Settings, read_settings, told
from img2plate.ui.worktable.work.card import measure_card
from img2plate.ui.worktable.work.colours import make_colourways, make_few
from img2plate.ui.worktable.work.figures import draw_figure, make_figure, pack_figure
from img2plate.ui.worktable.work.kept import PLATE
from img2plate.ui.worktable.work.look import make_look, measure_look
from img2plate.ui.worktable.work.pages import draw_page, list_pages
from img2plate.ui.worktable.work.plates import make_plate, make_plate_anyway
from img2plate.ui.worktable.work.reading import read_once
from img2plate.ui.worktable.work.rebuilt import make_rebuilt
from img2plate.ui.worktable.work.together import lay_out_together, publish_together

SOURCE_SIDE = 720
"""Pixels of the long side of the picture that was given, as the page shows it; about."""
PICTURE = "picture.json"
"""Facts of the picture that was given."""
WARMING = (("sprite", SAMPLES[0]), ("drawing", SAMPLES[0]), ("photo", "harbour.jpg"))
"""Kinds of pictures, and samples taken for them, with which a worker gets ready."""


def take_in(picture: Path, small: Path, _tell: Progress) -> dict[str, Any]:
    """Read an uploaded picture and draw it small. Raises PictureError for what is none."""
    from PIL import Image

    read = read_picture(picture)
    image = Image.fromarray(read.pixels)
    see_through = bool((read.pixels[..., 3] < 255).any())
    image = image if see_through else image.convert("RGB")
    image.thumbnail((SOURCE_SIDE, SOURCE_SIDE))
    image.save(small, format="PNG", compress_level=1)
    about = {"size": list(read.size), "see_through": see_through}
    small.with_name(PICTURE).write_text(json.dumps(about), encoding="utf-8")
    return about


def propose_plates(picture: Path, base: Settings, _tell: Progress) -> list[Settings]:
    """Settings of the plates that are proposed for a picture."""
    options = read_settings(base)
    palette = palette_for(options.palette, options.pack.pitch_mm)
    wish = options.size.wish(options.pack.board, palette.pitch_mm)
    return proposed(base, read_once(picture, wish, options.source))


def make_pack(
    folder: Path, settings: Settings, files: Files, out: Path, tell: Progress
) -> dict[str, Any]:
    """Write the pack of a plate that was made, and its zip, as `make` does."""
    plate = read_plate(folder / PLATE)
    options = replace(read_settings(settings, files).pack, out=out, zip=True)
    pack = write_plate_pack(plate, options, progress=tell)
    return {"name": plate.name, "files": [path.name for path in pack.files],
            "notes": told(pack.notes)}  # fmt: skip


def warm_up(shading: str, tell: Progress) -> None:
    """Make plates of samples, so that the first real one does not wait for libraries."""
    with tempfile.TemporaryDirectory() as folder:
        home = Path(folder)
        for number, (source, name) in enumerate(WARMING):
            picture = samples_folder() / name
            take_in(picture, home / "small.png", tell)
            settings: Settings = {"shading": shading, "source": source, "width": "24"}
            make_plate(picture, settings, Files(home), home / str(number), tell)


TASKS: dict[str, Callable[..., Any]] = {
    task.__name__: task
    for task in (
        take_in,
        make_plate,
        make_plate_anyway,
        propose_plates,
        make_pack,
        measure_card,
        list_pages,
        draw_page,
        make_colourways,
        make_few,
        make_rebuilt,
        publish_together,
        lay_out_together,
        make_look,
        measure_look,
        make_figure,
        draw_figure,
        pack_figure,
        warm_up,
    )
}
