"""The proof sheet as one picture: the source first, then each variant with its figures."""

from __future__ import annotations

from math import ceil
from pathlib import Path
from typing import TYPE_CHECKING, Any

from img2plate.typeset.look import ACCENT, INK, PAPER, QUIET, font
from img2plate.typeset.proof.pictures import fitted, near_picture, pixel_size, scale
from img2plate.typeset.proof.proof import Proof, Variant

if TYPE_CHECKING:
    from PIL import Image

_LONG_SIDE = 464
_MARGIN = 36
_HEAD = 58
_LINE = 26
_COLUMNS = 4


def write_picture_sheet(path: Path, proof: Proof) -> None:
    """Write the sheet as PNG."""
    draw_picture_sheet(proof).save(path, format="PNG")


def draw_picture_sheet(proof: Proof) -> Image.Image:
    """Draw the sheet: up to four variants a row, all at one scale."""
    from PIL import Image, ImageDraw

    per_mm = scale(proof, _LONG_SIDE)
    wide, high = pixel_size(proof.largest, per_mm)
    wide = max(wide, 300)
    high = max(pixel_size(variant, per_mm)[1] for variant in proof.variants)
    lines = len(proof.variants[0].figures) + 1
    cell = wide + _MARGIN, _HEAD + high + 12 + lines * _LINE + _MARGIN
    count = len(proof.variants) + 1
    columns = min(_COLUMNS, count)
    size = columns * cell[0] + _MARGIN, ceil(count / columns) * cell[1] + _MARGIN
    sheet = Image.new("RGB", (size[0], size[1] + _LINE * len(proof.failed)), PAPER)
    draw = ImageDraw.Draw(sheet)
    _draw_source(sheet, draw, proof, per_mm)
    best = proof.best()
    for place, variant in enumerate(proof.variants, 1):
        corner = _MARGIN + place % columns * cell[0], _MARGIN + place // columns * cell[1]
        _draw_variant(sheet, draw, variant, corner, high, per_mm, best)
    for line, (name, why) in enumerate(proof.failed):
        text = f"Could not be made: {name}: {why}"
        draw.text((_MARGIN, size[1] - 20 + line * _LINE), text, font=font(18), fill=ACCENT)
    return sheet


def _draw_source(sheet: Image.Image, draw: Any, proof: Proof, per_mm: float) -> None:
    """The picture itself, at the same scale."""
    draw.text((_MARGIN, _MARGIN), proof.name, font=font(30, bold=True), fill=INK)
    size = pixel_size(proof.largest, per_mm)
    sheet.paste(fitted(proof.largest.source[0], size), (_MARGIN, _MARGIN + _HEAD))
    under = _MARGIN + _HEAD + size[1] + 12
    text = "The picture. In bold: the best value of each figure."
    draw.text((_MARGIN, under), text, font=font(18), fill=QUIET)


def _draw_variant(
    sheet: Image.Image,
    draw: Any,
    variant: Variant,
    corner: tuple[int, int],
    high: int,
    per_mm: float,
    best: dict[str, list[int]],
) -> None:
    """One variant: number, palette and shading above, figures below."""
    left, top = corner
    number = str(variant.number)
    draw.text((left, top), number, font=font(42, bold=True), fill=INK)
    beside = left + draw.textlength(number, font=font(42, bold=True)) + 14
    draw.text((beside, top + 2), variant.palette, font=font(21, bold=True), fill=INK)
    draw.text((beside, top + 26), f"{variant.how}, {variant.size}", font=font(20), fill=INK)
    pixels = max(2, round(variant.plate.palette.pitch_mm * per_mm))
    picture = fitted(near_picture(variant.plate, pixels), pixel_size(variant, per_mm))
    sheet.paste(picture, (left, top + _HEAD))
    at = top + _HEAD + high + 12
    for line, figure in enumerate(variant.figures):
        wins = variant.number in best[figure.key]
        y = at + line * _LINE
        draw.text((left, y), figure.label, font=font(19), fill=QUIET)
        text = f"{figure.text}  best" if wins else figure.text
        draw.text((left + 165, y), text, font=font(19, bold=wins), fill=INK)
