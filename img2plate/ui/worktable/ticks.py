"""What is placed of a plate that somebody follows on a phone: ticks of each board.

A step is a colour in a row of a board, written "row:colour" as the follow-along page does; it
stands for all beads of that colour in that row.
"""

from __future__ import annotations

import base64
from collections.abc import Iterable, Mapping
from typing import Any

import numpy as np
import numpy.typing as npt

COLOURS = 1 << 16
"""More than a page can number."""


class Board:
    """A board of a plate: its steps, and which of them are done."""

    def __init__(self, name: str, steps: dict[str, int]) -> None:
        """steps: beads of each step."""
        self.name, self.steps = name, steps
        self.done: set[str] = set()
        self.version = 1
        self._far: dict[str, Any] | None = None

    def tick(self, on: Iterable[str], off: Iterable[str], version: int) -> None:
        """Tick and untick steps; what is no step of this board is passed over."""
        new = (self.done | {key for key in on if key in self.steps}) - set(off)
        if new != self.done:
            self.done, self.version, self._far = new, version, None

    def far(self) -> dict[str, Any]:
        """How far it is: beads and rows, and how many of them are placed."""
        if self._far is None:
            open_rows = {key.split(":")[0] for key in self.steps if key not in self.done}
            rows = {key.split(":")[0] for key in self.steps}
            self._far = {
                "name": self.name,
                "beads": sum(self.steps.values()),
                "placed": sum(self.steps[key] for key in self.done),
                "rows": len(rows),
                "rows_placed": len(rows - open_rows),
            }
        return self._far


class Ticks:
    """All boards of a plate, counting changes, so that who asks is told what is new alone."""

    def __init__(self, plate: Mapping[str, Any], done: Mapping[str, Any] | None = None) -> None:
        """plate: what a follow-along page says of it; done: what `as_json` gave earlier."""
        width, height = plate["size"]
        cells = np.frombuffer(base64.b64decode(plate["cells"]), "<u2").reshape(height, width)
        self.boards = {
            name: Board(name, _steps(cells[y : y + h, x : x + w]))
            for name, x, y, w, h, *_ in plate["tiles"]
        }
        self.version = 1
        self.change(done or {}, {})

    def change(self, on: Mapping[str, Any], off: Mapping[str, Any]) -> bool:
        """Tick and untick steps by board; whether that changed anything."""
        version = self.version + 1
        for name in {*on, *off} & self.boards.keys():
            self.boards[name].tick(_words(on.get(name)), _words(off.get(name)), version)
            if self.boards[name].version == version:
                self.version = version
        return self.version == version

    def newer(self, after: int, also: Iterable[str] = ()) -> dict[str, Any]:
        """All ticks of the boards that changed after a version, and of some others."""
        named = set(also)
        boards = {
            name: sorted(board.done)
            for name, board in self.boards.items()
            if board.version > after or name in named
        }
        return {"version": self.version, "boards": boards}

    def far(self) -> list[dict[str, Any]]:
        """How far each board is that has beads."""
        return [board.far() for board in self.boards.values() if board.steps]

    def as_json(self) -> dict[str, list[str]]:
        """What is done, to be kept."""
        return {name: sorted(board.done) for name, board in self.boards.items() if board.done}


def _steps(cells: npt.NDArray[np.uint16]) -> dict[str, int]:
    """Beads of each step of a board (rows, columns); 0 is no bead."""
    rows, columns = np.nonzero(cells)
    steps, beads = np.unique(rows * COLOURS + cells[rows, columns], return_counts=True)
    return {
        f"{step // COLOURS}:{step % COLOURS}": count
        for step, count in zip(steps.tolist(), beads.tolist(), strict=True)
    }


def _words(found: Any) -> list[str]:
    """The words in what somebody sent."""
    return [word for word in found if isinstance(word, str)] if isinstance(found, list) else []
