"""Draw docs/pictures/near-far.png and looks.png: photos by the looks of the search, near and small.

    python docs/make_near_far.py

Each row is a photo: the picture, nearest colours, calm, balanced, true at 58 beads, balanced at
116; below, small, as they look from across the room. harbour-48. Photos as in bench/photo_set.py.
looks.png, for the README, is one of them by the three looks alone, in sea-96.
"""

from __future__ import annotations

import sys
from functools import cache
from pathlib import Path

import numpy as np
from PIL import Image, ImageDraw

from img2plate.colour.look_error import View
from img2plate.colour.palette import Palette
from img2plate.colour.palette_file import find_palette
from img2plate.colour.spaces import linear2bytes
from img2plate.plate.shade.shading import ShadingOptions, shade
from img2plate.plate.shade.viewing import Viewing
from img2plate.typeset import look

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE.parent / "bench"))
from photo_set import NEAR_FAR, NEAR_FAR_UNSEEN, Photo, photo  # noqa: E402

PHOTOS = NEAR_FAR + NEAR_FAR_UNSEEN
COLUMNS = (
    ("nearest", 58, ShadingOptions("none")),
    ("calm", 58, ShadingOptions("search", look="calm")),
    ("balanced", 58, ShadingOptions("search")),
    ("true", 58, ShadingOptions("search", look="true")),
    ("balanced, 116", 116, ShadingOptions("search")),
)
NEAR, SMALL, GAP = 174, 58, 4
BEADS = find_palette("harbour-48")


def plate(
    picture: Photo, side: int, options: ShadingOptions, beads: Palette = BEADS
) -> Image.Image:
    """One pixel a bead."""
    fine = cache(lambda per_cell: picture.on(side, per_cell))
    cells = shade(picture.on(side), beads, options, Viewing(View(2.0, 5.0), fine)).cells
    return Image.fromarray(beads.srgb[cells].astype(np.uint8))


def small(image: Image.Image) -> Image.Image:
    """As from across the room: averaged in linear light."""
    from img2plate.colour.spaces import bytes2linear

    linear = bytes2linear(np.array(image.resize((SMALL * 6, SMALL * 6), Image.Resampling.NEAREST)))
    side = SMALL // 2
    means = linear.reshape(side, 12, side, 12, 3).mean(axis=(1, 3))
    return Image.fromarray(linear2bytes(means)).resize((SMALL, SMALL), Image.Resampling.BICUBIC)


def draw_three() -> None:
    """One photo by the three looks, near and small beside each other."""
    near, gap, head = 232, 12, 24
    picture, beads = photo("harbour"), find_palette("sea-96")
    page = Image.new("RGB", (3 * near + 2 * gap, head + near + gap + SMALL), look.PAPER)
    draw = ImageDraw.Draw(page)
    for column, name in enumerate(("calm", "balanced", "true")):
        image = plate(picture, 58, ShadingOptions("search", look=name), beads)
        left = column * (near + gap)
        draw.text((left, 0), name, font=look.font(17, bold=True), fill=look.INK)
        page.paste(image.resize((near, near), Image.Resampling.NEAREST), (left, head))
        page.paste(small(image), (left, head + near + gap))
    save(page, "looks.png")


def main() -> None:
    """Draw both."""
    draw_three()
    draw_all()


def draw_all() -> None:
    """Draw the page of all photos."""
    high = NEAR + SMALL + 2 * GAP
    size = ((len(COLUMNS) + 1) * (NEAR + GAP), 16 + len(PHOTOS) * high)
    page = Image.new("RGB", size, "#2a2a2a")
    draw = ImageDraw.Draw(page)
    for column, name in enumerate(("picture", *(name for name, _, _ in COLUMNS))):
        draw.text((column * (NEAR + GAP) + 4, 2), name, fill="white")
    for row, name in enumerate(PHOTOS):
        picture, top = photo(name), 16 + row * high
        first = Image.fromarray(linear2bytes(picture.on(NEAR).rgb))
        for column, image in enumerate((first, *(plate(picture, s, o) for _, s, o in COLUMNS))):
            left = column * (NEAR + GAP)
            near = image.resize((NEAR, NEAR), Image.Resampling.NEAREST)
            page.paste(near, (left, top))
            page.paste(small(image), (left, top + NEAR + GAP))
    save(page, "near-far.png")


def save(page: Image.Image, name: str) -> None:
    """Write a picture of the documents, and say how large it is."""
    out = HERE / "pictures" / name
    page.quantize(256, dither=Image.Dither.NONE).save(out, optimize=True)
    print(f"{out}: {out.stat().st_size // 1024} KB")


if __name__ == "__main__":
    main()
