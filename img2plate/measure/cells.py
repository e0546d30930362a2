"""The colour of the beads in each cell of a straightened card.

`paper` says what light falls on a cell, `beads` which pixels of it count.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from img2plate.base.arrays import Floats, Mask
from img2plate.colour.difference import delta_E_CIE2000
from img2plate.colour.spaces import bytes2linear, linear2lab
from img2plate.measure.beads import find_beads
from img2plate.measure.card import CELLS, LINE, STEP_GREYS, STEPS, Box
from img2plate.measure.dark import restore_chroma
from img2plate.measure.find import PX_PER_MM, RectifiedCard
from img2plate.measure.paper import INSET, OUTSIDE, paper_light

_LEAST_CONTRAST = 0.75
"""How dark a cell's line must be against paper, on all four sides; blur spreads it. Sharp rendered
photos have 0.90 and more."""
_EMPTY_SHARE = 0.9


@dataclass(frozen=True, eq=False)
class Cell:
    """What was seen in one cell."""

    number: int
    """From 1, as printed."""
    linear: NDArray[np.float64] | None
    """(3,) linear light relative to the paper; None when it could not be measured."""
    spread: float = 0.0
    """Mean CIEDE2000 of the beads' pixels to their colour."""
    trouble: str = ""
    """Why it could not be measured: empty, blurred, clipped, outside the photo, unevenly lit."""
    used: Mask | None = None
    """(h, w) which pixels of the cell counted as beads."""


def read_cells(card: RectifiedCard) -> tuple[Cell, ...]:
    """Measure each cell of a card."""
    return tuple(_read_cell(card, number, box) for number, box in enumerate(CELLS, 1))


def grey_error(card: RectifiedCard) -> float:
    """Mean CIEDE2000 of the printed grey steps to what they should be: printer and camera."""
    off = []
    for box, grey in zip(STEPS, STEP_GREYS, strict=True):
        white = paper_light(card, box) if card.seen[card.part(box, OUTSIDE)].all() else None
        if white is None or isinstance(white, str):
            continue
        inner = card.srgb[card.part(box, -2.0)]
        got = np.median(bytes2linear(inner).reshape(-1, 3), axis=0) / white.mean(axis=(0, 1))
        want = bytes2linear(np.full(3, grey, np.uint8)).astype(np.float64)
        off.append(float(delta_E_CIE2000(linear2lab(got.astype(np.float64)), linear2lab(want))))
    return float(np.mean(off)) if off else 0.0


def _read_cell(card: RectifiedCard, number: int, box: Box) -> Cell:
    """Measure one cell, or say why not."""
    import cv2

    if not card.seen[card.part(box, OUTSIDE)].all():
        return Cell(number, None, trouble="outside the photo")
    white = paper_light(card, box)
    if isinstance(white, str):
        return Cell(number, None, trouble=white)
    if _line_contrast(card, box) < _LEAST_CONTRAST:
        return Cell(number, None, trouble="blurred, or something lies on the line")
    inner = card.srgb[card.part(box, -INSET)]
    light: Floats = np.asarray(bytes2linear(inner) / white, dtype=np.float32)
    lab = linear2lab(light)
    paper = np.array([100.0, 0.0, 0.0])
    if np.mean(np.linalg.norm(lab - paper, axis=2) < 6) > _EMPTY_SHARE:
        return Cell(number, None, trouble="empty")
    beads = find_beads(linear2lab(cv2.GaussianBlur(light, (0, 0), 0.6)))
    used = beads.used
    colour = np.median(light[used], axis=0).astype(np.float64)
    spread = float(np.mean(delta_E_CIE2000(lab[used], linear2lab(colour))))
    if beads.away_mm is not None:
        colour = restore_chroma(colour, light, beads.away_mm)
    return Cell(number, np.clip(colour, 0, 1), spread, used=used)


def _line_contrast(card: RectifiedCard, box: Box) -> float:
    """How dark the line round a cell is against the paper, 0..1, where it is least: a fifth of the
    way up from the least of a side, so that a bead may touch the line."""
    grey = bytes2linear(card.srgb[card.part(box, OUTSIDE)]).mean(axis=2)
    reach = round((OUTSIDE + LINE) * PX_PER_MM)
    middle = slice(2 * reach, -2 * reach)
    bands = [
        grey[:reach, middle],
        grey[-reach:, middle],
        grey[middle, :reach].T,
        grey[middle, -reach:].T,
    ]
    contrast = (1 - band.min(axis=0) / band.max(axis=0) for band in bands)
    return min(float(np.quantile(side, 0.2)) for side in contrast)
