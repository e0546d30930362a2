"""A set of open native sprites, degraded in 16 ways with the truth known.

Sprites come from packages of the public registries, fetched into bench/out/ on first use:
pyxel (MIT) and arcade (CC0 pictures) from PyPI, tango-icon-theme (public domain), xbitmaps (X11
licence) and fonts-misaki (free licence) from Debian. Nothing of them is kept in the project.
Enlargements are made by Pillow and OpenCV. Every third sprite is kept unseen while tuning.
"""

from __future__ import annotations

import io
import subprocess
import sys
import zipfile
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import cv2
import numpy as np
from PIL import Image, ImageDraw, ImageFont

OUT = Path(__file__).parent / "out" / "sprites"
SEED = 20


@dataclass(frozen=True)
class Sprite:
    """A native sprite."""

    name: str
    pixels: np.ndarray
    """(h, w, 4) uint8."""
    unseen: bool


@dataclass(frozen=True)
class Case:
    """A degraded sprite and what should come back."""

    pixels: np.ndarray
    truth: np.ndarray
    """(rows, columns, 4): the cells that are at least half there."""


def _fetch_wheel(package: str, wanted: Callable[[str], bool]) -> None:
    """Download a wheel and take pictures out of it."""
    folder = OUT / package.partition("=")[0]
    if folder.exists():
        return
    wheels = OUT / "wheels"
    command = [sys.executable, "-m", "pip", "download", "-q", "--no-deps", "-d", wheels, package]
    subprocess.run(command, check=True)
    wheel = next(wheels.glob(f"{package.partition('=')[0]}*.whl"))
    folder.mkdir(parents=True)
    with zipfile.ZipFile(wheel) as archive:
        for name in archive.namelist():
            if wanted(name):
                (folder / name.replace("/", "_")).write_bytes(archive.read(name))


def _fetch_debian(package: str) -> Path:
    """Download and unpack a Debian package."""
    folder = OUT / package
    if not folder.exists():
        folder.mkdir(parents=True)
        subprocess.run(["apt-get", "download", "-qq", package], cwd=OUT, check=True)
        subprocess.run(["dpkg", "-x", next(OUT.glob(f"{package}_*.deb")), folder], check=True)
    return folder


def _wheel_sprites(package: str, count: int) -> Iterator[tuple[str, Image.Image]]:
    for path in sorted((OUT / package).glob("*.png")):
        with Image.open(path) as image:
            if min(image.size) >= 8 and max(image.size) <= 64:
                yield path.stem.rpartition("_images_")[2] or path.stem, image.convert("RGBA")
                count -= 1
        if not count:
            return


