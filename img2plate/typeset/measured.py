"""The picture of what was looked at when a card was measured."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from img2plate.colour.spaces import linear2bytes, srgb2hex
from img2plate.measure.card import CELLS
from img2plate.measure.find import PX_PER_MM
from img2plate.measure.measured import CardPhoto
from img2plate.typeset.look import ACCENT, INK, PAPER, font

_INSET = 2.0


def fitting(words: str, room: float) -> tuple[str, int]:
    """A note, perhaps on two lines, and the largest size at which it stays within `room` pixels."""
    parts = words.split()
    ways = [words] + [
        " ".join(parts[:at]) + "\n" + " ".join(parts[at:]) for at in range(1, len(parts))
    ]
    for size in range(16, 6, -1):
        for way in ways if size <= 12 else ways[:1]:
            if max(font(size, bold=True).getlength(line) for line in way.split("\n")) <= room:
                return way, size
    return ways[-1], 6


def write_measured(path: Path, photo: CardPhoto) -> None:
    """Write the straightened card: pixels that count as they are, the others pale, with the colour
    that was found, or the trouble, below each cell."""
    from PIL import Image, ImageDraw

    pixels = photo.card.srgb.copy()
    for cell, box in zip(photo.cells, CELLS, strict=True):
        if cell.used is not None:
            part = photo.card.part(box, -_INSET)
            pixels[part][~cell.used] = pixels[part][~cell.used] // 3 + 170
    image = Image.fromarray(pixels)
    draw = ImageDraw.Draw(image)
    for cell, box in zip(photo.cells, CELLS, strict=True):
        left, top = box.left * PX_PER_MM, (box.top + box.side + 0.4) * PX_PER_MM
        right, bottom = left + box.side * PX_PER_MM, top + 3.4 * PX_PER_MM
        found = PAPER
        if cell.linear is not None:
            red, green, blue = linear2bytes(cell.linear.astype(np.float32)).tolist()
            found = srgb2hex((red, green, blue))
        outline = INK if cell.linear is not None else ACCENT
        draw.rectangle((left + 22, top, right, bottom), fill=found, outline=outline)
        if cell.trouble:
            words, size = fitting(cell.trouble.partition(",")[0], right - left - 30)
            draw.multiline_text(
                (left + 26, top), words, font=font(size, bold=True), fill=ACCENT, spacing=1
            )
    image.save(path, format="PNG", compress_level=3)
