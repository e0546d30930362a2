"""Every reader of files, with real files to begin with."""

from __future__ import annotations

import io
import json
import re
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from PIL import Image

from img2plate.base.credit import Credit
from img2plate.base.errors import DocumentError
from img2plate.colour.palette_file import find_palette, read_palette
from img2plate.image.jpeg.coefficients import read_coefficients
from img2plate.image.read import read_picture
from img2plate.inventory.stock import read_stock
from img2plate.measure.measured import read_names
from img2plate.pipeline.laid import as_laid, laid_as
from img2plate.pipeline.options import PackOptions
from img2plate.plate.document import read_plate, write_plate
from img2plate.plate.plate import Plate
from img2plate.solid.file.figure_file import read_figure
from img2plate.tally.bags import read_bags
from img2plate.typeset.publish.author_text import read_text
from img2plate.ui.worktable.store.projects import Projects
from img2plate.ui.worktable.wishes.touched import Touched

ROOT = Path(__file__).parents[2]


@dataclass(frozen=True)
class Reader:
    """One of them."""

    suffix: str
    read: Callable[[Path], Any]
    seeds: Callable[[], list[bytes]]
    is_text: bool = False
    share: float = 1.0
    """Of the inputs that others get: what takes long gets fewer."""


def _picture(side: int = 12) -> Image.Image:
    """A small picture with soft edges and see-through corners."""
    y, x = np.mgrid[:side, :side]
    rgb = np.stack([x * 20, y * 20, (x * y) % 255], -1)
    alpha = np.where((x - side / 2) ** 2 + (y - side / 2) ** 2 < side**2 / 4, 255, 0)
    return Image.fromarray(np.dstack([rgb, alpha]).astype(np.uint8))


def _saved(image: Image.Image, kind: str, **how: Any) -> bytes:
    buffer = io.BytesIO()
    image.save(buffer, kind, **how)
    return buffer.getvalue()


def png() -> list[bytes]:
    """True colour, grey, indexed, 16 bits, interlaced, animated."""
    image = _picture()
    deep = Image.fromarray((np.arange(144, dtype=np.uint16) * 450).reshape(12, 12))
    kinds = [image, deep, *(image.convert(mode) for mode in ("RGB", "L", "1"))]
    return [
        *(_saved(kind, "PNG") for kind in kinds),
        _saved(image.convert("P"), "PNG", transparency=3),
        _saved(image, "PNG", save_all=True, append_images=[image.rotate(90)]),
    ]


def jpeg() -> list[bytes]:
    """Base line, progressive, grey, four channels, with EXIF."""
    image = _picture(24).convert("RGB")
    exif = Image.Exif()
    exif[0x0112] = 6
    return [
        _saved(image, "JPEG", quality=60), _saved(image, "JPEG", progressive=True),
        _saved(image.convert("L"), "JPEG"), _saved(image.convert("CMYK"), "JPEG"),
        _saved(image, "JPEG", exif=exif.tobytes(), subsampling=0),
    ]  # fmt: skip


def others() -> list[bytes]:
    """GIF, WebP, BMP and TIFF, each in a few kinds."""
    image = _picture()
    rgb, turned = image.convert("RGB"), image.rotate(90)
    return [
        _saved(rgb, "GIF"), _saved(image, "GIF", save_all=True, append_images=[turned]),
        _saved(image, "WEBP"), _saved(rgb, "WEBP", lossless=True),
        _saved(image, "WEBP", save_all=True, append_images=[turned]),
        _saved(rgb, "BMP"), _saved(rgb.convert("P"), "BMP"), _saved(rgb.convert("1"), "BMP"),
        _saved(rgb, "TIFF"), _saved(image, "TIFF", compression="tiff_lzw"),
        _saved(rgb.convert("CMYK"), "TIFF"), _saved(rgb, "TIFF", compression="tiff_deflate"),
        _saved(rgb, "TIFF", compression="jpeg"),
    ]  # fmt: skip


def palettes() -> list[bytes]:
    """Our own form, a person's, with semicolons, and the one of image editors."""
    ours = (ROOT / "palettes" / "quay-24.csv").read_bytes()
    own = b"code,name,hex,finish\nklp,kelp,#3A5A40,solid\nfoam,foam,#EEEEFF,clear\n"
    gpl = b"GIMP Palette\nName: pier\nColumns: 2\n#\n 58  90  64\tkelp\n238 238 255\tfoam\n"
    return [ours, own, own.replace(b",", b";"), gpl]