def _every(paths: list[Path], count: int) -> list[Path]:
    return paths[:: max(1, len(paths) // count)][:count]


def _named() -> Iterator[tuple[str, Image.Image]]:
    """All sprites by name."""
    OUT.mkdir(parents=True, exist_ok=True)
    _fetch_wheel("pyxel", lambda n: n.endswith(".png") and "assets" in n)
    _fetch_wheel("arcade", lambda n: n.endswith(".png") and "/images/topdown_tanks/" in n)
    yield from _wheel_sprites("pyxel", 12)
    yield from _wheel_sprites("arcade", 16)
    tango = _fetch_debian("tango-icon-theme") / "usr/share/icons/Tango"
    for side, count in ((16, 7), (22, 6), (32, 5)):
        files = [p for p in sorted((tango / f"{side}x{side}").rglob("*.png")) if not p.is_symlink()]
        for path in _every(files, count):
            yield f"tango-{side}-{path.stem}", Image.open(path).convert("RGBA")
    for path in sorted((_fetch_debian("xbitmaps") / "usr/include/X11/bitmaps").iterdir()):
        image = Image.open(path)
        if min(image.size) >= 8 and max(image.size) <= 64 and path.name[0] in "bclmost":
            yield f"xbm-{path.name}", image.convert("RGBA")
    font_file = next(_fetch_debian("fonts-misaki").rglob("misaki_gothic.ttf"))
    font = ImageFont.truetype(str(font_file), 8)
    for text, ink, paper in (("LAMP", "#203040", "#f0ead8"), ("Gull", "#ffffff", "#2a5a8a"),
                             ("buoy 7", "#c03020", "#ffffff"), ("QUAY", "#f8d030", "#101820"),
                             ("tide", "#00000000", "#308060")):  # fmt: skip
        image = Image.new("RGBA", (8 * len(text) // 2 + 2, 10), paper)
        draw = ImageDraw.Draw(image)
        draw.fontmode = "1"
        draw.text((1, 1), text, font=font, fill=ink)
        yield f"font-{text}", image


def sprites() -> list[Sprite]:
    """The whole set, the same on every machine that gets the same packages."""
    found = []
    for name, image in _named():
        pixels = np.array(image)
        pixels[pixels[..., 3] == 0] = 0
        if len(np.unique(pixels.reshape(-1, 4), axis=0)) >= 2 and _block(pixels) == 1:
            found.append(Sprite(name, pixels, len(found) % 3 == 2))
    return found


def _block(pixels: np.ndarray) -> int:
    """Side of the largest squares that the sprite could be made of: over 1 is ambiguous."""
    height, width = pixels.shape[:2]
    for side in range(min(height, width) // 2, 1, -1):
        if height % side == 0 and width % side == 0:
            blocks = pixels[::side, ::side].repeat(side, axis=0).repeat(side, axis=1)
            if (blocks == pixels).all():
                return side
    return 1


def _enlarge(pixels: np.ndarray, times: float, how: str, rng: np.random.Generator) -> np.ndarray:
    """By Pillow or OpenCV, premultiplied as both should be used."""
    size = (round(pixels.shape[1] * times), round(pixels.shape[0] * times))
    planes = pixels.astype(np.float32)
    planes[..., :3] *= planes[..., 3:] / 255
    flat = np.rint(planes).astype(np.uint8)
    if rng.random() < 0.5 and how != "lanczos":
        codes = {
            "nearest": cv2.INTER_NEAREST,
            "bilinear": cv2.INTER_LINEAR,
            "bicubic": cv2.INTER_CUBIC,
        }
        big = cv2.resize(flat, size, interpolation=codes[how])
    else:
        way = Image.Resampling[how.upper()]
        channels = [Image.fromarray(flat[..., c]).resize(size, way) for c in range(4)]
        big = np.dstack([np.asarray(c) for c in channels])
    alpha = big[..., 3:].astype(np.float32)
    colours = np.clip(np.rint(big[..., :3].astype(np.float32) * 255 / np.maximum(alpha, 1)), 0, 255)
    return np.dstack([colours.astype(np.uint8), big[..., 3]])


def _on_ground(pixels: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """On an opaque ground, as files without alpha are."""
    ground = np.array([[255, 255, 255], [32, 36, 48], [120, 180, 220], [240, 230, 200]])
    colour = ground[rng.integers(4)]
    alpha = pixels[..., 3:] / 255
    mixed = np.rint(pixels[..., :3] * alpha + colour * (1 - alpha)).astype(np.uint8)
    return np.dstack([mixed, np.full(mixed.shape[:2], 255, np.uint8)])


def _jpeg(pixels: np.ndarray, quality: int) -> np.ndarray:
    data = io.BytesIO()
    Image.fromarray(pixels[..., :3]).save(data, "JPEG", quality=quality)
    rgb = np.asarray(Image.open(data))
    return np.dstack([rgb, np.full(rgb.shape[:2], 255, np.uint8)])


def _cut(
    native: np.ndarray, big: np.ndarray, times: tuple[float, float], sides: np.ndarray
) -> Case:
    """Crop pixels off each side; cells that keep at least half stay in the truth."""
    left, top, right, bottom = (int(s) for s in sides)
    height, width = big.shape[:2]
    cells_x = [i for i in range(native.shape[1]) if _half_in(i, times[0], left, width - right)]
    cells_y = [i for i in range(native.shape[0]) if _half_in(i, times[1], top, height - bottom)]
    truth = native[cells_y[0] : cells_y[-1] + 1, cells_x[0] : cells_x[-1] + 1]
    return Case(big[top : height - bottom, left : width - right], truth)


def _half_in(i: int, times: float, low: int, high: int) -> bool:
    return min((i + 1) * times, high) - max(i * times, low) >= times / 2


def _cropped(native: np.ndarray, rng: np.random.Generator) -> Case:
    times = int(rng.integers(5, 11))
    big = _enlarge(native, times, "nearest", rng)
    return _cut(native, big, (times, times), rng.integers(0, round(1.6 * times), 4))


def _padded(native: np.ndarray, rng: np.random.Generator) -> Case:
    """Padding of less than half a cell: it adds no cell by the stated rule."""
    times = int(rng.integers(6, 11))
    big = _enlarge(native, times, "nearest", rng)
    left, top, right, bottom = rng.integers(1, (times + 1) // 2, 4)
    fill = (0, 0, 0, 0) if rng.random() < 0.5 else (*rng.integers(0, 256, 3), 255)
    shape = (big.shape[0] + top + bottom, big.shape[1] + left + right, 4)
    canvas = np.empty(shape, np.uint8)
    canvas[:] = fill
    canvas[top : top + big.shape[0], left : left + big.shape[1]] = big
    return Case(canvas, native)


def _noisy(native: np.ndarray, rng: np.random.Generator) -> Case:
    native = _on_ground(native, rng)
    big = _enlarge(native, 8, "nearest", rng).astype(np.float32)
    big[..., :3] += rng.normal(0, 6, big[..., :3].shape)
    return Case(np.clip(np.rint(big), 0, 255).astype(np.uint8), native)


def _shrunk(native: np.ndarray, rng: np.random.Generator) -> Case:
    big = Image.fromarray(_enlarge(native, 10, "nearest", rng))
    size = (round(big.width * 0.73), round(big.height * 0.73))
    way = [Image.Resampling.BOX, Image.Resampling.BILINEAR, Image.Resampling.LANCZOS][
        rng.integers(3)
    ]
    return Case(np.asarray(big.resize(size, way)), native)


def _all_at_once(native: np.ndarray, rng: np.random.Generator) -> Case:
    native = _on_ground(native, rng)
    times = rng.uniform(5.6, 9.4)
    big = _enlarge(native, times, "bicubic", rng)
    real = (big.shape[1] / native.shape[1], big.shape[0] / native.shape[0])
    case = _cut(native, big, real, rng.integers(0, round(1.2 * times), 4))
    return Case(_jpeg(case.pixels, 80), case.truth)


def _plain(times: float, how: str) -> Callable[[np.ndarray, np.random.Generator], Case]:
    return lambda native, rng: Case(_enlarge(native, times, how, rng), native)


def _compressed(times: int, quality: int) -> Callable[[np.ndarray, np.random.Generator], Case]:
    def degrade(native: np.ndarray, rng: np.random.Generator) -> Case:
        native = _on_ground(native, rng)
        return Case(_jpeg(_enlarge(native, times, "nearest", rng), quality), native)

    return degrade


DEGRADATIONS: dict[str, Callable[[np.ndarray, np.random.Generator], Case]] = {
    "nearest x3": _plain(3, "nearest"),
    "nearest x7": _plain(7, "nearest"),
    "nearest x10": _plain(10, "nearest"),
    "nearest x6.5": _plain(6.5, "nearest"),
    "nearest x9.37": _plain(9.37, "nearest"),
    "bilinear x8": _plain(8, "bilinear"),
    "bicubic x8": _plain(8, "bicubic"),
    "lanczos x8": _plain(8, "lanczos"),
    "jpeg 85 x8": _compressed(8, 85),
    "jpeg 60 x8": _compressed(8, 60),
    "jpeg 75 x7": _compressed(7, 75),
    "crop": _cropped,
    "pad": _padded,
    "noise": _noisy,
    "x10 then 73 %": _shrunk,
    "bicubic, crop, jpeg": _all_at_once,
}


def cases(sprite: Sprite) -> Iterator[tuple[str, Case]]:
    """All degradations of a sprite, each with a seed of its own."""
    for number, (name, degrade) in enumerate(DEGRADATIONS.items()):
        rng = np.random.default_rng([SEED, number, *sprite.name.encode()])
        yield name, degrade(sprite.pixels, rng)


def photos() -> Iterator[tuple[str, np.ndarray]]:
    """36 versions of open photos: no grid in any of them (scikit-image, CC0 or public domain)."""
    import skimage.data

    names = ("chelsea", "coffee", "astronaut", "rocket", "hubble_deep_field", "retina")
    for name in names:
        photo = Image.fromarray(getattr(skimage.data, name)()).convert("RGB")
        for long_side in (640, 320, 150):
            scale = long_side / max(photo.size)
            size = (round(photo.width * scale), round(photo.height * scale))
            small = np.asarray(photo.resize(size, Image.Resampling.LANCZOS).convert("RGBA"))
            yield f"{name} {long_side}", small
            yield f"{name} {long_side} jpeg", _jpeg(small, 75)
