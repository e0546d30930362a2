"""Whether a claimed grid is believed, by the evidence: a list of reasons, any of which is enough.

The constants were chosen on the pictures of bench/kinds_set.py and bench/sprite_set.py that are
not kept unseen. Of grids that are not there most are claimed on small icons, and, with soft cells
of two or three pixels, on drawings that were blurred.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum
from math import log

from img2plate.image.native.evidence import Evidence
from img2plate.image.native.loops import AREA, HARDEST, SHRUNK, SHRUNK_SHARP


class Verdict(IntEnum):
    """From worst to best."""

    REFUSED = 0
    DOUBTFUL = 1
    """Not believed, but worth naming."""
    BELIEVED = 2
    SURE = 3


EXACT = 0.995
"""Share of pixels that are as their cell, from which on nothing was lost."""
SHRUNK_CONTRAST, SHRUNK_UNEVEN = 1.9, 0.02


@dataclass(frozen=True)
class Least:
    """What soft cells must show at least, and the most that they may leave."""

    contrast: float
    soft_lines: float
    left: float

    def met(self, seen: Evidence) -> bool:
        """Whether they do."""
        enough = seen.contrast >= self.contrast and seen.soft_lines >= self.soft_lines
        return enough and seen.left <= self.left


SOFT_SURE, SOFT_WHOLE, SOFT_BELIEVED = (
    Least(1.45, 1.0, 6.5),
    Least(0.95, 0.8, 4),
    Least(1.2, 0.8, 6.5),
)
"""The second for pitches that are whole and the same on both axes."""
SOFT_FINE, SOFT_DOUBTFUL = Least(1.5, 1.2, 4), Least(0.6, 0.3, 6.5)
"""The first for pitches below FINE."""
FINE, FINEST = 3.2, 1.95
"""Pixels of soft cells below which any blurred picture has them, nearly; and the fewest of all."""
EVEN, WHOLE = 0.002, 0.01
"""Log ratio of both axes' pitches up to which they are one, and pixels from a whole pitch: of the
grids that are not there few are so regular."""
NOISE_HANG, NOISE_CONTRAST, NOISE_LEFT = 0.12, 0.6, 16.0
WHITE_HANG, WHITE_CONTRAST = 0.04, 0.2
"""Of noise without any form on faint cells of a whole pitch; of the photos and drawings seen none
leaves such."""
SMALL_CONTRAST, SMALL_LEFT = 1.5, 4.0
"""Of pictures that could as well be sprites at their own size."""
LOSSY = -11.8
"""Where the score of compressed hard cells begins; from 0 on they are believed."""
LOSSY_SURE, LOSSY_DOUBTFUL = 1.5, -2.5
LOSSY_LEFT, LOSSY_LEFT_SURE = 13.0, 10.0
"""More than compression leaves of most pictures; and of loud colours side by side, whose halved
chroma runs over, where all else is as it should be."""
LOUD_LEFT, LOUD_UNEVEN, LOUD_LINES = 24.0, 0.02, 0.75


def verdict(seen: Evidence, kind: int, *, small: bool) -> Verdict:
    """Judge a grid claimed with a kernel; `small`: the picture may be a sprite as it is.

    A small picture is believed to be enlarged only when that is beyond doubt.
    """
    if seen.same >= EXACT:
        return Verdict.SURE
    shrunk = kind in (AREA, SHRUNK, SHRUNK_SHARP) and seen.uneven <= SHRUNK_UNEVEN
    if shrunk and seen.contrast >= SHRUNK_CONTRAST:
        return Verdict.SURE
    found = _soft(seen) if kind > HARDEST else _hard(seen)
    if small and found >= Verdict.BELIEVED:
        clear = seen.contrast >= SMALL_CONTRAST and seen.left <= SMALL_LEFT
        return Verdict.BELIEVED if clear else Verdict.DOUBTFUL
    return Verdict.REFUSED if small else found


def _is_whole(seen: Evidence) -> bool:
    """Whether the pitch is so many whole pixels on both axes."""
    return seen.apart <= EVEN and abs(seen.pitch - round(seen.pitch)) <= WHOLE


def _soft(seen: Evidence) -> Verdict:
    """Cells with soft edges between them: the whole picture must come from few."""
    even, whole = seen.apart <= EVEN, _is_whole(seen)
    if seen.pitch < FINE:
        if even and seen.pitch >= FINEST and SOFT_FINE.met(seen):
            return Verdict.BELIEVED
    elif SOFT_SURE.met(seen):
        return Verdict.SURE
    elif SOFT_BELIEVED.met(seen) or (whole and SOFT_WHOLE.met(seen)):
        return Verdict.BELIEVED
    return Verdict.DOUBTFUL if SOFT_DOUBTFUL.met(seen) else Verdict.REFUSED


def _hard(seen: Evidence) -> Verdict:
    """Compressed or noisy cells with hard edges."""
    plain = abs(seen.hang) <= NOISE_HANG and seen.left <= NOISE_LEFT  # noise has no form
    score = lossy_score(seen)
    if score > LOSSY_SURE and seen.left <= LOSSY_LEFT_SURE:
        return Verdict.SURE
    if plain and seen.contrast >= NOISE_CONTRAST:
        return Verdict.BELIEVED
    white = plain and abs(seen.hang) <= WHITE_HANG and _is_whole(seen)
    if white and seen.contrast >= WHITE_CONTRAST:
        return Verdict.BELIEVED
    loud = seen.uneven <= LOUD_UNEVEN and min(seen.lines, seen.box_contrast) >= LOUD_LINES
    if score > 0 and seen.left <= (LOUD_LEFT if loud else LOSSY_LEFT):
        return Verdict.BELIEVED
    return Verdict.DOUBTFUL if score > LOSSY_DOUBTFUL else Verdict.REFUSED


def lossy_score(seen: Evidence) -> float:
    """Over 0 when compressed hard cells are there: by their lines, their insides, their size."""
    contrast = max(seen.contrast, seen.box_contrast)
    score = 3.35 * seen.lines - 38 * seen.uneven + 5.9 * log(seen.pitch)
    return LOSSY + score + 1.4 * contrast - 0.1 * seen.left
