"""Several sprites on one picture: where each of them is.

Works on cells. Parts that touch, also at corners, are one; loose bits go to the sprite they lie at,
as far as the gaps between the sprites tell bits from sprites. Frames round the sprites are taken
off, lettering beside them is left out.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from img2plate.base.arrays import Mask, Pixels
from img2plate.image.frames import without_frames

ElementT = TypeVar("ElementT", bound=np.generic)
MAIN_SHARE = 0.4
"""Of the usual long side, from which a part is a sprite by itself, not a loose bit."""
BIT_REACH = 6
"""A loose bit belongs to a sprite that lies nearer than the usual long side through this."""
PART_GAP = 3
"""Two large parts are one sprite when the usual gap between sprites is so many times theirs."""
OVERLAP = 0.25
"""Share of the smaller box that lies in the other, from which two parts are one sprite."""
LETTERS = 0.45
"""Of the usual long side: no letter is higher."""
LEAST_CELLS = 3
"""Fewer cells alone are dirt."""


@dataclass(frozen=True)
class Box:
    """A sprite's place on the picture, in cells."""

    x: int
    y: int
    width: int
    height: int
    row: int = 0
    column: int = 0
    """Place among the sprites, from 0, as one reads: by rows, from the left."""

    @property
    def long_side(self) -> int:
        """The larger of both."""
        return max(self.width, self.height)

    def of(self, plane: NDArray[ElementT]) -> NDArray[ElementT]:
        """Its part of an array (h, w, ...)."""
        return plane[self.y : self.y + self.height, self.x : self.x + self.width]

    def joined(self, other: Box) -> Box:
        """The box round both."""
        x, y = min(self.x, other.x), min(self.y, other.y)
        right = max(self.x + self.width, other.x + other.width)
        bottom = max(self.y + self.height, other.y + other.height)
        return Box(x, y, right - x, bottom - y)

    def gap(self, other: Box) -> int:
        """Empty cells between both, along the axis that has more of them; below 0: they overlap."""
        across = max(self.x, other.x) - min(self.x + self.width, other.x + other.width)
        down = max(self.y, other.y) - min(self.y + self.height, other.y + other.height)
        return max(across, down)

    def overlap(self, other: Box) -> float:
        """Share of the smaller box that lies in the other, 0..1."""
        across = min(self.x + self.width, other.x + other.width) - max(self.x, other.x)
        down = min(self.y + self.height, other.y + other.height) - max(self.y, other.y)
        smaller = min(self.width * self.height, other.width * other.height)
        return max(0, across) * max(0, down) / smaller


@dataclass(frozen=True, eq=False)
class Apart:
    """The sprites on a picture."""

    cells: Pixels
    """(h, w, 4) uint8: the picture without frames and what they held behind the sprites."""
    boxes: tuple[Box, ...]
    """By rows, from the left."""
    letters: int = 0
    """Parts that were left out as lettering."""

    def sprite(self, box: Box) -> Pixels:
        """(height, width, 4) one sprite, without what of others reaches into its box."""
        from scipy.ndimage import label

        regions, _ = label(self.cells[..., 3] >= 128, np.ones((3, 3)))
        own = [n + 1 for n, part in enumerate(_boxes_of(regions)) if part.overlap(box) == 1]
        cells = box.of(self.cells).copy()
        cells[~np.isin(box.of(regions), own), 3] = 0
        return cells


