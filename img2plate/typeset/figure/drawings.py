"""`assembled.png`, `exploded.png`, `parts.png` and `steps.png`."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import ceil
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from img2plate.solid.box.build import Figure
from img2plate.typeset.figure.groups import groups_of
from img2plate.typeset.figure.labels import draw_labels, place_labels
from img2plate.typeset.figure.projection import Drawing, draw, scale_for
from img2plate.typeset.figure.scene import Scene, apart, groups_apart, scenes, slab_of, slabs_of
from img2plate.typeset.figure.slabs import Slab
from img2plate.typeset.look import GROUND, INK, PAPER, font

if TYPE_CHECKING:
    from PIL import Image, ImageDraw

LONG_SIDE = 1000
_STEP = (330, 360)
_STEP_HEAD = 92
"""For the number and up to three lines of words."""
_WORDS = 15
_PART = (480, 480)
_LEAST_SEEN = 0.1
"""Share of the beads that come in a step, of which less is not enough to know them by."""
_MOST_TRIES = 3


def draw_assembled(figure: Figure, most: int = LONG_SIDE) -> Image.Image:
    """Draw all plates together."""
    from PIL import Image

    slabs = [slab_of(figure, piece) for piece in figure.pieces]
    return Image.fromarray(draw(slabs, figure.spec.palette, scale_for(slabs, most)).pixels)


def draw_exploded(figure: Figure, most: int = LONG_SIDE) -> Image.Image:
    """Draw the parts and joins pulled apart, each in one piece with its name."""
    shifts = groups_apart(figure)
    named: dict[str, list[Slab]] = {}
    for piece in figure.pieces:
        named.setdefault(piece.group, []).append(slab_of(figure, piece, shifts[piece.group]))
    return _labelled(figure, list(named.items()), most, margin=80)


def draw_parts(figure: Figure) -> list[Image.Image]:
    """Draw each part pulled apart, its plates with their numbers; equal parts once."""
    from PIL import Image, ImageDraw

    shifts, numbers = apart(figure), _numbers(figure)
    found = []
    for group in groups_of(figure):
        named = [
            (numbers[piece.title], [slab_of(figure, piece, shifts[piece.title])])
            for piece in group.pieces
        ]
        picture = _labelled(figure, named, _PART[0], margin=36)
        picture.thumbnail((_PART[0], _PART[1] - 40), Image.Resampling.LANCZOS)
        frame = Image.new("RGB", _PART, GROUND)
        middle = (_PART[1] - 40 - picture.height) // 2
        frame.paste(picture, ((_PART[0] - picture.width) // 2, 40 + middle))
        _title(ImageDraw.Draw(frame), 12, group.words, _PART[0] - 24)
        found.append(frame)
    return found


def _labelled(
    figure: Figure, named: list[tuple[str, list[Slab]]], most: int, margin: int
) -> Image.Image:
    """Draw slabs, and a label for each name."""
    from PIL import Image

    slabs = [slab for _, some in named for slab in some]
    scale = scale_for(slabs, most - 2 * margin)
    drawing = draw(slabs, figure.spec.palette, scale, margin=margin)
    image = Image.fromarray(drawing.pixels)
    draw_labels(image, place_labels(drawing, named))
    return image


def _numbers(figure: Figure) -> dict[str, str]:
    """A plate's number in the list of plates, by its title."""
    return {piece.title: str(number) for number, piece in enumerate(figure.pieces, 1)}


def draw_steps(figure: Figure) -> list[Image.Image]:
    """Draw each step of putting the figure together, numbered, all at one size of picture."""
    numbers = _numbers(figure)
    return [_step(figure, place, scene, numbers) for place, scene in enumerate(scenes(figure), 1)]


