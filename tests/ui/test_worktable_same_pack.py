"""A plate touched up on the page, and in a pixel editor for `sheets`: the same pack by the byte."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from command import good
from PIL import Image
from PIL.PngImagePlugin import PngInfo
from support import SAMPLES

from img2plate.ui.worktable.wishes.files import Files
from img2plate.ui.worktable.wishes.settings import Settings
from img2plate.ui.worktable.wishes.touched import after_stroke
from img2plate.ui.worktable.work.kept import PLATE
from img2plate.ui.worktable.work.plates import make_plate
from img2plate.ui.worktable.work.tasks import make_pack

PUFFIN = SAMPLES / "puffin.png"
SETTINGS: Settings = {"palette": "quay-24", "shading": "none"}
PUT = {(1, 1): "prt", (2, 1): "prt", (12, 8): "dsk", (24, 30): "tar"}
GONE = [(10, 5), (11, 5)]


def quiet(_stage: str, _share: float) -> None:
    """Tell nobody."""


@pytest.fixture(scope="module")
def by_page(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, dict[str, bytes]]:
    """The document before any stroke, and the pack after them."""
    home = tmp_path_factory.mktemp("page")
    files = Files(home / "files")
    base = home / "plates" / "base"
    facts = make_plate(PUFFIN, SETTINGS, files, base, quiet)
    width, height = facts["size"]
    settings = SETTINGS
    for (x, y), code in {**PUT, **dict.fromkeys(GONE, "")}.items():
        settings = after_stroke(settings, files, (width, height), {code: [y * width + x, 1]})
    make_plate(PUFFIN, settings, files, home / "plates" / "touched", quiet)
    make_pack(home / "plates" / "touched", settings, files, home / "pack", quiet)
    return base / PLATE, _files(home / "pack" / "puffin")


def _files(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir()}


def indexed(document: Path, edited: Path, *, note: bool = True) -> None:
    """As an editor that keeps the order of colours saves it, with our note or without."""
    with Image.open(document) as image:
        image.load()
        colours = np.array(image.getpalette()).reshape(-1, 3).tolist()
        for place, code in PUT.items():
            image.putpixel(place, colours.index(list(_colour(code))))
        for place in GONE:
            image.putpixel(place, image.info["transparency"])
        info = PngInfo()
        if note:
            info.add_itxt("img2plate", image.info["img2plate"])
        image.save(edited, pnginfo=info, transparency=image.info["transparency"])


def full(document: Path, edited: Path) -> None:
    """As an editor that knows only full colour saves it: no order of colours, no note."""
    with Image.open(document) as image:
        image = image.convert("RGBA")
    for place, code in PUT.items():
        image.putpixel(place, (*_colour(code), 255))
    for place in GONE:
        image.putpixel(place, (0, 0, 0, 0))
    Image.fromarray(np.asarray(image)).save(edited)


def _colour(code: str) -> Any:
    from img2plate.colour.palette_file import find_palette

    palette = find_palette("quay-24")
    return palette.beads[palette.index(code, "palette")].srgb


@pytest.mark.parametrize(
    ("edit", "note"),
    [(indexed, True), (lambda old, new: indexed(old, new, note=False), False), (full, False)],
    ids=["indexed", "indexed without the note", "full colour"],
)
def test_the_pack_is_the_same(
    by_page: tuple[Path, dict[str, bytes]],
    edit: Callable[[Path, Path], None],
    note: bool,
    tmp_path: Path,
) -> None:
    document, wanted = by_page
    edit(document, tmp_path / "puffin.png")
    words = [] if note else ["--palette", "quay-24"]
    good("sheets", tmp_path / "puffin.png", *words, "--out", tmp_path / "out")
    found = _files(tmp_path / "out" / "puffin")
    assert found.keys() == wanted.keys()
    differ = {name for name in found if found[name] != wanted[name]}
    # Without the note pages are headed with the file's name, here the same; and nobody knows how
    # the plate was made, which the document would repeat and each page says in small type.
    assert differ == (set() if note else {"plate.png", "sheets.pdf"})
