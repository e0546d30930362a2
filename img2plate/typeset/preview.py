"""Pictures of a plate.

`preview.png` shows the loose beads on their board beside the pressed plate, with labels;
`picture.png` is the pressed plate alone, to be shared.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from img2plate.plate.plate import Plate
from img2plate.typeset.beads import loose, pressed, stamp, stamp_pressed
from img2plate.typeset.ground import ground_for
from img2plate.typeset.look import GROUND, INK, QUIET, font

if TYPE_CHECKING:
    from PIL import Image

LONG_SIDE = 1100
"""Pixels of one picture's long side, about; large plates get at least 2 pixels a bead."""
PICTURE_SIDE = 1600
"""The same for `picture.png`."""
_MARGIN = 28
_LABEL = 40
_PANEL = 14
"""Round each picture of the preview, in the plate's ground."""


def write_preview(path: Path, plate: Plate, *, thickness_mm: float = 4.0) -> None:
    """Write both pictures side by side (or one below the other for a wide plate) as one PNG."""
    draw_preview(plate, thickness_mm=thickness_mm).save(path, format="PNG")


def write_picture(path: Path, plate: Plate, *, thickness_mm: float = 4.0) -> None:
    """Write the pressed plate alone, as its front is seen, on a plain ground."""
    draw_picture(plate, thickness_mm=thickness_mm).save(path, format="PNG")


def draw_picture(
    plate: Plate, *, thickness_mm: float = 4.0, most: int = PICTURE_SIDE
) -> Image.Image:
    """Draw the pressed plate with an even margin and no writing, about `most` pixels long."""
    from PIL import Image

    pixels, ground = max(2, min(40, most // max(plate.size))), ground_for(plate)
    stamps = pressed(plate.palette, pixels, thickness_mm, ground)
    picture = Image.fromarray(stamp_pressed(plate.cells, stamps))
    return framed(picture, ground, max(24 * most // PICTURE_SIDE, max(picture.size) // 24))


def framed(picture: Image.Image, ground: str, margin: int) -> Image.Image:
    """A picture with a margin of its ground."""
    from PIL import Image

    size = picture.width + 2 * margin, picture.height + 2 * margin
    sheet = Image.new("RGB", size, ground)
    sheet.paste(picture, (margin, margin))
    return sheet


def draw_preview(plate: Plate, *, thickness_mm: float = 4.0) -> Image.Image:
    """Draw both pictures with their labels."""
    from PIL import Image

    pixels, ground = max(2, min(24, LONG_SIDE // max(plate.size))), ground_for(plate)
    (width, height), (mm_wide, mm_high) = plate.size, plate.size_mm
    panels = [
        (
            stamp(plate.cells, loose(plate.palette, pixels, ground)),
            f"Loose: {width} x {height} beads",
        ),
        (
            stamp_pressed(plate.cells, pressed(plate.palette, pixels, thickness_mm, ground)),
            f"Pressed to {thickness_mm:g} mm: {mm_wide / 10:g} x {mm_high / 10:g} cm",
        ),
    ]
    pictures = [framed(Image.fromarray(each), ground, _PANEL) for each, _ in panels]
    wide, high = max(pictures[0].width, 420), pictures[0].height
    beside = width * pixels <= high * 1.2
    step = (wide + _MARGIN, 0) if beside else (0, high + _LABEL + _MARGIN)
    total = (
        wide + 2 * _MARGIN + step[0],
        high + _LABEL + 2 * _MARGIN + step[1],
    )
    sheet = Image.new("RGB", total, GROUND)
    for number, (picture, (_, label)) in enumerate(zip(pictures, panels, strict=True)):
        corner = (_MARGIN + number * step[0], _MARGIN + number * step[1])
        _place(sheet, picture, label, corner)
    return sheet


def _place(sheet: Image.Image, picture: Image.Image, label: str, corner: tuple[int, int]) -> None:
    """Put one picture with its label at a place."""
    from PIL import ImageDraw

    title, _, rest = label.partition(":")
    draw = ImageDraw.Draw(sheet)
    bold = font(22, bold=True)
    plain = font(22)
    draw.text(corner, title, font=bold, fill=INK)
    draw.text((corner[0] + draw.textlength(title, font=bold) + 10, corner[1]), rest.strip(),
              font=plain, fill=QUIET)  # fmt: skip
    sheet.paste(picture, (corner[0], corner[1] + _LABEL))
