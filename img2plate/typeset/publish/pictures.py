"""Small pictures of a finished plate: for the overview, and for previews of a link."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from img2plate.plate.plate import Plate
from img2plate.typeset.ground import ground_for
from img2plate.typeset.preview import draw_picture

if TYPE_CHECKING:
    from PIL import Image

CARD = 640
"""Side of a card's picture, px."""
SHARED = (1200, 630)
"""Size that previews of links are made for: common practice, no source."""
SMALL = {"card.jpg": (CARD, CARD), "shared.jpg": SHARED}


def write_small(folder: Path, plate: Plate, thickness_mm: float) -> None:
    """Write the pictures of a plate: `card.jpg` for the overview, `shared.jpg` for links to it."""
    for name, size in SMALL.items():
        picture = draw_picture(plate, thickness_mm=thickness_mm, most=max(size))
        write_in_middle(folder / name, picture, size, ground_for(plate))


def write_in_middle(
    path: Path, picture: Image.Image, size: tuple[int, int], ground: str | tuple[int, int, int]
) -> None:
    """Write a picture in the middle of a ground, as JPEG: a fifth of the bytes of a PNG."""
    from PIL import Image

    picture.thumbnail(size)
    sheet = Image.new("RGB", size, ground)
    sheet.paste(picture, ((size[0] - picture.width) // 2, (size[1] - picture.height) // 2))
    sheet.save(path, format="JPEG", quality=88, subsampling=0)
