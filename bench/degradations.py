"""Ways to degrade a native sprite, with the truth known; large scenes; photos without grid.

Enlargements are made by Pillow and OpenCV, not by the project's own code.
"""

from __future__ import annotations

import io
from collections.abc import Callable, Iterator
from dataclasses import dataclass

import cv2
import numpy as np
from PIL import Image

SEED = 20


@dataclass(frozen=True)
class Case:
    """A degraded sprite and what should come back."""

    pixels: np.ndarray
    truth: np.ndarray
    """(rows, columns, 4): the cells that are at least half there."""
    file: bytes | None = None
    """The JPEG file that holds the picture, if one does."""


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


def on_random_ground(pixels: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """On an opaque ground, as files without alpha are."""
    ground = np.array([[255, 255, 255], [32, 36, 48], [120, 180, 220], [240, 230, 200]])
    colour = ground[rng.integers(4)]
    alpha = pixels[..., 3:] / 255
    mixed = np.rint(pixels[..., :3] * alpha + colour * (1 - alpha)).astype(np.uint8)
    return np.dstack([mixed, np.full(mixed.shape[:2], 255, np.uint8)])


def on_white(pixels: np.ndarray) -> np.ndarray:
    """On opaque white."""
    alpha = pixels[..., 3:] / 255
    mixed = np.rint(pixels[..., :3] * alpha + 255 * (1 - alpha)).astype(np.uint8)
    return np.dstack([mixed, np.full(mixed.shape[:2], 255, np.uint8)])


def as_jpeg(pixels: np.ndarray, quality: int) -> np.ndarray:
    """An opaque picture after a JPEG file."""
    return compressed(Case(pixels, pixels), quality).pixels


def compressed(case: Case, quality: int) -> Case:
    """The same, saved by Pillow as a JPEG file and read again."""
    data = io.BytesIO()
    Image.fromarray(case.pixels[..., :3]).save(data, "JPEG", quality=quality)
    rgb = np.asarray(Image.open(data))
    pixels = np.dstack([rgb, np.full(rgb.shape[:2], 255, np.uint8)])
    return Case(pixels, case.truth, data.getvalue())


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
    native = on_random_ground(native, rng)
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
    native = on_random_ground(native, rng)
    times = rng.uniform(5.6, 9.4)
    big = _enlarge(native, times, "bicubic", rng)
    real = (big.shape[1] / native.shape[1], big.shape[0] / native.shape[0])
    case = _cut(native, big, real, rng.integers(0, round(1.2 * times), 4))
    return compressed(case, 80)


def _blurred(native: np.ndarray, rng: np.random.Generator) -> Case:
    native = on_random_ground(native, rng)
    return Case(cv2.GaussianBlur(_enlarge(native, 8, "nearest", rng), (0, 0), 1.2), native)


def _plain(times: float, how: str) -> Callable[[np.ndarray, np.random.Generator], Case]:
    return lambda native, rng: Case(_enlarge(native, times, how, rng), native)


def _compressed(times: int, quality: int) -> Callable[[np.ndarray, np.random.Generator], Case]:
    def degrade(native: np.ndarray, rng: np.random.Generator) -> Case:
        native = on_random_ground(native, rng)
        return compressed(Case(_enlarge(native, times, "nearest", rng), native), quality)

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
    "nearest x8, blurred": _blurred,
}


def cases(name: str, native: np.ndarray) -> Iterator[tuple[str, Case]]:
    """All degradations of a sprite (h, w, 4), each with a seed of its own."""
    for number, (degradation, degrade) in enumerate(DEGRADATIONS.items()):
        rng = np.random.default_rng([SEED, number, *name.encode()])
        yield degradation, degrade(native, rng)


LARGE_SIDE = 4000
LARGE_CELLS = (64, 128, 256, 512)


def large(sprites: list[np.ndarray]) -> Iterator[tuple[str, Case]]:
    """Scenes of small sprites (h, w, 4), enlarged to 4000 x 4000 px, plain and as JPEG."""
    small = [sprite for sprite in sprites if max(sprite.shape[:2]) <= 24]
    for how in ("nearest", "bicubic", "lanczos"):
        for cells in LARGE_CELLS:
            rng = np.random.default_rng([SEED, cells])
            native = _scene(small, cells, rng)
            big = _enlarge(native, LARGE_SIDE / cells, how, rng)
            yield f"{how}, {cells} cells", Case(big, native)
            yield f"{how}, jpeg 80, {cells} cells", compressed(Case(big, native), 80)


def _scene(sprites: list[np.ndarray], cells: int, rng: np.random.Generator) -> np.ndarray:
    """Sprites scattered over an even ground of so many cells a side."""
    scene = np.empty((cells, cells, 4), np.uint8)
    scene[:] = (*rng.integers(0, 256, 3), 255)
    for _ in range(cells * cells // 400):
        sprite = sprites[rng.integers(len(sprites))]
        top, left = (int(rng.integers(0, cells - side + 1)) for side in sprite.shape[:2])
        part = scene[top : top + sprite.shape[0], left : left + sprite.shape[1], :3]
        alpha = sprite[..., 3:] / 255
        part[:] = np.rint(part * (1 - alpha) + sprite[..., :3] * alpha)
    return scene


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
            yield f"{name} {long_side} jpeg", as_jpeg(small, 75)