def stocks() -> list[bytes]:
    """Beads owned."""
    return [b"code,count\nnav,120\nprt,0\n", b"# drawer 3\ncode;count;where\nnav;120;left\n"]


def bags() -> list[bytes]:
    """Bags and prices."""
    return [b"code,bag,price\n*,1000,2.40\nnav,60g,3.10\n", b"code;bag\nnav;500\n"]


def names() -> list[bytes]:
    """Names of a card's cells."""
    return [b"cell,code,name\n1,klp,kelp\n2,foam,sea foam\n"]


def documents() -> list[bytes]:
    """Plate documents, as we write them and as pixel editors leave them."""
    plate = Plate(np.array([[0, 1, -1], [2, 2, 3]], np.int16), find_palette("quay-24"), "gull",
                  credit=Credit("Gull", "Maja", "MIT"), laid=laid_as(PackOptions()))  # fmt: skip
    path = Path("/dev/shm" if Path("/dev/shm").is_dir() else "/tmp") / "img2plate-seed.png"
    write_plate(path, plate)
    written = path.read_bytes()
    path.unlink()
    with Image.open(io.BytesIO(written)) as image:
        plain = _saved(image.convert("RGBA"), "PNG")
    return [written, written, plain]


def figures() -> list[bytes]:
    """Descriptions of figures."""
    folder = ROOT / "sample_inputs" / "figures"
    small = b"""[figure]
name = "chest"
palette = "quay-24"
[[part]]
name = "chest"
size = [6, 5, 4]
lid = "lift"
colour = "tar"
faces.front = { colour = "prt" }
[[part.opening]]
face = "top"
beads = [2, 1]
[[part.shelf]]
level = 2
colour = "tar"
"""
    said_once = small.replace(b"[[part]]", b"[variables]\nw = 6\n[[part]]").replace(
        b"size = [6", b'count = 2\nat = [[0, 0, 0], [9, 0, 0]]\nsize = ["= w + 0"'
    )
    lamp = (folder / "harbour-lamp.toml").read_bytes()
    return [small, small, said_once, re.sub(rb"faces[^\n]*png[^\n]*\n", b"", lamp)]


def projects() -> list[bytes]:
    """What the worktable keeps of a project: settings step by step."""
    about = {"file_name": "gull.png", "version": 3, "saved": 1.5, "at": 1,
             "history": [{}, {"palette": "quay-24", "width": "29"}]}  # fmt: skip
    return [json.dumps(about).encode()]


def words() -> list[bytes]:
    """An author's words in Markdown."""
    return [
        b"# Gull\n\n> *Press* it **long**, [see](https://museum.example/)\n\n"
        b"- a\n  1. b\n\n|a|\n|-|\n|b|\n"
    ]


def strokes() -> list[bytes]:
    """Cells touched by hand."""
    return [Touched.nothing((4, 3)).with_stroke({"nav": [0, 2], "": [5, 1]}).written()]


def _project(path: Path) -> Any:
    home = path.parent / ("0" * 16)
    (home / "source").mkdir(parents=True, exist_ok=True)
    (home / "project.json").write_bytes(path.read_bytes())
    return Projects(path.parent).load("0" * 16)


def _document(path: Path) -> Any:
    """By its own palette, and where it names none by another."""
    try:
        return as_laid(read_plate(path), PackOptions())
    except DocumentError:
        return read_plate(path, find_palette("quay-24"))


def _jpeg(path: Path) -> Any:
    read_coefficients(path.read_bytes())
    return read_picture(path)


def _touched(path: Path) -> Any:
    return Touched.read(path.read_bytes())


READERS = {
    "png": Reader(".png", read_picture, png),
    "jpeg": Reader(".jpg", _jpeg, jpeg),
    "pictures": Reader(".img", read_picture, others),
    "palette": Reader(".csv", read_palette, palettes, True),
    "stock": Reader(".csv", read_stock, stocks, True),
    "bags": Reader(".csv", read_bags, bags, True),
    "names": Reader(".csv", read_names, names, True),
    "document": Reader(".png", _document, documents),
    "figure": Reader(".toml", read_figure, figures, True, 0.5),
    "project": Reader(".json", _project, projects, True),
    "words": Reader(".md", read_text, words, True),
    "touched": Reader(".json", _touched, strokes, True),
}
