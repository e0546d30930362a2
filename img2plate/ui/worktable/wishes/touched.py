"""What was done to a plate by hand: which bead was put where, whatever the plate was made of.

Kept as a file of the project (see `files`), which the setting `touched` names, so that every
stroke is a step that can be undone:

    {"size": [58, 44], "beads": {"klp": [120, 3, 178, 1], "": [5, 2]}}

For each code the first cell and the length of runs of cells, counted row by row from 0; the empty
code is a bead that was taken away.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from img2plate.base.arrays import Cells
from img2plate.base.errors import OptionError
from img2plate.plate.plate import EMPTY, Plate
from img2plate.ui.worktable.wishes.files import Files
from img2plate.ui.worktable.wishes.settings import TOUCHED, Settings

NAME = "touched.json"
MOST_CELLS = 4_000_000
"""Of a plate that hands can touch."""
NONE = ""
"""The code of no bead."""
Runs = dict[str, list[int]]


@dataclass(frozen=True, eq=False)
class Touched:
    """Cells that were touched by hand."""

    size: tuple[int, int]
    """Width and height of the plate that they are for, in beads."""
    codes: tuple[str, ...] = ()
    cells: Cells = field(default_factory=lambda: np.zeros(0, np.int16))
    """(h * w,) int16: place in `codes` and 1; 0 where no hand was."""

    @classmethod
    def nothing(cls, size: tuple[int, int]) -> Touched:
        """An untouched plate."""
        return cls(size, (), np.zeros(size[0] * size[1], np.int16))

    @classmethod
    def read(cls, data: bytes) -> Touched:
        """What `written` wrote. Raises OptionError for anything else."""
        try:
            about = json.loads(data)
            width, height = (int(side) for side in about["size"])
            if not 0 < width * height <= MOST_CELLS:
                raise ValueError
            return cls.nothing((width, height)).with_stroke(about["beads"])
        except (ValueError, KeyError, TypeError, AttributeError, OverflowError):
            raise OptionError("cannot be read", field="touched") from None

    def written(self) -> bytes:
        """For a file."""
        about = {"size": list(self.size), "beads": self.runs()}
        return json.dumps(about, ensure_ascii=False, separators=(",", ":")).encode()

    def with_stroke(self, stroke: Mapping[str, Any]) -> Touched:
        """These and the cells of one more stroke. Raises OptionError for cells that are not there.

        stroke: code to runs, as in the file.
        """
        codes, cells = list(self.codes), self.cells.copy()
        for code, runs in stroke.items():
            if code not in codes:
                codes.append(code)
            cells[self._numbers(runs)] = codes.index(code) + 1
        return replace(self, codes=tuple(codes), cells=cells)

    def _numbers(self, runs: Any) -> Cells:
        """Cells of runs."""
        try:
            pairs = np.array(runs, dtype=np.int64).reshape(-1, 2)
        except (ValueError, TypeError, OverflowError):
            raise OptionError("has no runs of cells", field="touched") from None
        starts, lengths = pairs[:, 0], pairs[:, 1]
        if (pairs < [0, 1]).any() or (pairs > self.cells.size).any():
            raise OptionError("has cells that are not there", field="touched")
        if (starts + lengths > self.cells.size).any() or lengths.sum() > self.cells.size:
            raise OptionError("has cells that are not there", field="touched")
        ends = np.cumsum(lengths)
        found = np.arange(lengths.sum()) + np.repeat(starts - (ends - lengths), lengths)
        return np.asarray(found)

    def runs(self) -> Runs:
        """Code to the first cell and the length of each run."""
        edges = np.flatnonzero(np.diff(self.cells)) + 1
        starts = np.concatenate([[0], edges])
        lengths = np.diff(np.concatenate([starts, [self.cells.size]]))
        found: Runs = {}
        for place, code in enumerate(self.codes, 1):
            mine = self.cells[starts] == place
            if mine.any():
                found[code] = np.stack([starts[mine], lengths[mine]], axis=1).ravel().tolist()
        return found

    def laid_on(self, plate: Plate) -> tuple[Plate, str]:
        """The plate with these beads, and what could not be kept, in words; empty when all was."""
        lost = self.lost_on(plate)
        words = self._lost_words(lost, plate)
        if plate.size != self.size:
            return plate, words
        places = _places(plate)
        table = np.array([EMPTY, *(places.get(code, EMPTY) for code in self.codes)], np.int16)
        kept = (self.cells > 0) & (lost.cells == 0)
        cells = np.where(kept, table[self.cells], plate.cells.ravel()).reshape(plate.cells.shape)
        return replace(plate, cells=np.asarray(cells, np.int16)), words

    def lost_on(self, plate: Plate) -> Touched:
        """What of these does not lie on a plate: all, on one of another size."""
        if plate.size != self.size:
            return self
        gone = [place for place, code in enumerate(self.codes, 1) if code not in _places(plate)]
        return replace(self, cells=np.where(np.isin(self.cells, gone), self.cells, np.int16(0)))

    def _lost_words(self, lost: Touched, plate: Plate) -> str:
        """Say what was lost; nothing when nothing was."""
        many = _cells(int(np.count_nonzero(lost.cells)))
        if plate.size != self.size:
            old, new = ("{} x {}".format(*size) for size in (self.size, plate.size))
            return f"what was touched by hand ({many}) was for {old} beads, these are {new}"
        gone = list(lost.runs())
        if not gone:
            return ""
        return f"touched by hand, but in colours that are not here ({many}): {_few(gone)}"


def _places(plate: Plate) -> dict[str, int]:
    """Which bead of a plate's palette each code is, that of no bead too."""
    return {NONE: EMPTY} | {bead.code: place for place, bead in enumerate(plate.palette.beads)}


def stroke_to(plate: Plate, cells: Cells) -> Runs:
    """The stroke that makes a plate have other cells, (h, w) int16 of the same palette."""
    codes = (NONE, *(bead.code for bead in plate.palette.beads))
    marks = np.where(cells != plate.cells, cells.astype(np.int16) + 2, 0).astype(np.int16)
    return Touched(plate.size, codes, marks.ravel()).runs()


def untouched(settings: Mapping[str, Any]) -> Settings:
    """The settings of the plate that hands touched."""
    return {name: value for name, value in settings.items() if name != TOUCHED}


def after_stroke(
    old: Settings, files: Files, size: tuple[int, int] | None, stroke: Mapping[str, Any]
) -> Settings:
    """Settings after a stroke on a plate of a size in beads. Raises OptionError.

    size: None for that of the strokes before. What was done by hand to a plate of another size
    lies no more on this one, and is let go.
    """
    word = str(old.get(TOUCHED, ""))
    touched = Touched.read(files.path(word, TOUCHED).read_bytes()) if word else None
    if touched is None or size not in (None, touched.size):
        if size is None:
            raise OptionError("cannot be known before the plate is made", field=TOUCHED)
        touched = Touched.nothing(size)
    return {**old, TOUCHED: files.keep(NAME, touched.with_stroke(stroke).written())}


def _cells(many: int) -> str:
    """So many of them."""
    return f"{many} {'cell' if many == 1 else 'cells'}"


def _few(codes: list[str], most: int = 6) -> str:
    """Codes in a row, not too many."""
    rest = f" and {len(codes) - most} more" if len(codes) > most else ""
    return ", ".join(codes[:most]) + rest
