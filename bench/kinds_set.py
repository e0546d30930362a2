"""An open set of pictures of the four kinds, with the truth known from their own files.

Icons and emoji at 16 to 64 px are sprites at their own size; sprites of `sprite_set`, degraded in
the ways of `degradations`, are enlarged; icons, emoji, clip art, signs and our own drawings of 96
to 512 px are drawings, plain, blurred, on white and as JPEG; photos are photos. Every third
subject of a source is kept unseen while tuning, in all its versions.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import cv2
import numpy as np
from degradations import as_jpeg, cases, on_white
from kinds_drawn import DRAWINGS, drawn
from kinds_files import (
    EXAMPLE_DRAWINGS,
    clip_art,
    cut_outs,
    emoji,
    examples,
    opened,
    photos,
    rendered,
    symbol,
    theme,
)
from PIL import Image
from sprite_set import sprites, without_doubling

OWN, ENLARGED, DRAWING, PHOTO = KINDS = ("own size", "enlarged", "drawing", "photo")
CUT_OUT = "cut out"
"""Source of photos and drawings of things on a see-through or white ground."""
SIDES = (16, 22, 24, 32, 48, 64)
THEMES = {
    "tango-icon-theme": "Tango", "gnome-icon-theme": "gnome", "oxygen-icon-theme": "oxygen",
    "mate-icon-theme": "mate", "adwaita-icon-theme": "Adwaita", "faenza-icon-theme": "Faenza",
    "lxde-icon-theme": "nuoveXT2",
}  # fmt: skip
LARGE_SIDES = (96, 128, 256, 512)
EMOJI = "⚓⛵🐟🦀🐧🌊🗼🔦🚢🐚🦈🐳🌈⛱🎣🧭🦞🌞🍋🎈🚤🏝⛈🐙🔑🛟🌙⭐🍓🚲"
SIGNS = "⚓⛵☂★♣♠♫☀☎✂✈☺❄♞♘☠"


@dataclass(frozen=True, eq=False)
class Case:
    """A picture, and what should be told of it."""

    name: str
    source: str
    kind: str
    pixels: np.ndarray
    """(h, w, 4) uint8."""
    size: tuple[int, int] | None
    """Columns and rows of a sprite."""
    unseen: bool


def _every(things: list[Path], count: int) -> list[Path]:
    """So many, evenly spread."""
    return things[:: max(1, len(things) // count)][:count]


def _own(name: str, source: str, pixels: np.ndarray, number: int) -> Iterator[Case]:
    """A sprite at its own size, unless all its lines are doubled or it is a sheet of several."""
    if without_doubling(pixels).shape == pixels.shape and max(pixels.shape) <= max(SIDES):
        size = (pixels.shape[1], pixels.shape[0])
        yield Case(name, source, OWN, pixels, size, number % 3 == 2)


def _icons() -> Iterator[Case]:
    for package, folder in THEMES.items():
        for side in SIDES:
            files = theme(package, folder, f"{side}x{side}", str(side))
            for number, path in enumerate(_every(files, 9)):
                yield from _own(f"{folder}-{side}-{path.stem}", folder, opened(path), number)


def _small_emoji() -> Iterator[Case]:
    for number, character in enumerate(EMOJI):
        for side in (16, 24, 32, 48, 64)[number % 2 :: 2]:
            small = emoji(character).resize((side, side), Image.Resampling.LANCZOS)
            yield from _own(f"emoji-{side}-{number}", "emoji", np.array(small), number)
    for number, sign in enumerate(SIGNS):
        pixels = symbol(sign, (24, 32, 48)[number % 3], "#203050", "#00000000")
        yield from _own(f"sign-{number}", "signs", pixels, number)


def _small_drawn() -> Iterator[Case]:
    for number, name in enumerate(list(DRAWINGS)[:4] * 3):
        pixels = drawn(name, 20 + 4 * number, number)
        yield from _own(f"small-{name}-{number}", "drawn", pixels, number)


def _enlarged() -> Iterator[Case]:
    """Two degradations of each sprite, others of the next."""
    for number, sprite in enumerate(sprites()):
        degraded = list(cases(sprite.name, sprite.pixels))
        for name, case in degraded[number % 8 :: 8]:
            size = (case.truth.shape[1], case.truth.shape[0])
            called = f"{sprite.name}, {name}"
            yield Case(called, "sprites", ENLARGED, case.pixels, size, sprite.unseen)


def _versions(pixels: np.ndarray, number: int) -> tuple[str, np.ndarray]:
    """As it is, blurred on white, as a JPEG on white, or blurred and as a JPEG, in turn."""
    turn = number % 6
    if turn < 3:
        return "", pixels
    white = on_white(pixels)
    if turn in (3, 5):
        white = cv2.GaussianBlur(white, (0, 0), (0.7, 1.2, 2.0)[number // 6 % 3])
    if turn in (4, 5):
        white = as_jpeg(white, (85, 60, 75)[number // 6 % 3])
    return ("", "", "", " blurred", " jpeg", " blurred jpeg")[turn], white


def _drawing(name: str, source: str, pixels: np.ndarray, number: int, shift: int = 0) -> Case:
    added, pixels = _versions(pixels, number // 3 + shift)
    return Case(name + added, source, DRAWING, pixels, None, number % 3 == 2)


def _large_icons() -> Iterator[Case]:
    for shift, (package, folder) in enumerate(THEMES.items()):
        for turn, side in enumerate(LARGE_SIDES):
            files = theme(package, folder, f"{side}x{side}", str(side))
            for number, path in enumerate(_every(files, 9)):
                name = f"{folder}-{side}-{path.stem}"
                yield _drawing(name, folder, opened(path), number, shift + 2 * turn)


def _clip_art() -> Iterator[Case]:
    for number, path in enumerate(_every(clip_art(), 108)):
        pixels = rendered(path, (128, 256, 400, 96, 512)[number % 5])
        if pixels is not None:
            yield _drawing(f"clip-{path.stem}", "clip art", pixels, number)


def _other_drawings() -> Iterator[Case]:
    for number, character in enumerate(EMOJI):
        side = (128, 96, 256, 160)[number % 4]
        large = emoji(character).resize((side, side), Image.Resampling.BICUBIC)
        yield _drawing(f"emoji-{side}-{number}", "emoji", np.array(large), number)
    for number, sign in enumerate(SIGNS):
        ink, paper = (("#203050", "#ffffff"), ("#b03020", "#00000000"))[number % 2]
        pixels = symbol(sign, LARGE_SIDES[number % 4], ink, paper)
        yield _drawing(f"large-sign-{number}", "signs", pixels, number)
    for number in range(42):
        name = list(DRAWINGS)[number % len(DRAWINGS)]
        pixels = drawn(name, (96, 128, 200, 320, 512)[number % 5], number)
        yield _drawing(f"drawn-{name}-{number}", "drawn", pixels, number)
    for number, (name, pixels) in enumerate(examples(EXAMPLE_DRAWINGS)):
        yield Case(name, "opencv", DRAWING, _smaller(pixels, 400), None, number % 3 == 2)


def _smaller(pixels: np.ndarray, long_side: int) -> np.ndarray:
    """Made smaller to a long side; as it is when it is smaller already."""
    scale = long_side / max(pixels.shape[:2])
    if scale >= 1:
        return pixels
    size = (round(pixels.shape[1] * scale), round(pixels.shape[0] * scale))
    return np.array(Image.fromarray(pixels).resize(size, Image.Resampling.LANCZOS))


def _photos() -> Iterator[Case]:
    for number, (name, pixels) in enumerate(photos()):
        for turn, long_side in enumerate((640, 320, 150, 96)):
            small = _smaller(pixels, long_side)
            if (turn + number) % 2:
                small = as_jpeg(small, (90, 75, 60)[number % 3])
            yield Case(f"{name} {long_side}", name, PHOTO, small, None, number % 3 == 2)


def _cut_out(wanted: str) -> Iterator[Case]:
    """As it is, as a JPEG on white, or on more white and small, in turn by subject."""
    for number, (name, kind, pixels) in enumerate(cut_outs()):
        if kind != wanted or max(pixels.shape[:2]) <= max(SIDES):
            continue
        for turn, version in enumerate(("", " jpeg", " small")):
            shown = pixels
            if turn:
                edge = turn - 1 and max(pixels.shape[:2]) // 8
                shown = on_white(np.pad(pixels, ((edge, edge), (edge, edge), (0, 0))))
                shown = as_jpeg(shown, 85) if turn == 1 else _smaller(shown, 200)
            if max(shown.shape[:2]) > max(SIDES):
                yield Case(name + version, CUT_OUT, kind, shown, None, number % 3 == 2)


SOURCES = {
    OWN: (_icons, _small_emoji, _small_drawn),
    ENLARGED: (_enlarged,),
    DRAWING: (_large_icons, _clip_art, _other_drawings, lambda: _cut_out(DRAWING)),
    PHOTO: (_photos, lambda: _cut_out(PHOTO)),
}


def kind_cases(kinds: tuple[str, ...] = KINDS) -> Iterator[Case]:
    """All pictures of some kinds, the same on every machine that gets the same packages."""
    for kind in kinds:
        for make in SOURCES[kind]:
            yield from make()
