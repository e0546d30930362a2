"""What is done in a worker process. Each task takes paths and settings and gives plain types.

A plate is a folder: the plate document, a picture from near, one as the eye resolves it from the
viewing distance, and its facts as JSON. A folder that is there is whole.
"""

from __future__ import annotations

import hashlib
import json
import shutil
import tempfile
from collections.abc import Callable
from dataclasses import replace
from functools import lru_cache
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from img2plate.base.errors import SizeError
from img2plate.colour.look_error import View
from img2plate.image.opened import SourceOptions
from img2plate.image.read import read_picture
from img2plate.image.target import Target
from img2plate.pipeline.draft import Draft, draft_plate
from img2plate.pipeline.options import MakeOptions, Progress, palette_for
from img2plate.pipeline.pack import write_plate_pack
from img2plate.plate.document import read_plate, write_plate
from img2plate.plate.plate import Plate
from img2plate.typeset.beads import pressed, stamp
from img2plate.typeset.proof.pictures import far_picture
from img2plate.ui.worktable.store.samples import SAMPLES, samples_folder
from img2plate.ui.worktable.wishes.files import Files
from img2plate.ui.worktable.wishes.of_the_pack import plate_key
from img2plate.ui.worktable.wishes.proofs import proposed
from img2plate.ui.worktable.wishes.settings import TOUCHED, Settings, read_settings, told
from img2plate.ui.worktable.wishes.touched import Touched, untouched
from img2plate.ui.worktable.work.card import measure_card
from img2plate.ui.worktable.work.colours import make_colourways, make_few
from img2plate.ui.worktable.work.cut import CELLS, counted
from img2plate.ui.worktable.work.pages import draw_page, list_pages
from img2plate.ui.worktable.work.reading import read_once
from img2plate.ui.worktable.work.voice import AskFirstError, Voice

if TYPE_CHECKING:
    from img2plate.image.sizing import SizeWish

NEAR_SIDE, FAR_SIDE, SO_FAR_SIDE, SOURCE_SIDE = 1160, 360, 580, 720
"""Pixels of the long side of a plate from near, from afar, so far, and of the picture; about."""
MOST_A_BEAD = 24
"""Pixels of a bead from near, however small the plate."""
SIZES = ("width", "height", "size", "boards", "mm")
"""Settings of which one says how large a plate is to be."""
THICKNESS_MM = 2.9
"""Holes closed, as on proof sheets: they would only grey the colours that are to be compared."""
FACTS, PLATE, NEAR, FAR = "facts.json", "plate.png", "near.png", "far.png"
PICTURE = "picture.json"
"""Facts of the picture that was given."""

WARMING = (("sprite", SAMPLES[0]), ("drawing", SAMPLES[0]), ("photo", "harbour.jpg"))
"""Kinds of pictures, and samples taken for them, with which a worker gets ready."""

_read = read_once
_pressed = lru_cache(maxsize=4)(pressed)
"""Drawing a bead of each colour takes longer than laying them all out."""


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


def make_plate(
    picture: Path, settings: Settings, files: Files, folder: Path, tell: Progress
) -> dict[str, Any]:
    """Make the plate that settings mean, and draw it; returns its facts.

    Raises AskFirstError, in the words of `make`, before choosing beads for a very large one.
    """
    warnings: list[str] = []

    def ask(warning: str) -> bool:
        warnings.append(warning)
        return False

    try:
        return _make(picture, settings, files, folder, tell, ask)
    except SizeError as error:
        if not warnings:
            raise
        question = AskFirstError(f"{warnings[0]}. Go on?")
        question.field = next((name for name in SIZES if name in settings), SIZES[0])
        raise question from error


def make_plate_anyway(
    picture: Path, settings: Settings, files: Files, folder: Path, tell: Progress
) -> dict[str, Any]:
    """As `make_plate`, however large it is: somebody was asked."""
    return _make(picture, settings, files, folder, tell, lambda _: True)


def _make(
    picture: Path,
    settings: Settings,
    files: Files,
    folder: Path,
    tell: Progress,
    ask: Callable[[str], bool],
) -> dict[str, Any]:
    """Make a plate, unless `ask` says no."""
    if (folder / FACTS).is_file():
        return dict(json.loads((folder / FACTS).read_text(encoding="utf-8")))
    if TOUCHED in settings:
        return _touch(picture, settings, files, folder, tell, ask)
    options = read_settings(settings, files)
    targets: list[Target] = []

    def read(path: Path, wish: SizeWish | None, source: SourceOptions) -> Target:
        targets.append(_read(path, wish, source))
        return targets[-1]

    with files.plainly():
        draft = draft_plate(
            picture, options, progress=tell, read=read, ask=ask, so_far=_showing(tell)
        )
    facts = _facts(draft, targets[-1], options)
    _keep(folder, draft.plate, facts)
    return facts


