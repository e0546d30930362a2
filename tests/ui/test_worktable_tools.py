"""The ways of working by hand beside a plain array that does the same, and undone to the end."""

from __future__ import annotations

import random
import tempfile
from pathlib import Path
from typing import Any
from unittest import mock

import numpy as np
import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, rule, run_state_machine_as_test
from numpy.typing import NDArray
from scipy import ndimage
from worktable import browsing

from img2plate.colour.palette_file import find_palette
from img2plate.plate.plate import Plate
from img2plate.ui.worktable.table import Table
from img2plate.ui.worktable.wishes.touched import Touched, stroke_to

PALETTE = find_palette("quay-24")
WIDTH, HEIGHT = 9, 7
CELLS = (np.arange(WIDTH * HEIGHT).reshape(HEIGHT, WIDTH) // 3 % 4 - 1).astype(np.int16)
FACTS = {"size": [WIDTH, HEIGHT], "work": [], "notes": []}
Plain = NDArray[np.int16]

BEAD = st.integers(-1, 5)
PLACE = st.tuples(st.integers(0, WIDTH - 1), st.integers(0, HEIGHT - 1))
BY = st.tuples(st.integers(-WIDTH, WIDTH), st.integers(-HEIGHT, HEIGHT))


def line(cells: Plain, bead: int, start: tuple[int, int], end: tuple[int, int]) -> Plain:
    """The cells nearest to a straight line, one for each step along its longer side."""
    steps = max(abs(end[0] - start[0]), abs(end[1] - start[1]), 1)
    x, y = (np.rint(np.linspace(start[i], end[i], steps + 1)).astype(int) for i in (0, 1))
    new = cells.copy()
    new[y, x] = bead
    return new


def fill(cells: Plain, bead: int, place: tuple[int, int]) -> Plain:
    x, y = place
    labels, _ = ndimage.label(cells == cells[y, x])
    return np.where(labels == labels[y, x], np.int16(bead), cells)


def swap(cells: Plain, bead: int, place: tuple[int, int]) -> Plain:
    was = cells[place[1], place[0]]
    return cells if was < 0 else np.where(cells == was, np.int16(bead), cells)


def moved(
    cells: Plain, one: tuple[int, int], other: tuple[int, int], by: tuple[int, int], copy: bool
) -> Plain:
    """A framed piece elsewhere; a copy leaves what lies under its holes."""
    (left, right), (top, below) = (sorted((one[i], other[i])) for i in (0, 1))
    piece, new = cells[top : below + 1, left : right + 1], cells.copy()
    if not copy:
        new[top : below + 1, left : right + 1] = -1
    for (j, i), bead in np.ndenumerate(piece):
        y, x = top + j + by[1], left + i + by[0]
        if 0 <= y < HEIGHT and 0 <= x < WIDTH and (bead >= 0 or not copy):
            new[y, x] = bead
    return new


def mirrored(cells: Plain, one: tuple[int, int], other: tuple[int, int], how: str) -> Plain:
    (left, right), (top, below) = (sorted((one[i], other[i])) for i in (0, 1))
    new = cells.copy()
    piece = cells[top : below + 1, left : right + 1]
    new[top : below + 1, left : right + 1] = piece[:, ::-1] if how == "across" else piece[::-1]
    return new


class ByHand(RuleBasedStateMachine):
    """Strokes and undos of a project beside a list of plain plates."""

    def __init__(self) -> None:
        super().__init__()
        self.folder = tempfile.TemporaryDirectory()
        self.table = Table(Path(self.folder.name), lambda *_: None, warm=False)
        self.project = self.table.projects.begin("gull.png")
        self.table.projects.adopt(self.project)
        self.plates, self.at = [CELLS], 0

    def _version(self) -> int:
        return self.table.projects.load(self.project.id).version

    def _lay(self, new: Plain) -> None:
        old = self.plates[self.at]
        if (new == old).all():
            return  # the page sends no stroke that changes nothing
        stroke = stroke_to(Plate(old, PALETTE), new)
        with mock.patch.object(self.table.shown, "facts", return_value=FACTS):
            self.table.touch(self.project.id, self._version(), stroke)
        self.plates, self.at = [*self.plates[: self.at + 1], new], self.at + 1
        self._look()

    def _look(self) -> None:
        word = self.table.projects.load(self.project.id).settings.get("touched")
        got = Plate(CELLS, PALETTE)
        if word:
            path = self.table.projects.files(self.project.id).path(str(word), "touched")
            got, lost = Touched.read(path.read_bytes()).laid_on(got)
            assert not lost
        assert (got.cells == self.plates[self.at]).all()

    @rule(bead=BEAD, one=PLACE, other=PLACE)
    def draw(self, bead: int, one: tuple[int, int], other: tuple[int, int]) -> None:
        self._lay(line(self.plates[self.at], bead, one, other))

    @rule(bead=BEAD, place=PLACE)
    def pour(self, bead: int, place: tuple[int, int]) -> None:
        self._lay(fill(self.plates[self.at], bead, place))

    @rule(bead=BEAD, place=PLACE)
    def exchange(self, bead: int, place: tuple[int, int]) -> None:
        self._lay(swap(self.plates[self.at], bead, place))

    @rule(one=PLACE, other=PLACE, by=BY, copy=st.booleans())
    def carry(self, one: Any, other: Any, by: Any, copy: bool) -> None:
        self._lay(moved(self.plates[self.at], one, other, by, copy))

    @rule(one=PLACE, other=PLACE, how=st.sampled_from(["across", "down"]))
    def mirror(self, one: Any, other: Any, how: str) -> None:
        self._lay(mirrored(self.plates[self.at], one, other, how))

    @rule(by=st.sampled_from([-1, 1]), times=st.integers(1, 4))
    def step(self, by: int, times: int) -> None:
        for _ in range(times):
            self.table.step(self.project.id, self._version(), by)
            self.at = min(max(0, self.at + by), len(self.plates) - 1)
        self._look()

    def teardown(self) -> None:
        for _ in range(self.at):
            self.table.step(self.project.id, self._version(), -1)
        assert self.table.projects.load(self.project.id).settings == {}
        self.table.end()
        self.folder.cleanup()


def test_five_hundred_strokes_and_undos_end_where_they_began() -> None:
    with mock.patch.object(Table, "_want"):  # no plate is made
        run_state_machine_as_test(  # type: ignore[no-untyped-call]
            ByHand, settings=settings(max_examples=6, stateful_step_count=50, deadline=None)
        )


DO = """async ([facts, list]) => {
  const { Cells } = await import("/static/places/hand/cells.js");
  const cells = new Cells(facts), backs = [], plates = [];
  const box = ([x, y], [toX, toY]) =>
    [Math.min(x, toX), Math.min(y, toY), Math.abs(x - toX) + 1, Math.abs(y - toY) + 1];
  const of = (numbers, bead) => new Map(numbers.map((cell) => [cell, bead]));
  const ways = {
    line: (bead, one, other) => of(cells.line(one, other), bead),
    fill: (bead, place) => of(cells.area(...place), bead),
    swap: (bead, place) => {
      const was = cells.at[cells.number(...place)];
      return of(was < 0 ? [] : cells.alike(was), bead);
    },
    moved: (one, other, by, copy) => cells.moved(box(one, other), by, { copy }),
    mirrored: (one, other, mirror) => cells.moved(box(one, other), [0, 0], { mirror }),
  };
  for (const [way, ...rest] of list) {
    if (way === "undo") { if (backs.length) cells.lay(backs.pop()); }
    else backs.push(cells.lay(cells.read(cells.told(cells.real(ways[way](...rest))))));
    plates.push([...cells.at]);
  }
  while (backs.length) cells.lay(backs.pop());
  return [plates, [...cells.at]];
}"""


@pytest.mark.browser
def test_the_page_does_what_plain_arrays_say(chromium: Any, address: str) -> None:
    """Every way of working, 500 times by chance, and undone to the end."""
    import base64

    chance = random.Random(23)
    place = lambda: (chance.randrange(WIDTH), chance.randrange(HEIGHT))  # noqa: E731
    by = lambda: (chance.randint(-WIDTH, WIDTH), chance.randint(-HEIGHT, HEIGHT))  # noqa: E731
    bead = lambda: chance.randint(-1, 5)  # noqa: E731
    makers = {
        "line": lambda: (bead(), place(), place()),
        "fill": lambda: (bead(), place()),
        "swap": lambda: (bead(), place()),
        "moved": lambda: (place(), place(), by(), chance.random() < 0.5),
        "mirrored": lambda: (place(), place(), chance.choice(["across", "down"])),
        "undo": lambda: (),
    }
    names = [chance.choice(list(makers)) for _ in range(500)]
    todo = [(name, *makers[name]()) for name in names]
    facts = {
        "size": [WIDTH, HEIGHT],
        "beads": [{"code": bead.code} for bead in PALETTE.beads],
        "cells": base64.b64encode(CELLS.astype("<i2").tobytes()).decode(),
    }
    with browsing(chromium, address) as page:
        plates, end = page.evaluate(DO, [facts, todo])
    ways = {each.__name__: each for each in (fill, swap, moved, mirrored)}
    stack = [CELLS]
    for (name, *rest), plate in zip(todo, plates, strict=True):
        got = np.array(plate, np.int16).reshape(CELLS.shape)
        if name == "undo":
            stack = stack[:-1] or [CELLS]
        elif name == "line":
            stack.append(got)
            _is_line(stack[-2], got, *rest)
        else:
            stack.append(ways[name](stack[-1], *rest))
        assert (got == stack[-1]).all(), (name, rest)
    assert end == CELLS.ravel().tolist()


def _is_line(old: Plain, new: Plain, bead: int, one: Any, other: Any) -> None:
    """A line may round a half either way: its cells are never farther than that from it."""
    y, x = np.nonzero(new != old)
    assert (new[y, x] == bead).all()
    assert new[one[1], one[0]] == new[other[1], other[0]] == bead
    across, down = other[0] - one[0], other[1] - one[1]
    longer = max(abs(across), abs(down), 1)
    off = np.abs((x - one[0]) * down - (y - one[1]) * across) / longer
    assert (off <= 0.5).all()
    assert len(x) <= longer + 1
