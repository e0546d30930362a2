"""Pictures of a plate.

`preview.png` shows the loose beads on their board beside the pressed plate, with labels;
`picture.png` is the pressed plate alone, to be shared.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from img2plate.plate.plate import Plate
from img2plate.typeset.beads import loose, pressed, stamp
from img2plate.typeset.look import GROUND, INK, QUIET, font

if TYPE_CHECKING:
    from PIL import Image

LONG_SIDE = 1100
"""Pixels of one picture's long side, about; large plates get at least 2 pixels a bead."""
PICTURE_SIDE = 1600
"""The same for `picture.png`."""
_MARGIN = 28
_LABEL = 40


def write_preview(path: Path, plate: Plate, *, thickness_mm: float = 4.0) -> None:
    """Write both pictures side by side (or one below the other for a wide plate) as one PNG."""
    draw_preview(plate, thickness_mm=thickness_mm).save(path, format="PNG")


def write_picture(path: Path, plate: Plate, *, thickness_mm: float = 4.0) -> None:
    """Write the pressed plate alone, as its front is seen, on a plain ground."""
    draw_picture(plate, thickness_mm=thickness_mm).save(path, format="PNG")


def draw_picture(plate: Plate, *, thickness_mm: float = 4.0) -> Image.Image:
    """Draw the pressed plate with an even margin and no writing."""
    from PIL import Image

    pixels = max(2, min(40, PICTURE_SIDE // max(plate.size)))
    picture = Image.fromarray(stamp(plate.cells, pressed(plate.palette, pixels, thickness_mm)))
    margin = max(24, max(picture.size) // 24)
    size = picture.width + 2 * margin, picture.height + 2 * margin
    sheet = Image.new("RGB", size, GROUND)
    sheet.paste(picture, (margin, margin))
    return sheet


def draw_preview(plate: Plate, *, thickness_mm: float = 4.0) -> Image.Image:
    """Draw both pictures with their labels."""
    from PIL import Image

    pixels = max(2, min(24, LONG_SIDE // max(plate.size)))
    (width, height), (mm_wide, mm_high) = plate.size, plate.size_mm
    panels = [
        (
            stamp(plate.cells, loose(plate.palette, pixels)),
            f"Loose: {width} x {height} beads",
        ),
        (
            stamp(plate.cells, pressed(plate.palette, pixels, thickness_mm)),
            f"Pressed to {thickness_mm:g} mm: {mm_wide / 10:g} x {mm_high / 10:g} cm",
        ),
    ]
    wide, high = max(panels[0][0].shape[1], 420), panels[0][0].shape[0]
    beside = width * pixels <= high * 1.2
    step = (wide + _MARGIN, 0) if beside else (0, high + _LABEL + _MARGIN)
    total = (
        wide + 2 * _MARGIN + step[0],
        high + _LABEL + 2 * _MARGIN + step[1],
    )
    sheet = Image.new("RGB", total, GROUND)
    for number, (picture, label) in enumerate(panels):
        corner = (_MARGIN + number * step[0], _MARGIN + number * step[1])
        _place(sheet, picture, label, corner)
    return sheet


def _place(
    sheet: Image.Image, picture: NDArray[np.uint8], label: str, corner: tuple[int, int]
) -> None:
    """Put one picture with its label at a place."""
    from PIL import Image, ImageDraw

    title, _, rest = label.partition(":")
    draw = ImageDraw.Draw(sheet)
    bold = font(22, bold=True)
    plain = font(22)
    draw.text(corner, title, font=bold, fill=INK)
    draw.text((corner[0] + draw.textlength(title, font=bold) + 10, corner[1]), rest.strip(),
              font=plain, fill=QUIET)  # fmt: skip
    sheet.paste(Image.fromarray(picture), (corner[0], corner[1] + _LABEL))
