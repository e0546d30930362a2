"""Plates made in a worker, as `make` makes them, with what was done to them by hand."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING, Any

from img2plate.base.errors import SizeError
from img2plate.image.source_options import SourceOptions
from img2plate.image.target import Target
from img2plate.pipeline.draft import Draft, draft_plate
from img2plate.pipeline.options import MakeOptions, Progress
from img2plate.plate.document import read_plate
from img2plate.plate.plate import Plate
from img2plate.ui.worktable.wishes.files import Files
from img2plate.ui.worktable.wishes.of_the_pack import plate_key
from img2plate.ui.worktable.wishes.settings import TOUCHED, Settings, read_settings, told
from img2plate.ui.worktable.wishes.touched import Touched, untouched
from img2plate.ui.worktable.work.cut import counted
from img2plate.ui.worktable.work.kept import FACTS, PLATE, digest_of, keep_plate, near_picture
from img2plate.ui.worktable.work.reading import read_once
from img2plate.ui.worktable.work.voice import AskFirstError, Voice

if TYPE_CHECKING:
    from img2plate.image.sizing import SizeWish

SO_FAR_SIDE = 580
"""Pixels of the long side of a plate that is still searched for; about."""
SIZES = ("width", "height", "size", "boards", "mm")
"""Settings of which one says how large a plate is to be."""


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
        return _Maker(picture, files, tell, ask).make(settings, folder)
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
    return _Maker(picture, files, tell, lambda _: True).make(settings, folder)


@dataclass(frozen=True)
class _Maker:
    """Makes plates of one picture, unless `ask` says no to a very large one."""

    picture: Path
    files: Files
    tell: Progress
    ask: Callable[[str], bool]

    def make(self, settings: Settings, folder: Path) -> dict[str, Any]:
        """The plate in its folder, made unless it is there; returns its facts."""
        if (folder / FACTS).is_file():
            return dict(json.loads((folder / FACTS).read_text(encoding="utf-8")))
        plate, facts = (self._touched if TOUCHED in settings else self._chosen)(settings, folder)
        keep_plate(folder, plate, facts)
        return facts

    def _chosen(self, settings: Settings, _folder: Path) -> tuple[Plate, dict[str, Any]]:
        """Beads chosen for the picture."""
        options = read_settings(settings, self.files)
        targets: list[Target] = []

        def read(path: Path, wish: SizeWish | None, source: SourceOptions) -> Target:
            targets.append(read_once(path, wish, source))
            return targets[-1]

        with self.files.plainly():
            draft = draft_plate(
                self.picture, options, progress=self.tell, read=read, ask=self.ask,
                so_far=_showing(self.tell),
            )  # fmt: skip
        return draft.plate, _facts(draft, targets[-1], options)

    def _touched(self, settings: Settings, folder: Path) -> tuple[Plate, dict[str, Any]]:
        """The plate of the other settings, with what was done to it by hand."""
        others = untouched(settings)
        base = folder.with_name(plate_key(others))
        facts = self.make(others, base)
        strokes = self.files.path(str(settings[TOUCHED]), TOUCHED).read_bytes()
        plate, lost = Touched.read(strokes).laid_on(read_plate(base / PLATE))
        counts = counted(plate, read_settings(others, self.files).pack)
        return plate, {**facts, **counts, "digest": digest_of(plate), "lost": lost}


def _showing(tell: Progress) -> Callable[[Plate], None] | None:
    """Who draws a plate that is searched for, now and then; None where nobody can see it."""
    if not isinstance(tell, Voice):
        return None
    voice = tell
    from PIL import Image

    def show(plate: Plate) -> None:
        if voice.is_due():
            png = BytesIO()
            Image.fromarray(near_picture(plate, SO_FAR_SIDE)).save(
                png, format="PNG", compress_level=1
            )
            voice.show(png.getvalue())

    return show


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
        "digest": digest_of(plate),
        "laid": {**_laid(target), "moved": draft.is_moved},
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
