"""The folder of a plate: the plate document, what is seen of it, and what is said of it.

A folder that is there is whole: the document, a picture from near, one as the eye resolves it from
the viewing distance, the cells, and facts as JSON.
"""

from __future__ import annotations

import hashlib
import json
import shutil
import tempfile
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from img2plate.colour.look_error import View
from img2plate.plate.document import write_plate
from img2plate.plate.plate import Plate
from img2plate.typeset.beads import pressed, stamp_pressed
from img2plate.typeset.ground import ground_for
from img2plate.typeset.proof.pictures import far_picture
from img2plate.ui.worktable.work.cut import CELLS

NEAR_SIDE, FAR_SIDE = 1160, 360
"""Pixels of the long side of a plate from near, and from afar; about."""
MOST_A_BEAD = 24
"""Pixels of a bead from near, however small the plate."""
THICKNESS_MM = 2.9
"""Holes closed, as on proof sheets: they would only grey the colours that are to be compared."""
FACTS, PLATE, NEAR, FAR = "facts.json", "plate.png", "near.png", "far.png"

_pressed = lru_cache(maxsize=4)(pressed)
"""Drawing a bead of each colour takes longer than laying them all out."""


def keep_plate(folder: Path, plate: Plate, facts: dict[str, Any]) -> None:
    """Write a plate's folder, whole or not at all."""
    folder.parent.mkdir(parents=True, exist_ok=True)
    new = Path(tempfile.mkdtemp(prefix=".new-", dir=folder.parent))
    try:
        _write(new, plate, facts)
        if not folder.exists():
            new.rename(folder)
    finally:
        shutil.rmtree(new, ignore_errors=True)


def _write(folder: Path, plate: Plate, facts: dict[str, Any]) -> None:
    """The files of a plate."""
    from PIL import Image

    write_plate(folder / PLATE, plate)
    np.save(folder / CELLS, plate.cells)
    Image.fromarray(near_picture(plate, NEAR_SIDE)).save(
        folder / NEAR, format="PNG", compress_level=1
    )  # it travels nowhere
    far = Image.fromarray(far_picture(plate, View(*facts["view"])))
    far = far.resize(_fitting(far.size, FAR_SIDE), Image.Resampling.BICUBIC)
    far.save(folder / FAR, format="PNG", compress_level=1)
    (folder / FACTS).write_text(json.dumps(facts, ensure_ascii=False), encoding="utf-8")


def near_picture(plate: Plate, side: int) -> NDArray[np.uint8]:
    """(h p, w p, 3) uint8: the pressed plate, whose long side takes about `side` pixels."""
    pixels = max(2, min(MOST_A_BEAD, side // max(plate.size)))
    stamps = _pressed(plate.palette, pixels, THICKNESS_MM, ground_for(plate))
    return stamp_pressed(plate.cells, stamps)


def _fitting(size: tuple[int, int], side: int) -> tuple[int, int]:
    """A size of the same shape whose long side is `side`."""
    return max(1, side * size[0] // max(size)), max(1, side * size[1] // max(size))


def digest_of(plate: Plate) -> str:
    """The same for plates that look the same."""
    srgb = np.vstack([plate.palette.srgb, np.zeros((1, 3), np.uint8)])[plate.cells]
    seen = np.dstack([srgb, (plate.cells >= 0).astype(np.uint8)])
    return hashlib.sha256(repr(seen.shape).encode() + seen.tobytes()).hexdigest()[:16]
