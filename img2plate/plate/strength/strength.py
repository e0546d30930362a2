"""A plate looked at as plastic: what lies loose, what hangs by one bead, what is thin.

Beads are joined where they have a side in common; corners hardly fuse. The plate is one piece of
plastic however many boards and rounds it is built on, so joints across seams count as any other.
How much is too thin has no source: the two measures below are common practice, and stated.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from img2plate.base.arrays import Mask
from img2plate.plate.strength.hanging import hanging

LONGEST_THIN = 3
"""Beads that a line of one bead may be long; what is longer bends and breaks."""
LEAST_PART = 4
"""Beads that a part needs to be worth a word when it hangs by one bead."""
_FEW = 4
"""Places that are named in a sentence."""
_SIDES = np.array([[0, 1, 0], [1, 1, 1], [0, 1, 0]], bool)


class Place(NamedTuple):
    """A place on a plate, for people: counted from 1, from the upper left."""

    column: int
    row: int
    beads: int
    """Of a loose piece, a thin line, or the part that hangs."""

    def __str__(self) -> str:
        return f"column {self.column}, row {self.row} ({_beads(self.beads)})"


@dataclass(frozen=True, eq=False)
class Strength:
    """What of a plate may come apart; places with the most beads first."""

    pieces: int
    """How many pieces no side joins."""
    loose: tuple[Place, ...]
    """All pieces but the largest."""
    corners: tuple[tuple[int, int], ...]
    """Lower right columns and rows, from 1, of the corners at which two pieces touch."""
    necks: tuple[Place, ...]
    """Beads by which a part hangs that lie in none of the thin lines."""
    thin: tuple[Place, ...]
    """Lines of one bead, longer than `LONGEST_THIN`."""
    piece_of: NDArray[np.int32]
    """(h, w) 1 for the largest piece, the others by size; 0 where no bead is."""
    thin_cells: Mask
    """(h, w) bool where the thin lines are."""

    @property
    def is_sound(self) -> bool:
        """Whether there is nothing to say."""
        return not (self.loose or self.necks or self.thin)

    @property
    def notes(self) -> tuple[str, ...]:
        """What to know before it is built; empty when it holds."""
        notes = []
        if self.loose:
            times = {1: "once", 2: "twice"}.get(len(self.corners), f"{len(self.corners):,} times")
            touching = f", {times} corner to corner" if self.corners else ""
            notes.append(
                f"it comes off the boards in {self.pieces} pieces{touching}; not joined to the"
                f" largest: {_named(self.loose)}; `join` adds beads that hold them"
            )
        if self.necks:
            what = "a part hangs" if len(self.necks) == 1 else f"{len(self.necks)} parts hang"
            notes.append(f"{what} by one bead, at {_named(self.necks)}")
        if self.thin:
            lines = "line" if len(self.thin) == 1 else "lines"
            notes.append(
                f"{len(self.thin)} thin {lines}, one bead wide and longer than {LONGEST_THIN}:"
                f" {_named(self.thin)}"
            )
        return tuple(notes)

    @property
    def words(self) -> tuple[str, ...]:
        """The same for a sheet, which always says something."""
        sound = "One piece, with no part that hangs by one bead and no long thin line."
        return self.notes or (sound,)

    def as_json(self) -> dict[str, Any]:
        """Plain types; columns and rows from 1."""
        return {
            "pieces": self.pieces,
            "loose": [each._asdict() for each in self.loose],
            "corners": [{"column": column, "row": row} for column, row in self.corners],
            "necks": [each._asdict() for each in self.necks],
            "thin": [each._asdict() for each in self.thin],
        }


def look_at(filled: Mask) -> Strength:
    """Look at a plate of which (h, w) bool says where beads lie."""
    pieces, count = pieces_of(filled)
    hangs = hanging(filled, pieces)
    thin, lines = _thin(filled, pieces)
    necks = (hangs >= LEAST_PART) & ~thin
    return Strength(
        count,
        _places(pieces, np.bincount(pieces.ravel(), minlength=count + 1)[2:], first=2),
        _corners(pieces),
        _necks(necks, hangs),
        lines,
        pieces,
        thin,
    )


def look_at_several(filled: Mask, room: tuple[int, int], plates: int) -> Strength:
    """Look at several plates on sets of boards of `room` pegs across and down, which lie apart.

    Pieces are not told of when there are as many as plates.
    """
    height, width = filled.shape
    rows, columns = (np.arange(side, all_of, side) for side, all_of in
                     ((room[1], height), (room[0], width)))  # fmt: skip
    apart = np.insert(np.insert(filled, rows, False, axis=0), columns, False, axis=1)
    seen = look_at(apart)

    def back(places: tuple[Place, ...]) -> tuple[Place, ...]:
        return tuple(
            Place(at.column - (at.column - 1) // (room[0] + 1),
                  at.row - (at.row - 1) // (room[1] + 1), at.beads)
            for at in places
        )  # fmt: skip

    inner = np.ix_(*(np.arange(n) + np.arange(n) // side for n, side in
                     ((height, room[1]), (width, room[0]))))  # fmt: skip
    piece_of, meant = seen.piece_of[inner], seen.pieces == plates
    return Strength(
        1 if meant else seen.pieces,
        () if meant else back(seen.loose),
        () if meant else _corners(piece_of),
        back(seen.necks),
        back(seen.thin),
        (piece_of > 0).astype(np.int32) if meant else piece_of,
        seen.thin_cells[inner],
    )


def pieces_of(filled: Mask) -> tuple[NDArray[np.int32], int]:
    """(h, w) int32 number of the piece each bead is of, the largest 1, and how many there are."""
    from scipy import ndimage

    labels, count = ndimage.label(filled, _SIDES)
    sizes = np.bincount(labels.ravel(), minlength=count + 1)[1:]
    number = np.zeros(count + 1, np.int32)
    number[1 + np.argsort(-sizes, kind="stable")] = np.arange(1, count + 1)
    return number[labels], count


def _thin(filled: Mask, pieces: NDArray[np.int32]) -> tuple[Mask, tuple[Place, ...]]:
    """Where lines of one bead are that are too long, and each of them.

    A bead is thin when it lies in no block of 2 x 2. Loose pieces are told of as such.
    """
    from scipy import ndimage

    blocks = ndimage.binary_opening(filled, np.ones((2, 2), bool))
    labels, count = ndimage.label(filled & ~blocks & ~_all_thin(blocks, pieces), _SIDES)
    lengths = np.bincount(labels.ravel(), minlength=count + 1)
    long = lengths > LONGEST_THIN
    long[0] = False
    numbers, kept = ndimage.label(long[labels], _SIDES)
    return long[labels], _places(numbers, np.bincount(numbers.ravel(), minlength=kept + 1)[1:])


def _all_thin(blocks: Mask, pieces: NDArray[np.int32]) -> Mask:
    """Where pieces lie that have no block, but for the largest piece."""
    has_block = np.zeros(int(pieces.max(initial=0)) + 1, bool)
    has_block[pieces[blocks]] = True
    has_block[:2] = True
    return ~has_block[pieces]


def _necks(necks: Mask, hangs: NDArray[np.int64]) -> tuple[Place, ...]:
    """One place for each group of beads side by side that parts hang by, with the largest part."""
    from scipy import ndimage

    labels, count = ndimage.label(necks, _SIDES)
    most = ndimage.maximum(hangs, labels, np.arange(1, count + 1)) if count else []
    return _places(labels, np.asarray(most, np.int64))


def _places(
    labels: NDArray[np.int32], beads: NDArray[np.int64], first: int = 1
) -> tuple[Place, ...]:
    """A place for each label from `first` on: of its cells the one nearest to their middle."""
    if not beads.size:
        return ()
    rows, columns = np.nonzero(labels >= first)
    of = labels[rows, columns] - first
    sizes = np.bincount(of, minlength=beads.size)
    middle_row, middle_column = (
        np.bincount(of, weights=at, minlength=beads.size) / sizes for at in (rows, columns)
    )
    off = np.hypot(rows - middle_row[of], columns - middle_column[of])
    order = np.lexsort((off, of))
    nearest = order[np.searchsorted(of[order], np.arange(beads.size))]
    found = [
        Place(int(column) + 1, int(row) + 1, int(many))
        for column, row, many in zip(columns[nearest], rows[nearest], beads, strict=True)
    ]
    return tuple(sorted(found, key=lambda place: (-place.beads, place.row, place.column)))


def _corners(pieces: NDArray[np.int32]) -> tuple[tuple[int, int], ...]:
    """Where beads of two pieces touch at a corner, and at no side."""
    above, below = pieces[:-1], pieces[1:]
    falling = (above[:, :-1] > 0) & (below[:, 1:] > 0) & (above[:, :-1] != below[:, 1:])
    rising = (above[:, 1:] > 0) & (below[:, :-1] > 0) & (above[:, 1:] != below[:, :-1])
    rows, columns = np.nonzero(falling | rising)
    return tuple(zip((columns + 2).tolist(), (rows + 2).tolist(), strict=True))


def _named(places: tuple[Place, ...]) -> str:
    """The first places, and how many more there are."""
    more = len(places) - _FEW
    return ", ".join(map(str, places[:_FEW])) + (f" and {more} more" if more > 0 else "")


def _beads(many: int) -> str:
    return "1 bead" if many == 1 else f"{many:,} beads"
