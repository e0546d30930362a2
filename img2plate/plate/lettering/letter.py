"""Letters set side by side: true widths, and kerned by their pixels.

Each letter stands as near to the one before as leaves a gap between their beads, in rows beside
each other too; but only so much nearer than its side, so that an L and a T do not run together.
"""

from __future__ import annotations

import unicodedata

import numpy as np

from img2plate.base.arrays import Mask
from img2plate.base.errors import OptionError
from img2plate.plate.lettering.face import Face, Glyph, find_face

MOST_LETTERS = 200
_NARROW = 4
"""Letters come nearer than their sides by at most the height divided by this."""
_FAR = 10_000
_BACK = 4
"""Letters before that a letter keeps its distance from."""


def set_letters(text: str, height: int) -> Mask:
    """(h, w) bool, where beads of a text lie, cut to what there is of it.

    height: of capitals, in beads; a line break (or `|`) begins a line, and lines are centred.
    Raises OptionError for a height or a letter that is not there, and for an empty text.
    """
    text = unicodedata.normalize("NFC", text)
    if len(text) > MOST_LETTERS:
        raise OptionError(f"is over {MOST_LETTERS} letters", field="text", value=len(text))
    face = find_face(height)
    lines = [_line(words, face) for words in text.replace("|", "\n").splitlines()]
    if not any(line.beads.any() for line in lines):
        raise OptionError("has no letter in it", field="text", value=text, remedy="write some")
    return _stacked(lines, face)


def gap_of(height: int) -> int:
    """Empty columns between letters."""
    return max(1, round(height / 7))


def _line(text: str, face: Face) -> Glyph:
    """One line, as one large glyph."""
    space = max(2, round(face.height * 0.45))
    placed: list[tuple[int, Glyph]] = []
    end, pending = 0, 0
    for letter in text:
        if letter.isspace():
            pending += space
            continue
        glyph = face.of(letter)
        at = 0
        if placed:
            # Over a full stop the letters at both its sides may meet, so that more than one counts.
            near = max(start + _near(one, glyph, face.height) for start, one in placed[-_BACK:])
            at = end + gap_of(face.height) + pending if pending else near
        placed.append((at, glyph))
        end, pending = at + glyph.beads.shape[1], 0
    if not placed:
        return Glyph(0, np.zeros((0, 0), bool))
    return _drawn(placed)


def _near(one: Glyph, other: Glyph, height: int) -> int:
    """How many columns behind the left side of a glyph the next begins."""
    top = max(one.top, other.top)
    low = min(glyph.top - glyph.beads.shape[0] for glyph in (one, other))
    right, left = (np.full(top - low + 2, _FAR) for _ in range(2))
    # Free columns between the last bead of a row and the glyph's side; rows beside it count, too.
    for free, glyph, turn in ((right, one, -1), (left, other, 1)):
        rows = glyph.beads[:, ::turn]
        start = top - glyph.top + 1
        ends = np.where(rows.any(1), rows.argmax(1), _FAR)
        free[start : start + len(rows)] = ends
    beside = np.minimum(np.minimum(right[:-2], right[1:-1]), right[2:])
    room = int((beside + left[1:-1]).min())
    most = height // _NARROW
    return int(one.beads.shape[1]) + gap_of(height) - min(room, most)


def _drawn(placed: list[tuple[int, Glyph]]) -> Glyph:
    """Glyphs at their columns, as one."""
    top = max(glyph.top for _, glyph in placed)
    low = min(glyph.top - glyph.beads.shape[0] for _, glyph in placed)
    first = min(at for at, _ in placed)
    width = max(at + glyph.beads.shape[1] for at, glyph in placed) - first
    beads = np.zeros((top - low, width), bool)
    for at, glyph in placed:
        high, wide = glyph.beads.shape
        beads[top - glyph.top : top - glyph.top + high, at - first : at - first + wide] |= (
            glyph.beads
        )
    return Glyph(top, beads)


def _stacked(lines: list[Glyph], face: Face) -> Mask:
    """Lines below each other, centred, their baselines evenly apart; cut to what there is."""
    width = max(line.beads.shape[1] for line in lines)
    drops = [line.beads.shape[0] - line.top for line in lines]
    least = face.height + gap_of(face.height) + 1
    step = max([least, *(d + line.top + 1 for d, line in zip(drops, lines[1:], strict=False))])
    top = max(line.top for line in lines)
    beads = np.zeros((top + step * len(lines) + max(drops), width), bool)
    for number, line in enumerate(lines):
        high, wide = line.beads.shape
        row, column = top + number * step - line.top, (width - wide) // 2
        beads[row : row + high, column : column + wide] |= line.beads
    rows, columns = np.flatnonzero(beads.any(1)), np.flatnonzero(beads.any(0))
    return beads[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1]
