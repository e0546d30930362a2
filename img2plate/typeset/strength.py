"""`strength.png`: where a plate may come apart.

Told by shape and number, so that it reads in grey: loose pieces are dark with a number, beads that
parts hang by are ringed, thin lines have a bar along them. All else is the plate, made pale.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from img2plate.plate.plate import Plate
from img2plate.plate.strength.strength import LONGEST_THIN, Place, Strength, look_at
from img2plate.typeset.look import ACCENT, INK, PAPER, QUIET, RULE, font

if TYPE_CHECKING:
    from PIL import Image, ImageDraw

LONG_SIDE = 1100
_MARGIN = 46
_LINE = 26
_NAMED = 8
"""Places of a kind that are named under the picture, and numbered in it."""


def write_strength(path: Path, plate: Plate, strength: Strength | None = None) -> None:
    """Write the picture; `strength` as `look_at` found it, if it is known."""
    draw_strength(plate, strength).save(path, format="PNG")


def draw_strength(plate: Plate, strength: Strength | None = None) -> Image.Image:
    """Draw it."""
    from PIL import Image, ImageDraw

    found = strength or look_at(plate.filled)
    width, height = plate.size
    cell = max(3, min(28, LONG_SIDE // max(width, height)))
    lines = _lines(found)
    size = (
        max(width * cell, 640) + 2 * _MARGIN,
        height * cell + 2 * _MARGIN + len(lines) * _LINE + 10,
    )
    sheet = Image.new("RGB", size, PAPER)
    sheet.paste(Image.fromarray(_cells(plate, found, cell)), (_MARGIN, _MARGIN))
    draw = ImageDraw.Draw(sheet)
    _rulers(draw, width, height, cell)
    _marks(draw, found, cell)
    for number, (line, bold) in enumerate(lines):
        at = (_MARGIN, height * cell + 2 * _MARGIN + number * _LINE - 8)
        draw.text(at, line, font=font(18, bold=bold), fill=INK)
    return sheet


def _cells(plate: Plate, found: Strength, cell: int) -> NDArray[np.uint8]:
    """(h, w, 3) uint8: pale beads, dark ones in loose pieces, bars along thin lines."""
    luma = np.asarray(plate.palette.lab, np.float64)[:, 0] / 100
    grey = np.append(np.round(190 + 45 * luma), 255).astype(np.uint8)[plate.cells]
    tones = np.repeat(grey[..., None], 3, axis=2)
    loose = found.piece_of > 1
    tones[loose] = _rgb(INK)
    picture = np.repeat(np.repeat(tones, cell, axis=0), cell, axis=1)
    if cell >= 6:  # a hairline between beads; on the empty board it would only be noise
        beads = np.repeat(np.repeat(plate.filled, cell, axis=0), cell, axis=1)
        edge = np.zeros(picture.shape[:2], bool)
        edge[::cell] = edge[:, ::cell] = True
        picture[edge & beads] = 255
    middle = np.zeros((cell, cell), bool)
    inner = max(1, round(cell * 0.3))
    middle[inner : cell - inner, inner : cell - inner] = True
    bars = np.kron(found.thin_cells, middle)
    picture[bars > 0] = _rgb(ACCENT)
    return picture


def _rulers(draw: ImageDraw.ImageDraw, width: int, height: int, cell: int) -> None:
    """Numbers of columns and rows, from 1, at every tenth."""
    face = font(15)
    draw.rectangle(
        (_MARGIN - 1, _MARGIN - 1, _MARGIN + width * cell, _MARGIN + height * cell), outline=RULE
    )
    every = 10 if max(width, height) <= 150 else 50
    for along, count in ((0, width), (1, height)):
        for number in [1, *range(every, count + 1, every)]:
            middle = _MARGIN + (number - 0.5) * cell
            at = (middle, _MARGIN - 8) if along == 0 else (_MARGIN - 8, middle)
            anchor = "mb" if along == 0 else "rm"
            draw.text(at, str(number), font=face, fill=QUIET, anchor=anchor)


def _marks(draw: ImageDraw.ImageDraw, found: Strength, cell: int) -> None:
    """Rings at necks, numbers at all places that are named."""
    number = 0
    radius = max(9.0, cell * 0.9)
    for places in (found.loose, found.necks, found.thin):
        for place in places[:_NAMED]:
            number += 1
            x, y = (_MARGIN + (at - 0.5) * cell for at in (place.column, place.row))
            if places is found.necks:
                draw.ellipse((x - radius, y - radius, x + radius, y + radius), outline=ACCENT,
                             width=3)  # fmt: skip
            _number(draw, (x + radius + 7, y - radius - 2), number)
        for place in places[_NAMED:] if places is found.necks else ():
            x, y = (_MARGIN + (at - 0.5) * cell for at in (place.column, place.row))
            draw.ellipse((x - radius, y - radius, x + radius, y + radius), outline=ACCENT, width=2)


def _number(draw: ImageDraw.ImageDraw, at: tuple[float, float], number: int) -> None:
    """A number on a white plate of its own."""
    face = font(17, bold=True)
    box = draw.textbbox(at, str(number), font=face, anchor="mm")
    draw.rounded_rectangle((box[0] - 4, box[1] - 3, box[2] + 4, box[3] + 3), 4, fill=PAPER,
                           outline=ACCENT, width=2)  # fmt: skip
    draw.text(at, str(number), font=face, fill=INK, anchor="mm")


def _lines(found: Strength) -> list[tuple[str, bool]]:
    """What stands under the picture, and whether it is bold."""
    if found.is_sound:
        return [(found.words[0], True)]
    many, lines = 0, []
    for title, places in (
        (f"Dark: {found.pieces} pieces that no side joins; not joined to the largest", found.loose),
        ("Ring: by this bead a part hangs", found.necks),
        (f"Bar: a line one bead wide, longer than {LONGEST_THIN}", found.thin),
    ):
        if places:
            lines.append((title, True))
            lines += [(text, False) for text in _numbered(places, many)]
            many += min(len(places), _NAMED)
    return lines


def _numbered(places: tuple[Place, ...], many: int) -> list[str]:
    """Places with their numbers, two in a line, and how many more there are."""
    named = [f"{many + at}  {place}" for at, place in enumerate(places[:_NAMED], 1)]
    rows = ["      ".join(named[start : start + 2]) for start in range(0, len(named), 2)]
    more = len(places) - _NAMED
    return [*rows, f"and {more} more"] if more > 0 else rows


def _rgb(colour: str) -> tuple[int, ...]:
    return tuple(bytes.fromhex(colour.removeprefix("#")))
