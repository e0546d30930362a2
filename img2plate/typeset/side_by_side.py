"""A plate before and after its colours were changed, side by side, and what each colour became."""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from img2plate.plate.plate import Plate
from img2plate.plate.rebuild import Change
from img2plate.typeset.beads import pressed, stamp
from img2plate.typeset.look import ACCENT, GROUND, INK, PAPER, QUIET, font

if TYPE_CHECKING:
    from PIL import Image, ImageDraw

_MARGIN, _GAP, _HEAD, _UNDER = 36, 32, 64, 64
_SIDE = 520
"""Pixels of a picture's long side, about."""
_CLOSED_MM = 2.9
"""A thickness at which holes are closed: only colours are compared."""
_ROW, _DOT, _BETWEEN, _NUMBERS = 40, 28, 44, 150
CLEAR = 15.0
"""Differences from here on are told in the accent; by eye."""


def write_side_by_side(path: Path, old: Plate, new: Plate, changes: Sequence[Change]) -> None:
    """Write both plates and the changes as one PNG."""
    draw_side_by_side(old, new, changes).save(path, format="PNG", compress_level=3)


def draw_side_by_side(old: Plate, new: Plate, changes: Sequence[Change]) -> Image.Image:
    """Draw two plates of one size, and below them the changes of colour, worst first."""
    from PIL import Image, ImageDraw

    pixels = max(2, _SIDE // max(old.size))
    shrink = ceil(pixels * max(old.size) / (2 * _SIDE))
    picture = [ceil(side * pixels / shrink) for side in old.size]
    seen = [change for change in changes if change.old.srgb != change.new.srgb]
    words = max((font(18, bold=True).getlength(_words(change)) for change in seen), default=200)
    column_wide = ceil(2 * _DOT + 14 + words + _NUMBERS) + _BETWEEN
    wide = max(2 * picture[0] + _GAP, 2 * column_wide, 640)
    columns = max(1, (wide + _BETWEEN) // column_wide)
    rows = ceil(len(seen) / columns)
    table = _MARGIN + _HEAD + picture[1] + _UNDER
    size = wide + 2 * _MARGIN, table + rows * _ROW + (_MARGIN + 24 if rows else 0) + 30
    sheet = Image.new("RGB", size, GROUND)
    draw = ImageDraw.Draw(sheet)
    draw.text((_MARGIN, _MARGIN - 6), new.name, font=font(32, bold=True), fill=INK)
    for left, plate, when in (
        (_MARGIN, old, "before"),
        (_MARGIN + wide // 2 + _GAP // 2, new, "after"),
    ):
        stamps = pressed(plate.palette, pixels, _CLOSED_MM)
        shown = Image.fromarray(stamp(plate.cells, stamps))
        sheet.paste(shown.reduce(shrink) if shrink > 1 else shown, (left, _MARGIN + _HEAD))
        top = _MARGIN + _HEAD + picture[1] + 10
        number = int(np.count_nonzero(plate.counts()))
        draw.text((left, top), when, font=font(20, bold=True), fill=INK)
        said = f"{plate.palette.name}, {number} colour{'' if number == 1 else 's'}"
        draw.text((left + 78, top), said, font=font(20), fill=QUIET)
    if seen:
        draw.rectangle((0, table, size[0], size[1]), fill=PAPER)
    for number, change in enumerate(seen):
        column, row = divmod(number, rows)
        left, top = _MARGIN + column * column_wide, table + _MARGIN // 2 + 24 + row * _ROW
        if row == 0:
            right = left + column_wide - _BETWEEN
            for at, word in ((right - 84, "beads"), (right, "difference")):
                draw.text((at, top - 8), word, font=font(14), fill=QUIET, anchor="rs")
        _row(draw, (left, top), left + column_wide - _BETWEEN, change)
    same = len(changes) - len(seen)
    said = f"{same} {'colour stays' if same == 1 else 'colours stay'} as before" if same else ""
    draw.text((_MARGIN, size[1] - 32), said, font=font(16), fill=QUIET)
    return sheet


def _words(change: Change) -> str:
    """What became what."""
    return f"{change.old.code}  to  {change.new.code}"


def _row(draw: ImageDraw.ImageDraw, corner: tuple[int, int], right: int, change: Change) -> None:
    """One colour: what it was, what it became, beads and difference."""
    left, top = corner
    for at, bead in ((left, change.old), (left + _DOT + 3, change.new)):
        box = (at, top, at + _DOT, top + _DOT)
        draw.rounded_rectangle(box, 5, fill=bead.hex, outline=QUIET)
    draw.text((left + 2 * _DOT + 14, top + 3), _words(change), font=font(18, bold=True), fill=INK)
    count = f"{change.beads:,}"
    draw.text((right - 84, top + 3), count, font=font(18), fill=QUIET, anchor="ra")
    colour = ACCENT if change.difference >= CLEAR else INK
    off = f"{change.difference:.1f}"
    draw.text((right, top + 3), off, font=font(18), fill=colour, anchor="ra")
