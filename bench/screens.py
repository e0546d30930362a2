"""Screens with enlarged pixel art among windows, text, icons and photos, with the truth known.

Pillow draws them: a desktop (flat, a gradient, or a photo), windows with title bars, menus, text
in DejaVu, icons of Debian's themes, scroll bars; and on it one to three pieces of art, sprites of
`sprite_set` or scenes of several, enlarged 2 to 12 times, some overlaid by a label or a cursor,
some smoothly enlarged. `saved` makes a JPEG file of it. Every third screen is kept unseen.
"""

from __future__ import annotations

import io
from dataclasses import dataclass, replace
from functools import cache

import numpy as np
import skimage.data
from degradations import SEED, on_random_ground
from kinds_files import opened, theme
from PIL import Image, ImageDraw, ImageFont
from sprite_set import Sprite, sprites

SIZES = ((640, 480), (800, 600), (1024, 768), (1280, 720), (1366, 768), (1600, 900), (1920, 1080))
FONT = "/usr/share/fonts/truetype/dejavu/DejaVu{}.ttf"
FACES = ("Sans", "Sans-Bold", "SansMono", "Serif")
WORDS = (
    "harbour", "lamp", "gull", "tide", "pier", "boat", "museum", "shop", "open", "plate", "bead",
    "colour", "board", "print", "rope", "anchor", "the", "and", "of", "with", "from", "next",
    "file", "edit", "view", "help", "save", "window", "picture", "size", "count", "beads", "keel",
)  # fmt: skip
PHOTOS = ("coffee", "chelsea", "astronaut", "rocket")
RESIZED = {"bilinear": Image.Resampling.BILINEAR, "nearest": Image.Resampling.NEAREST}


@dataclass(frozen=True, eq=False)
class Art:
    """A piece of art on a screen."""

    box: tuple[int, int, int, int]
    """X, y, width, height in pixels: the cells that can be told from what is round them."""
    pitch: int
    cells: np.ndarray
    """(rows, columns, 4) the truth; alpha 0 where the desktop shows."""
    clean: np.ndarray
    """(rows, columns) bool, not overlaid."""


@dataclass(frozen=True, eq=False)
class Screen:
    """A picture of a screen."""

    name: str
    pixels: np.ndarray
    """(h, w, 4) uint8."""
    art: tuple[Art, ...]
    unseen: bool
    kind: str
    """plain, overlaid, several, soft or none."""
    file: bytes | None = None