def _step(figure: Figure, place: int, scene: Scene, numbers: dict[str, str]) -> Image.Image:
    """One step with its number and words; a plate that comes alone has its number."""
    from PIL import Image, ImageDraw

    room = (_STEP[0] - 16, _STEP[1] - _STEP_HEAD - 6)
    drawing, coming = _drawn(figure, scene, room[1] - 20)
    named = [(numbers[scene.coming[0].title], coming)] if len(coming) == 1 else []
    picture = Image.fromarray(drawing.pixels)
    draw_labels(picture, place_labels(drawing, named))
    picture.thumbnail(room, Image.Resampling.LANCZOS)
    frame = Image.new("RGB", _STEP, GROUND)
    left = (_STEP[0] - picture.width) // 2
    frame.paste(picture, (left, _STEP_HEAD + (room[1] - picture.height) // 2))
    pen = ImageDraw.Draw(frame)
    pen.text((12, 8), str(place), font=font(28, bold=True), fill=INK)
    start = max(56.0, 12 + pen.textlength(str(place), font=font(28, bold=True)) + 10)
    title, _, words = scene.words.rpartition(": ")
    _title(pen, start, title, _STEP[0] - start - 10)
    for line, text in enumerate(_lines(pen, words, _STEP[0] - start - 10)):
        pen.text((start, 33 + 18 * line), text, font=font(_WORDS), fill=INK)
    return frame


def _drawn(figure: Figure, scene: Scene, most: int) -> tuple[Drawing, list[Slab]]:
    """A step's drawing, and what comes: further off where what is there would hide it."""
    for _ in range(_MOST_TRIES):
        slabs = slabs_of(figure, scene)
        drawing = draw(slabs, figure.spec.palette, scale_for(slabs, most), margin=32)
        coming = slabs[len(scene.there) :]
        if not coming or scene.shift is None:
            break
        if drawing.sees(np.concatenate([slab.middles for slab in coming])).mean() > _LEAST_SEEN:
            break
        scene = replace(scene, shift=2 * scene.shift)
    return drawing, coming


def _title(pen: ImageDraw.ImageDraw, start: float, words: str, room: float) -> None:
    """The name of a part at the top, smaller where it is long."""
    size = 18
    while pen.textlength(words, font=font(size, bold=True)) > room and size > 10:
        size -= 1
    pen.text((start, 10), words, font=font(size, bold=True), fill=INK)


def _lines(pen: ImageDraw.ImageDraw, words: str, room: float) -> list[str]:
    """Words in lines that fit."""
    lines = [""]
    for word in words.split():
        longer = f"{lines[-1]} {word}".strip()
        if lines[-1] and pen.textlength(longer, font=font(_WORDS)) > room:
            lines.append(word)
        else:
            lines[-1] = longer
    return lines


@dataclass(frozen=True, eq=False)
class Drawings:
    """All pictures of a figure."""

    assembled: Image.Image
    exploded: Image.Image
    """Parts and joins, each in one piece."""
    parts: list[Image.Image]
    """Each part's plates; equal parts once."""
    steps: list[Image.Image]


def draw_all(figure: Figure) -> Drawings:
    """Draw what the pack's pictures and its sheets show."""
    parts, steps = draw_parts(figure), draw_steps(figure)
    return Drawings(draw_assembled(figure), draw_exploded(figure), parts, steps)


def write_drawings(folder: Path, drawings: Drawings) -> None:
    """Write `assembled.png`, `exploded.png`, `parts.png` and `steps.png` into a folder."""
    drawings.assembled.save(folder / "assembled.png")
    drawings.exploded.save(folder / "exploded.png")
    contact_sheet(drawings.parts, 3).save(folder / "parts.png")
    contact_sheet(drawings.steps).save(folder / "steps.png")


def contact_sheet(pictures: list[Image.Image], most: int = 4) -> Image.Image:
    """Pictures of one size in rows of at most so many."""
    from PIL import Image

    columns = min(most, len(pictures))
    wide, high = pictures[0].size
    rows = ceil(len(pictures) / columns)
    gap = 10
    sheet = Image.new("RGB", (columns * (wide + gap) + gap, rows * (high + gap) + gap), PAPER)
    for number, picture in enumerate(pictures):
        at = (gap + number % columns * (wide + gap), gap + number // columns * (high + gap))
        sheet.paste(picture, at)
    return sheet
