"""Small pictures of a finished plate: for the overview, and for previews of a link."""

from __future__ import annotations

from pathlib import Path

from img2plate.plate.plate import Plate
from img2plate.typeset.ground import ground_for
from img2plate.typeset.preview import draw_picture

CARD = 640
"""Side of a card's picture, px."""
SHARED = (1200, 630)
"""Size that previews of links are made for: common practice, no source."""


def write_card(path: Path, plate: Plate, thickness_mm: float) -> None:
    """Write the overview's picture."""
    _write(path, plate, thickness_mm, (CARD, CARD))


def write_shared(path: Path, plate: Plate, thickness_mm: float) -> None:
    """Write the picture for previews of a link."""
    _write(path, plate, thickness_mm, SHARED)


def _write(path: Path, plate: Plate, thickness_mm: float, size: tuple[int, int]) -> None:
    """Write the plate in the middle of its ground, as JPEG: a fifth of the bytes of a PNG."""
    from PIL import Image

    picture = draw_picture(plate, thickness_mm=thickness_mm, most=max(size))
    picture.thumbnail(size)
    sheet = Image.new("RGB", size, ground_for(plate))
    sheet.paste(picture, ((size[0] - picture.width) // 2, (size[1] - picture.height) // 2))
    sheet.save(path, format="JPEG", quality=88, subsampling=0)
