"""A picture to check a proposed part by eye: the screen, dimmed but for the part and its grid."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from img2plate.base.arrays import Pixels
from img2plate.image.background import on_ground
from img2plate.image.screen.propose import Piece
from img2plate.image.sizing import CropBox

LONG_SIDE = 1000
"""Pixels of the picture at most."""
CORNER = 240
"""Pixels of the square in which a corner of the part is shown larger, with its grid."""
CORNER_CELLS = 12
"""Cells across in it."""
_LINE = (181, 69, 46)
_OTHER = (60, 120, 200)
Image = NDArray[np.uint8]


def draw_parts(pixels: Pixels, pieces: Sequence[Piece]) -> Pixels:
    """(h, w, 4) uint8: `pixels` small, the first piece framed, others thin and numbered from 2.

    Below it the upper left corner of the piece, enlarged, with the lines of its cells.
    """
    import cv2

    times = max(1.0, max(pixels.shape[:2]) / LONG_SIDE)
    size = max(1, round(pixels.shape[1] / times)), max(1, round(pixels.shape[0] / times))
    colours = np.ascontiguousarray(on_ground(pixels))
    shown = np.asarray(cv2.resize(colours, size, interpolation=cv2.INTER_AREA))
    shown = _dimmed(shown, _small(pieces[0].crop, times))
    for number, piece in enumerate(pieces, start=1):
        left, top, right, bottom = _small(piece.crop, times)
        colour, wide = (_LINE, 3) if number == 1 else (_OTHER, 1)
        cv2.rectangle(shown, (left - wide, top - wide), (right + wide, bottom + wide), colour, wide)
        if len(pieces) > 1:
            _number(shown, str(number), (left, top), colour)
    below = _corners(colours, pieces[0])
    height, width = shown.shape[0] + 8 + below.shape[0], max(shown.shape[1], below.shape[1])
    sheet = np.full((height, width, 4), 255, np.uint8)
    sheet[: shown.shape[0], : shown.shape[1], :3] = shown
    sheet[shown.shape[0] + 8 :, : below.shape[1], :3] = below
    return sheet


def _small(crop: CropBox, times: float) -> tuple[int, int, int, int]:
    """Left, top, right, bottom on the picture made smaller."""
    ends = crop.x, crop.y, crop.x + crop.width - 1, crop.y + crop.height - 1
    left, top, right, bottom = (int(at / times) for at in ends)
    return left, top, right, bottom


def _dimmed(shown: Image, box: tuple[int, int, int, int]) -> Image:
    """Everything but the box towards a light grey."""
    left, top, right, bottom = box
    dim = (shown * 0.35 + 225 * 0.65).astype(np.uint8)
    dim[top : bottom + 1, left : right + 1] = shown[top : bottom + 1, left : right + 1]
    return dim


def _number(shown: Image, text: str, at: tuple[int, int], colour: tuple[int, int, int]) -> None:
    """A number on a plate of its own, inside the upper left corner."""
    import cv2

    left, top = at
    cv2.rectangle(shown, (left, top), (left + 18, top + 20), colour, -1)
    font = cv2.FONT_HERSHEY_SIMPLEX
    cv2.putText(shown, text, (left + 4, top + 16), font, 0.5, (255, 255, 255), 1, cv2.LINE_AA)


def _corners(colours: Image, piece: Piece) -> Image:
    """The four corners of a piece, with a little of what is round it, beside each other."""
    crop, shown = piece.crop, []
    for y in (crop.y, crop.y + crop.height):
        for x in (crop.x, crop.x + crop.width):
            shown += [_corner(colours, piece, x, y), np.full((CORNER, 8, 3), 255, np.uint8)]
    return np.concatenate(shown[:-1], axis=1)


def _corner(colours: Image, piece: Piece, x: int, y: int) -> Image:
    """What is round a corner at x, y, enlarged, with the lines of cells inside the piece."""
    half = piece.pitch * CORNER_CELLS // 2
    places = (np.arange(CORNER) * 2 * half // CORNER + at - half for at in (y, x))
    rows, columns = places
    inside = ((rows >= 0) & (rows < len(colours)), (columns >= 0) & (columns < colours.shape[1]))
    found = colours[
        np.clip(rows, 0, len(colours) - 1)[:, None], np.clip(columns, 0, colours.shape[1] - 1)
    ]
    found[~(inside[0][:, None] & inside[1])] = 255
    crop = piece.crop
    in_y = (rows >= crop.y) & (rows <= crop.y + crop.height)
    in_x = (columns >= crop.x) & (columns <= crop.x + crop.width)
    on_y = _crossed(rows - crop.y, piece.pitch) & in_y
    on_x = _crossed(columns - crop.x, piece.pitch) & in_x
    lines = (on_y[:, None] & in_x) | (in_y[:, None] & on_x)
    found[lines] = (found[lines] * 0.3 + np.array(_LINE) * 0.7).astype(np.uint8)
    return np.asarray(found)


def _crossed(places: NDArray[np.int64], pitch: int) -> NDArray[np.bool_]:
    """Where a row of places steps into the next cell."""
    cell = places // pitch
    return np.append(False, cell[1:] != cell[:-1])