def _showing(tell: Progress) -> Callable[[Plate], None] | None:
    """Who draws a plate that is searched for, now and then; None where nobody can see it."""
    if not isinstance(tell, Voice):
        return None
    voice = tell
    from PIL import Image

    def show(plate: Plate) -> None:
        if voice.is_due():
            png = BytesIO()
            Image.fromarray(_near(plate, SO_FAR_SIDE)).save(png, format="PNG", compress_level=1)
            voice.show(png.getvalue())

    return show


def _touch(
    picture: Path,
    settings: Settings,
    files: Files,
    folder: Path,
    tell: Progress,
    ask: Callable[[str], bool],
) -> dict[str, Any]:
    """The plate of the other settings, with what was done to it by hand."""
    others = untouched(settings)
    base = folder.with_name(plate_key(others))
    facts = _make(picture, others, files, base, tell, ask)
    touched = Touched.read(files.path(str(settings[TOUCHED]), TOUCHED).read_bytes())
    plate, lost = touched.laid_on(read_plate(base / PLATE))
    facts = {
        **facts,
        **counted(plate, read_settings(others, files).pack),
        "digest": _digest(plate),
        "lost": lost,
    }
    _keep(folder, plate, facts)
    return facts


def _keep(folder: Path, plate: Plate, facts: dict[str, Any]) -> None:
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
    Image.fromarray(_near(plate, NEAR_SIDE)).save(
        folder / NEAR, format="PNG", compress_level=1
    )  # it travels nowhere
    far = Image.fromarray(far_picture(plate, View(*facts["view"])))
    far = far.resize(_fitting(far.size, FAR_SIDE), Image.Resampling.BICUBIC)
    far.save(folder / FAR, format="PNG", compress_level=1)
    (folder / FACTS).write_text(json.dumps(facts, ensure_ascii=False), encoding="utf-8")


def _near(plate: Plate, side: int) -> NDArray[np.uint8]:
    """(h p, w p, 3) uint8: the pressed plate, whose long side takes about `side` pixels."""
    pixels = max(2, min(MOST_A_BEAD, side // max(plate.size)))
    return stamp(plate.cells, _pressed(plate.palette, pixels, THICKNESS_MM))


def _fitting(size: tuple[int, int], side: int) -> tuple[int, int]:
    """A size of the same shape whose long side is `side`."""
    return max(1, side * size[0] // max(size)), max(1, side * size[1] // max(size))


def _facts(draft: Draft, target: Target, options: MakeOptions) -> dict[str, Any]:
    """What is said of a plate beside its picture."""
    plate, kind = draft.plate, target.told
    return {
        "size": list(plate.size),
        "cm": [round(mm / 10, 1) for mm in plate.size_mm],
        **counted(plate, options.pack),
        "metres": round(draft.view.distance_m, 1),
        "view": [draft.view.distance_m, draft.view.pitch_mm],
        "kind": {"name": kind.kind.name, "words": kind.kind.value, "source": kind.kind.source,
                 "reason": kind.reason, "sure": kind.sure},
        "notes": told(draft.notes[1:]),
        "digest": _digest(plate),
        "laid": _laid(target),
    }  # fmt: skip


def _laid(target: Target) -> dict[str, Any]:
    """What of the picture lies on a plate, and where: what other sizes are worked out from."""
    height, width = target.pixels.shape[:2]
    return {
        "size": [width, height],
        "sprite": target.told.kind.is_sprite,
        "crop": None if target.crop is None else list(target.crop),
        "corner": list(target.corner),
        "cell_px": list(target.cell_px),
        "placed": list(target.placed),
    }


def _digest(plate: Plate) -> str:
    """The same for plates that look the same."""
    srgb = np.vstack([plate.palette.srgb, np.zeros((1, 3), np.uint8)])[plate.cells]
    seen = np.dstack([srgb, (plate.cells >= 0).astype(np.uint8)])
    return hashlib.sha256(repr(seen.shape).encode() + seen.tobytes()).hexdigest()[:16]


def propose_plates(picture: Path, base: Settings, _tell: Progress) -> list[Settings]:
    """Settings of the plates that are proposed for a picture."""
    options = read_settings(base)
    palette = palette_for(options.palette, options.pack.pitch_mm)
    wish = options.size.wish(options.pack.board, palette.pitch_mm)
    return proposed(base, _read(picture, wish, options.source))


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
        warm_up,
    )
}