def find_apart(cells: Pixels, gap: int | None = None) -> Apart:
    """Find the sprites on a picture (h, w, 4) whose background is see-through.

    gap: empty cells up to which parts belong together; None to tell by the picture, which also
    leaves lettering out.
    """
    cells = without_frames(cells)
    parts = _parts(cells[..., 3] >= 128)
    if gap is not None:
        return Apart(cells, _in_reading_order(_joined(parts, lambda a, b: a.gap(b) <= gap)))
    if not any(_cells_in(box, cells) >= LEAST_CELLS for box in parts):
        return Apart(cells, ())
    usual = _usual_side(parts)
    main = [box for box in parts if box.long_side >= MAIN_SHARE * usual]
    bits = [box for box in parts if box.long_side < MAIN_SHARE * usual]
    near = min(2, _usual_gap(main) // PART_GAP)
    main = _joined(main, lambda a, b: a.overlap(b) >= OVERLAP or (near > 0 and a.gap(b) <= near))
    words = _words(bits, main, LETTERS * usual)
    loose = [box for box in bits if box not in words]
    boxes = _with_bits(main, loose, max(1, usual // BIT_REACH), cells)
    return Apart(cells, _in_reading_order(boxes), len(words))


def _parts(shown: Mask) -> list[Box]:
    """The box of each part whose cells touch."""
    from scipy.ndimage import label

    return _boxes_of(label(shown, np.ones((3, 3)))[0])


def _boxes_of(regions: NDArray[np.int32]) -> list[Box]:
    """The box of each region of (h, w) numbers, by number."""
    from scipy.ndimage import find_objects

    return [
        Box(x.start, y.start, x.stop - x.start, y.stop - y.start) for y, x in find_objects(regions)
    ]


def _cells_in(box: Box, cells: Pixels) -> int:
    """How many cells of a box are filled."""
    return int(np.count_nonzero(box.of(cells)[..., 3] >= 128))


def _usual_side(parts: Sequence[Box]) -> int:
    """The long side in the middle of all, weighed by area: many small bits do not count much."""
    sides = np.array([box.long_side for box in parts])
    order = np.argsort(sides)
    areas = np.array([box.width * box.height for box in parts])[order].cumsum()
    return int(sides[order][np.searchsorted(areas, areas[-1] / 2)])


def _usual_gap(main: Sequence[Box]) -> int:
    """The middle of the gaps from each sprite to the next."""
    if len(main) < 3:
        return 0
    nearest = [min(box.gap(other) for other in main if other is not box) for box in main]
    return max(0, int(np.median(nearest)))


def _joined(boxes: Sequence[Box], belong: Callable[[Box, Box], bool]) -> list[Box]:
    """Join boxes for as long as two belong together."""
    found = list(boxes)
    changed = True
    while changed:
        changed = False
        kept: list[Box] = []
        for box in found:
            partner = next((i for i, other in enumerate(kept) if belong(box, other)), None)
            if partner is None:
                kept.append(box)
            else:
                kept[partner] = kept[partner].joined(box)
                changed = True
        found = kept
    return found


def _words(bits: Sequence[Box], main: Sequence[Box], highest: float) -> set[Box]:
    """Bits that are lettering: two or more in a row, of like height, clear of every sprite."""

    def next_letter(one: Box, other: Box) -> bool:
        """Whether two bits stand beside each other as letters do."""
        shared = min(one.y + one.height, other.y + other.height) - max(one.y, other.y)
        return one.gap(other) <= max(2, min(one.height, other.height) // 4) and (
            shared >= 0.5 * min(one.height, other.height)
        )

    found: set[Box] = set()
    small = [box for box in bits if box.height <= highest]
    for line in _joined(small, next_letter):
        letters = [box for box in small if box.overlap(line) == 1]
        clear = min((line.gap(box) for box in main), default=2)
        if clear >= 2 - (len(letters) > 2) and len(letters) >= 2 and line.width > line.height:
            found.update(letters)
    return found


def _with_bits(main: list[Box], bits: Sequence[Box], reach: int, cells: Pixels) -> list[Box]:
    """Give each loose bit to the sprite it lies at; what lies at none is one itself."""
    found, alone = list(main), []
    for bit in bits:
        nearest = min(range(len(main)), key=lambda i: main[i].gap(bit), default=None)
        if nearest is not None and main[nearest].gap(bit) <= reach:
            found[nearest] = found[nearest].joined(bit)
        elif _cells_in(bit, cells) >= LEAST_CELLS:
            alone.append(bit)
    return found + _joined(alone, lambda a, b: a.gap(b) <= min(2, reach))


def _in_reading_order(boxes: Sequence[Box]) -> tuple[Box, ...]:
    """Number boxes by rows: one belongs to a row when its middle lies within it."""
    rows: list[list[Box]] = []
    for box in sorted(boxes, key=lambda one: (one.y + one.height / 2, one.x)):
        middle = box.y + box.height / 2
        if rows and middle <= max(one.y + one.height for one in rows[-1][:1]):
            rows[-1].append(box)
        else:
            rows.append([box])
    return tuple(
        replace(box, row=row, column=column)
        for row, line in enumerate(rows)
        for column, box in enumerate(sorted(line, key=lambda one: one.x))
    )
