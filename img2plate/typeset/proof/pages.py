"""The proof sheet on paper: A4 across, the source and its variants, six a page."""

from __future__ import annotations

from pathlib import Path

from img2plate.base.lengths import mm2points
from img2plate.typeset.look import ACCENT, INK, QUIET
from img2plate.typeset.proof.pictures import fitted, near_picture, pixel_size, scale
from img2plate.typeset.proof.proof import Proof, Variant
from img2plate.typeset.sheets.sheet import Sheet

_PAGE = (297.0, 210.0)
_MARGIN = 12.0
_COLUMNS, _ROWS = 4, 2
_GAP = 6.0
_HEAD = 11.0
_PIXELS = 600
"""Long side of the largest picture: 300 dots an inch on paper."""


def write_pages(path: Path, proof: Proof) -> None:
    """Write the sheet as PDF."""
    sheet = Sheet(path, f"{proof.name}: proof sheet")
    cells = [None, *proof.variants]
    each = _COLUMNS * _ROWS
    for start in range(0, len(cells), each):
        sheet.start(*_PAGE)
        for place, variant in enumerate(cells[start : start + each]):
            _draw_cell(sheet, proof, variant, place)
        _draw_foot(sheet, proof)
        sheet.end()
    sheet.save()


def _draw_cell(sheet: Sheet, proof: Proof, variant: Variant | None, place: int) -> None:
    """The source (None) or a variant in its place on the page."""
    wide = (_PAGE[0] - 2 * _MARGIN - (_COLUMNS - 1) * _GAP) / _COLUMNS
    tall = (_PAGE[1] - 2 * _MARGIN - _GAP) / _ROWS
    left = _MARGIN + place % _COLUMNS * (wide + _GAP)
    top = _MARGIN + place // _COLUMNS * (tall + _GAP)
    lines = len(proof.variants[0].figures)
    shrink = _shrink(proof, wide, tall - _HEAD - 4 - lines * 3.9)
    shown = variant or proof.largest
    size = shown.plate.size_mm[0] * shrink, shown.plate.size_mm[1] * shrink
    per_mm = scale(proof, _PIXELS)
    pixels = pixel_size(shown, per_mm)
    if variant is None:
        picture = fitted(proof.largest.source[0], pixels)
        sheet.text(left, top + 5, proof.name, size=14, bold=True, colour=INK)
        sheet.text(left, top + 9.5, "the picture", size=10, colour=QUIET)
    else:
        bead = max(2, round(shown.plate.palette.pitch_mm * per_mm))
        picture = fitted(near_picture(variant.plate, bead), pixels)
        _draw_words(sheet, variant, left, top)
    _draw_picture(sheet, picture, left, top + _HEAD, size)
    if variant is not None:
        under = top + _HEAD + max(v.plate.size_mm[1] for v in proof.variants) * shrink + 4
        _draw_figures(sheet, proof, variant, left, under)


def _shrink(proof: Proof, wide: float, high: float) -> float:
    """Paper mm for a mm of plate: one scale for all."""
    sizes = [variant.plate.size_mm for variant in proof.variants]
    return min(wide / max(w for w, _ in sizes), high / max(h for _, h in sizes))


def _draw_words(sheet: Sheet, variant: Variant, left: float, top: float) -> None:
    """Number, palette and shading."""
    sheet.text(left, top + 7.5, str(variant.number), size=20, bold=True, colour=INK)
    beside = left + 5 + 4 * len(str(variant.number))
    sheet.text(beside, top + 4, variant.palette, size=10, bold=True, colour=INK)
    sheet.text(beside, top + 8.5, f"{variant.how}, {variant.size}", size=10, colour=INK)


def _draw_figures(sheet: Sheet, proof: Proof, variant: Variant, left: float, top: float) -> None:
    """One line for each figure; the best in bold."""
    best = proof.best()
    for line, figure in enumerate(variant.figures):
        wins = variant.number in best[figure.key]
        y = top + line * 3.9
        sheet.text(left, y, figure.label, size=8, colour=QUIET)
        text = f"{figure.text}  best" if wins else figure.text
        sheet.text(left + 23, y, text, size=8, bold=wins, colour=INK)


def _draw_picture(
    sheet: Sheet, picture: object, left: float, top: float, size: tuple[float, float]
) -> None:
    """A picture at a place, in mm."""
    from reportlab.lib.utils import ImageReader

    x, y = sheet.at(left, top + size[1])
    sheet.canvas.drawImage(ImageReader(picture), x, y, mm2points(size[0]), mm2points(size[1]))


def _draw_foot(sheet: Sheet, proof: Proof) -> None:
    """What could not be made."""
    for line, (name, why) in enumerate(proof.failed[:3]):
        text = f"Could not be made: {name}: {why}"[:150]
        sheet.text(_MARGIN, _PAGE[1] - 4 - line * 3, text, size=8, colour=ACCENT)
