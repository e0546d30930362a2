"""The plate in other colours and in few, done in a worker process: small pictures and their facts.

Each task writes a folder of its own, which is whole when it is there: `about.json` and pictures.
"""

from __future__ import annotations

import json
import shutil
import tempfile
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import numpy as np

from img2plate.pipeline.draft import draft_plate
from img2plate.pipeline.options import Progress
from img2plate.plate.document import read_plate
from img2plate.plate.plate import Plate
from img2plate.plate.recolour import recolour
from img2plate.typeset.beads import pressed, stamp_pressed
from img2plate.typeset.ground import ground_for
from img2plate.ui.worktable.wishes.files import Files
from img2plate.ui.worktable.wishes.settings import Settings, read_settings
from img2plate.ui.worktable.work.reading import read_once

ABOUT = "about.json"
SIDE = 260
"""Pixels of a small picture's long side, about."""
THICKNESS_MM = 2.9
"""Holes closed, as on proof sheets."""
MOST_DOTS = 12


def make_colourways(document: Path, folder: Path, tell: Progress) -> list[dict[str, Any]]:
    """The colourways of a document that change it, as `recolour --all-colours` makes them."""
    plate = read_plate(document)
    ways = recolour(plate, range(len(plate.palette)))
    ways = [way for way in ways if (way.plate.cells != plate.cells).any()]
    beads = plate.palette.beads
    about = [
        {
            "code": beads[way.target].code,
            "name": beads[way.target].name,
            "dots": [beads[new].hex for new in way.changed.values()][:MOST_DOTS],
            "changed": {beads[old].code: beads[new].code for old, new in way.changed.items()},
            "notes": list(way.notes),
        }
        for way in ways
    ]
    tell("drawing", 0.3)
    write_shown(folder, about, [way.plate for way in ways])
    return about


def make_few(
    picture: Path, settings: Settings, files: Files, folder: Path, tell: Progress
) -> dict[str, Any]:
    """A plate of few colours, and how it looks beside the picture. Raises Img2PlateError."""
    options = read_settings(settings, files)
    with files.plainly():
        draft = draft_plate(picture, options, progress=tell, read=read_once)
    looks = draft.looks()
    about = {
        "colours": int(np.count_nonzero(draft.plate.counts())),
        "look_error": round(looks.error, 2),
        "metres": round(looks.distance_m, 1),
    }
    write_shown(folder, about, [draft.plate])
    return about


def write_shown(folder: Path, about: Any, plates: Iterable[Plate]) -> None:
    """Write a folder, whole or not at all: pictures of the plates are numbered from 0."""
    from PIL import Image

    folder.parent.mkdir(parents=True, exist_ok=True)
    new = Path(tempfile.mkdtemp(prefix=".new-", dir=folder.parent))
    stamps: dict[int, Any] = {}
    try:
        for number, plate in enumerate(plates):
            if (palette := id(plate.palette)) not in stamps:
                pixels = max(2, SIDE // max(plate.size))
                ground = ground_for(plate)
                stamps[palette] = pressed(plate.palette, pixels, THICKNESS_MM, ground)
            image = Image.fromarray(stamp_pressed(plate.cells, stamps[palette]))
            image.save(new / f"{number}.png", format="PNG", compress_level=1)
        (new / ABOUT).write_text(json.dumps(about, ensure_ascii=False), encoding="utf-8")
        if not folder.exists():
            new.rename(folder)
    finally:
        shutil.rmtree(new, ignore_errors=True)