def screens(count: int, kinds: tuple[str, ...] = ()) -> list[Screen]:
    """So many screens, the same each time; of some kinds only if they are named."""
    turn = ("plain", "overlaid", "several", "none", "plain", "overlaid", "soft", "none")
    made = []
    for number in range(count):
        kind = turn[number // 3 % len(turn)]  # so that each third has all kinds
        if not kinds or kind in kinds:
            made.append(screen(number, kind))
    return made


def screen(number: int, kind: str) -> Screen:
    """One screen; every third is kept unseen."""
    rng = np.random.default_rng([SEED, 300, number])
    size = SIZES[rng.integers(len(SIZES))]
    image = _desktop(size, rng)
    for _ in range(int(rng.integers(1, 4))):
        _window(image, _somewhere(size, rng), rng)
    unseen = number % 3 == 2
    pieces = {"none": 0, "several": int(rng.integers(2, 4))}.get(kind, 1)
    art: list[Art] = []
    for _ in range(pieces):
        piece = _hung(image, art, unseen, kind, rng)
        if piece is not None:
            art.append(piece)
    _icons(image, int(rng.integers(3, 14)), [one.box for one in art], rng)
    pixels = np.asarray(image)
    opaque = np.dstack([pixels, np.full(pixels.shape[:2], 255, np.uint8)])
    kind = kind if art else "none"
    return Screen(f"{number} {kind}", opaque, tuple(art), unseen, kind)


def saved(one: Screen, quality: int) -> Screen:
    """The same, as a JPEG file."""
    data = io.BytesIO()
    Image.fromarray(one.pixels[..., :3]).save(data, "JPEG", quality=quality)
    rgb = np.asarray(Image.open(data))
    pixels = np.dstack([rgb, np.full(rgb.shape[:2], 255, np.uint8)])
    return replace(one, pixels=pixels, file=data.getvalue())


@cache
def _sprites() -> list[Sprite]:
    return [one for one in sprites() if min(one.pixels.shape[:2]) >= 12]


@cache
def _icon_files() -> list[Image.Image]:
    found = []
    for side in (16, 22, 24, 32, 48):
        for package, folder in (("mate-icon-theme", "mate"), ("oxygen-icon-theme", "oxygen")):
            files = theme(package, folder, f"{side}x{side}", str(side))
            found += [Image.fromarray(opened(path)) for path in files[:: max(1, len(files) // 12)]]
    return found


def _desktop(size: tuple[int, int], rng: np.random.Generator) -> Image.Image:
    way = rng.integers(3)
    if way == 0:
        return Image.new("RGB", size, tuple(int(v) for v in rng.integers(0, 256, 3)))
    if way == 1:
        ends = rng.integers(0, 256, (2, 3))
        share = np.linspace(0, 1, size[1])[:, None]
        column = np.rint(ends[0] * (1 - share) + ends[1] * share).astype(np.uint8)
        return Image.fromarray(np.repeat(column[:, None], size[0], axis=1))
    photo = getattr(skimage.data, PHOTOS[rng.integers(len(PHOTOS))])()
    return Image.fromarray(photo).resize(size, Image.Resampling.LANCZOS)


def _somewhere(size: tuple[int, int], rng: np.random.Generator) -> tuple[int, int, int, int]:
    wide, high = (int(side * rng.uniform(0.35, 0.8)) for side in size)
    left, top = int(rng.integers(0, size[0] - wide)), int(rng.integers(0, size[1] - high))
    return left, top, left + wide, top + high


def _font(rng: np.random.Generator, least: int = 9, most: int = 18) -> ImageFont.FreeTypeFont:
    face = FONT.format(FACES[rng.integers(len(FACES))])
    return ImageFont.truetype(face, int(rng.integers(least, most)))


def _window(image: Image.Image, box: tuple[int, int, int, int], rng: np.random.Generator) -> None:
    """Frame, title, buttons, menu, text, and a scroll bar."""
    draw = ImageDraw.Draw(image)
    light = rng.random() < 0.6
    paper, ink = ((246, 246, 244), (30, 32, 36)) if light else ((36, 40, 48), (220, 222, 226))
    bar = tuple(int(v) for v in rng.integers(40, 200, 3))
    left, top, right, bottom = box
    high = int(rng.integers(20, 34))
    draw.rectangle(box, fill=paper, outline=(90, 90, 96))
    for y in range(high):
        shade = tuple(min(255, v + 40 - 2 * y) for v in bar)
        draw.line((left + 1, top + 1 + y, right - 1, top + 1 + y), fill=shade)
    draw.text((left + 8, top + 4), _words(3, rng), font=_font(rng, 11, 15), fill=(255, 255, 255))
    for place in range(3):
        x = right - 18 * (place + 1)
        draw.ellipse((x, top + 6, x + 11, top + 17), fill=(230, 90 + 50 * place, 80))
    draw.text((left + 8, top + high + 4), "  ".join(_words(1, rng) for _ in range(5)),
              font=_font(rng, 10, 13), fill=ink)  # fmt: skip
    font = _font(rng)
    line = int(font.size * 1.4)
    for y in range(top + high + 28, bottom - line, line):
        words = _words(int(rng.integers(2, 14)), rng)
        while words and font.getlength(words) > right - left - 40:
            words = words.rpartition(" ")[0]
        draw.text((left + 12, y), words, font=font, fill=ink)
    draw.rectangle((right - 12, top + high + 1, right - 1, bottom - 1), fill=(200, 200, 204))
    thumb = int(rng.integers(top + high + 4, max(top + high + 5, bottom - 60)))
    draw.rounded_rectangle((right - 10, thumb, right - 3, thumb + 50), 3, fill=(130, 130, 138))


def _words(count: int, rng: np.random.Generator) -> str:
    return " ".join(WORDS[i] for i in rng.integers(0, len(WORDS), count))


def _cells(unseen: bool, rng: np.random.Generator) -> np.ndarray:
    """A sprite with its ground, a scene of several, or a sprite on what is there."""
    some = [one for one in _sprites() if one.unseen == unseen]
    way = rng.integers(4)
    if way < 2:
        return on_random_ground(some[rng.integers(len(some))].pixels, rng)
    if way == 2:
        cells = some[rng.integers(len(some))].pixels.copy()
        cells[..., 3] = np.where(cells[..., 3] >= 128, 255, 0)
        rows, columns = (np.flatnonzero((cells[..., 3] > 0).any(axis=a)) for a in (1, 0))
        if len(rows) >= 8 and len(columns) >= 8:
            return cells[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1]
    ground = np.zeros((int(rng.integers(40, 100)), int(rng.integers(50, 130)), 4), np.uint8)
    ground = on_random_ground(ground, rng)
    for _ in range(int(rng.integers(4, 12))):
        own = some[rng.integers(len(some))].pixels
        free = ground.shape[0] - own.shape[0], ground.shape[1] - own.shape[1]
        if min(free) <= 0:
            continue
        top, left = (int(rng.integers(0, n)) for n in free)
        there = ground[top : top + own.shape[0], left : left + own.shape[1], :3]
        share = own[..., 3:] / 255
        there[:] = np.rint(own[..., :3] * share + there * (1 - share))
    return ground


def _hung(
    image: Image.Image, others: list[Art], unseen: bool, kind: str, rng: np.random.Generator
) -> Art | None:
    """Put a piece of art where there is room, or None."""
    for _ in range(30):
        cells = _cells(unseen, rng)
        pitch = int(rng.integers(2, 13))
        wide, high = cells.shape[1] * pitch, cells.shape[0] * pitch
        if not (48 <= wide < image.width - 16 and 48 <= high < image.height - 16):
            continue
        x, y = int(rng.integers(4, image.width - wide)), int(rng.integers(4, image.height - high))
        if any(_near((x, y, wide, high), one.box) for one in others):
            continue
        how = "bilinear" if kind == "soft" else "nearest"
        big = Image.fromarray(cells).resize((wide, high), RESIZED[how])
        image.paste(big.convert("RGB"), (x, y), big.getchannel("A"))
        clean = cells[..., 3] > 0
        if kind == "overlaid":
            clean &= ~_overlaid(image, (x, y, wide, high), pitch, rng)
        return Art((x, y, wide, high), pitch, cells, clean)
    return None


def _near(a: tuple[int, int, int, int], b: tuple[int, int, int, int], gap: int = 24) -> bool:
    return not any(a[i] + a[i + 2] + gap <= b[i] or b[i] + b[i + 2] + gap <= a[i] for i in (0, 1))


def _overlaid(
    image: Image.Image, box: tuple[int, int, int, int], pitch: int, rng: np.random.Generator
) -> np.ndarray:
    """(rows, columns) bool: draw a label, a meter or a cursor within; which cells it touches."""
    x, y, wide, high = box
    before = np.asarray(image.crop((x, y, x + wide, y + high))).copy()
    draw = ImageDraw.Draw(image)
    at = x + int(rng.uniform(0.1, 0.4) * wide), y + int(rng.uniform(0.1, 0.7) * high)
    way = rng.integers(3)
    if way == 0:
        draw.text(at, _words(2, rng)[: max(3, wide // 12)], font=_font(rng, 10, 16), fill="white",
                  stroke_width=1, stroke_fill="black")  # fmt: skip
    elif way == 1:
        end = at[0] + int(0.45 * wide), at[1] + 9
        draw.rounded_rectangle((*at, *end), 4, fill=(40, 40, 40), outline="white")
        draw.rectangle((at[0] + 3, at[1] + 3, at[0] + int(0.3 * wide), at[1] + 6), fill="red")
    else:
        arrow = np.array([(0, 0), (0, 16), (4, 12), (7, 18), (9, 17), (6, 11), (11, 11)]) + at
        draw.polygon([tuple(p) for p in arrow.tolist()], fill="white", outline="black")
    image.paste(image.crop((x, y, x + wide, y + high)), (x, y))
    after = np.asarray(image.crop((x, y, x + wide, y + high)))
    touched = (before != after).any(axis=2)
    rows, columns = high // pitch, wide // pitch
    return np.asarray(touched.reshape(rows, pitch, columns, pitch).any(axis=(1, 3)))


def _icons(
    image: Image.Image,
    count: int,
    free: list[tuple[int, int, int, int]],
    rng: np.random.Generator,
) -> None:
    """Icons with names under them, beside the art."""
    draw, files = ImageDraw.Draw(image), _icon_files()
    for _ in range(count):
        icon = files[rng.integers(len(files))]
        x, y = int(rng.integers(0, image.width - 90)), int(rng.integers(0, image.height - 80))
        if any(_near((x, y, 90, 80), box, 2) for box in free):
            continue
        image.paste(icon, (x + 10, y), icon.getchannel("A"))
        draw.text((x, y + icon.height + 2), _words(1, rng), font=_font(rng, 9, 12), fill="white")
