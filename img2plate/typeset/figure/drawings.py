"""`assembled.png`, `exploded.png` and `steps.png`."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from img2plate.solid.box.build import Figure
from img2plate.typeset.figure.projection import Drawing, Scale, Slab, draw, scale_for
from img2plate.typeset.figure.scene import apart, assembly, slab_of
from img2plate.typeset.look import GROUND, INK, PAPER, QUIET, font

if TYPE_CHECKING:
    from PIL import Image, ImageDraw

LONG_SIDE = 1000
_STEP = (330, 330)
_COLUMNS = 4
_BADGE = 13


def draw_assembled(figure: Figure, most: int = LONG_SIDE) -> Image.Image:
    """Draw all plates together."""
    from PIL import Image

    slabs = [slab_of(figure, piece) for piece in figure.pieces]
    return Image.fromarray(draw(slabs, figure.spec.palette, scale_for(slabs, most)).pixels)


def draw_exploded(figure: Figure, most: int = LONG_SIDE + 200) -> Image.Image:
    """Draw all plates pulled apart, each with its number from the list of plates."""
    from PIL import Image, ImageDraw

    shifts = apart(figure)
    slabs = [slab_of(figure, piece, shifts[piece.title]) for piece in figure.pieces]
    drawing = draw(slabs, figure.spec.palette, scale_for(slabs, most), margin=30)
    image = Image.fromarray(drawing.pixels)
    pen = ImageDraw.Draw(image)
    for number, slab in enumerate(slabs, 1):
        _badge(pen, drawing, slab, number)
    return image


def _badge(pen: ImageDraw.ImageDraw, drawing: Drawing, slab: Slab, number: int) -> None:
    """A plate's number on that bead nearest its middle which is not hidden; none, no number."""
    beads = slab.voxels[drawing.sees(slab.voxels + 0.5)]
    if not len(beads):
        return
    middle = slab.voxels.mean(axis=0)
    nearest = beads[((beads - middle) ** 2).sum(axis=1).argmin()]
    x, y = drawing.at(nearest + 0.5)
    box = (x - _BADGE, y - _BADGE, x + _BADGE, y + _BADGE)
    pen.ellipse(box, fill=PAPER, outline=INK, width=2)
    pen.text((x, y), str(number), font=font(16, bold=True), fill=INK, anchor="mm")


def draw_steps(figure: Figure) -> list[Image.Image]:
    """Draw each step of putting the figure together, numbered, all at one size of picture."""
    scenes = assembly(figure)
    steps = []
    for number, (words, slabs) in enumerate(scenes, 1):
        steps.append(_step(figure, number, words, slabs))
    return steps


def _step(figure: Figure, number: int, words: str, slabs: list[Slab]) -> Image.Image:
    """One step with its number and words."""
    from PIL import Image, ImageDraw

    fitted: Scale = scale_for(slabs, _STEP[0] - 40)
    picture = Image.fromarray(draw(slabs, figure.spec.palette, fitted, margin=4).pixels)
    picture.thumbnail((_STEP[0] - 16, _STEP[1] - 58), Image.Resampling.LANCZOS)
    frame = Image.new("RGB", _STEP, GROUND)
    left = (_STEP[0] - picture.width) // 2
    frame.paste(picture, (left, 52 + (_STEP[1] - 56 - picture.height) // 2))
    pen = ImageDraw.Draw(frame)
    pen.text((12, 8), str(number), font=font(28, bold=True), fill=INK)
    size = 17
    start = max(56.0, 12 + pen.textlength(str(number), font=font(28, bold=True)) + 10)
    while pen.textlength(words, font=font(size)) > _STEP[0] - start - 10 and size > 11:
        size -= 1
    pen.text((start, 16), words, font=font(size), fill=QUIET)
    return frame


@dataclass(frozen=True, eq=False)
class Drawings:
    """All pictures of a figure."""

    assembled: Image.Image
    exploded: Image.Image
    steps: list[Image.Image]


def draw_all(figure: Figure) -> Drawings:
    """Draw what the pack's pictures and its sheets show."""
    return Drawings(draw_assembled(figure), draw_exploded(figure), draw_steps(figure))


def write_drawings(folder: Path, drawings: Drawings) -> None:
    """Write `assembled.png`, `exploded.png` and `steps.png` into a folder."""
    drawings.assembled.save(folder / "assembled.png")
    drawings.exploded.save(folder / "exploded.png")
    contact_sheet(drawings.steps).save(folder / "steps.png")


def contact_sheet(steps: list[Image.Image]) -> Image.Image:
    """All steps in rows on one picture."""
    from PIL import Image

    columns = min(_COLUMNS, len(steps))
    rows = ceil(len(steps) / columns)
    gap = 10
    size = (columns * (_STEP[0] + gap) + gap, rows * (_STEP[1] + gap) + gap)
    sheet = Image.fromarray(np.full((size[1], size[0], 3), 255, dtype=np.uint8))
    for number, step in enumerate(steps):
        at = (gap + number % columns * (_STEP[0] + gap), gap + number // columns * (_STEP[1] + gap))
        sheet.paste(step, at)
    return sheet
