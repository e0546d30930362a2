"""Several plates and figures published, or plates laid on shared boards, in a worker process.

What was made is a folder that is whole: `about.json`, and what the commands write.
"""

from __future__ import annotations

import json
import shutil
import tempfile
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from img2plate.base.archive import write_zip
from img2plate.pipeline.layout import run as lay_out
from img2plate.pipeline.options import Progress, with_pitch
from img2plate.pipeline.pack import signed
from img2plate.pipeline.publish import PublishOptions
from img2plate.pipeline.publish import run as publish
from img2plate.pipeline.publish_sources import TEXT
from img2plate.plate.document import read_plate, write_plate
from img2plate.ui.worktable.wishes.files import Files
from img2plate.ui.worktable.wishes.settings import Settings, read_settings, told
from img2plate.ui.worktable.wishes.together import LayoutWish, PublishWish
from img2plate.ui.worktable.work.figures import publishable
from img2plate.ui.worktable.work.kept import PLATE

ABOUT, SITE, LAYOUT = "about.json", "patterns", "layout"


@dataclass(frozen=True)
class Picked:
    """A plate of a project that was made."""

    pick: str
    """What a page calls it."""
    name: str
    folder: Path
    settings: Settings
    files: Files


@dataclass(frozen=True)
class PickedFigure:
    """A figure that was built."""

    pick: str
    name: str
    folder: Path
    step: Settings


def publish_together(
    picked: Sequence[Picked | PickedFigure], wish: PublishWish, out: Path, tell: Progress
) -> dict[str, Any]:
    """Publish plates and figures as `img2plate publish` does their packs; also as one zip.

    Raises OptionError, DocumentError, FigureError.
    """
    with _whole(out) as new, tempfile.TemporaryDirectory() as beside:
        packs = [_pack(each, Path(beside) / f"{n:03}", wish) for n, each in enumerate(picked)]
        text = Path(beside) / "text.md" if wish.text.strip() else None
        if text:
            text.write_text(wish.text, encoding="utf-8")
        options = PublishOptions(wish.credit, text, wish.address, new / SITE)
        done = publish(packs, options, progress=tell)
        write_zip(new / f"{SITE}.zip", _files(new / SITE), new / SITE)
        about = done.as_json()
        kept = [_plainly(note, packs, picked) for note in told(done.notes)]
        return _noted(new, {"patterns": about["patterns"], "notes": kept, "zip": f"{SITE}.zip"})


def lay_out_together(
    plates: Sequence[Picked], wish: LayoutWish, out: Path, tell: Progress
) -> dict[str, Any]:
    """Lay plates on shared boards as `img2plate layout` does. Raises SizeError, OptionError."""
    with _whole(out) as new, tempfile.TemporaryDirectory() as beside:
        documents = [_document(each, Path(beside) / f"{n:03}") for n, each in enumerate(plates)]
        options = replace(wish.pack, out=new)
        done = lay_out(documents, wish.layout, options, name=LAYOUT, progress=tell)
        about = done.as_json()
        keep = ("layout", "sets", "least_sets", "beads", "size")
        found = {name: about[name] for name in keep}
        return _noted(new, {**found, "notes": told(done.pack.notes), "zip": f"{LAYOUT}.zip"})


def _pack(each: Picked | PickedFigure, folder: Path, wish: PublishWish) -> Path:
    """What `publish` takes of one, in a new folder, the author's words on it beside it."""
    if isinstance(each, PickedFigure):
        publishable(each.folder, each.step, folder)
        pack = folder
    else:
        pack = _document(each, folder)
    if wish.texts.get(each.pick, "").strip():
        (folder / TEXT).write_text(wish.texts[each.pick], encoding="utf-8")
    return pack


def _document(each: Picked, folder: Path) -> Path:
    """A plate as the document of its pack, in a new folder."""
    options = read_settings(each.settings, each.files).pack
    plate = read_plate(each.folder / PLATE)
    plate = replace(plate, palette=with_pitch(plate.palette, options.pitch_mm))
    folder.mkdir()
    write_plate(folder / "plate.png", signed(plate, options))
    return folder / "plate.png"


def _plainly(note: str, packs: Sequence[Path], picked: Sequence[Picked | PickedFigure]) -> str:
    """A note that calls plates and figures by their names."""
    for pack, each in zip(packs, picked, strict=True):
        note = note.replace(str(pack), each.name)
    return note


def _files(folder: Path) -> list[Path]:
    return [path for path in folder.rglob("*") if path.is_file()]


def _noted(folder: Path, about: dict[str, Any]) -> dict[str, Any]:
    """Write what a page is told."""
    (folder / ABOUT).write_text(json.dumps(about, ensure_ascii=False), encoding="utf-8")
    return about


@contextmanager
def _whole(out: Path) -> Iterator[Path]:
    """A new folder that takes the place of `out` when all is in it."""
    out.parent.mkdir(parents=True, exist_ok=True)
    new = Path(tempfile.mkdtemp(prefix=".new-", dir=out.parent))
    try:
        yield new
        if not out.exists():
            new.rename(out)
    finally:
        shutil.rmtree(new, ignore_errors=True)
