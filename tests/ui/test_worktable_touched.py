"""What is done to a plate by hand: kept, laid on another plate, undone."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from img2plate.base.errors import Img2PlateError, OptionError
from img2plate.colour.palette_file import find_palette
from img2plate.plate.plate import Plate
from img2plate.ui.worktable.table import Table
from img2plate.ui.worktable.wishes.touched import Touched

PALETTE = find_palette("quay-24")
CODES = [bead.code for bead in PALETTE.beads]
WIDTH, HEIGHT = 7, 5
FACTS = {"size": [WIDTH, HEIGHT], "work": [], "notes": []}
STROKE = st.dictionaries(
    st.integers(0, WIDTH * HEIGHT - 1), st.sampled_from(["", *CODES[:4]]), min_size=1, max_size=9
)


def runs(stroke: dict[int, str]) -> dict[str, list[int]]:
    """A stroke as a page sends it, each cell a run."""
    found: dict[str, list[int]] = {}
    for cell, code in stroke.items():
        found.setdefault(code, []).extend([cell, 1])
    return found


def plain() -> Plate:
    cells = np.arange(WIDTH * HEIGHT).reshape(HEIGHT, WIDTH) % len(PALETTE)
    return Plate(cells.astype(np.int16), PALETTE)


@given(st.lists(STROKE, max_size=12))
def test_strokes_are_what_a_plain_list_of_cells_says(strokes: list[dict[int, str]]) -> None:
    touched, want = Touched.nothing((WIDTH, HEIGHT)), plain().cells.ravel().copy()
    for stroke in strokes:
        touched = Touched.read(touched.with_stroke(runs(stroke)).written())
        for cell, code in stroke.items():
            want[cell] = CODES.index(code) if code else -1
    plate, lost = touched.laid_on(plain())
    assert lost == ""
    assert (plate.cells.ravel() == want).all()


def test_a_stroke_need_not_wait_for_the_plate_with_the_last_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(Table, "_want", lambda *_: None)  # no plate is ever made
    table = Table(tmp_path, lambda *_: None, warm=False)
    project = table.projects.begin("gull.png")
    table.projects.adopt(project)
    with pytest.raises(Img2PlateError, match="not made yet"):
        table.touch(project.id, 1, runs({3: CODES[0]}))
    with monkeypatch.context() as once:
        once.setattr(table.shown, "facts", lambda *_: FACTS)
        table.touch(project.id, 1, runs({3: CODES[0]}))
    table.touch(project.id, 2, runs({4: CODES[1]}))
    assert lies(table, project.id)[3:5] == [0, 1]
    table.end()


def lies(table: Table, project_id: str) -> list[int]:
    """What a plain plate is with the strokes that are in hand."""
    word = table.projects.load(project_id).settings.get("touched")
    if not word:
        return [int(cell) for cell in plain().cells.ravel()]
    path = table.projects.files(project_id).path(str(word), "touched")
    return [int(cell) for cell in Touched.read(path.read_bytes()).laid_on(plain())[0].cells.ravel()]


def test_what_another_plate_cannot_keep_is_said() -> None:
    touched = Touched.nothing((WIDTH, HEIGHT)).with_stroke(
        {CODES[0]: [0, 3], "xyz": [7, 2], "": [9, 1]}
    )
    plate, lost = touched.laid_on(plain())
    assert lost == "touched by hand, but in colours that are not here (2 cells): xyz"
    assert plate.cells.ravel()[:3].tolist() == [0, 0, 0]
    assert plate.cells.ravel()[7:10].tolist() == [7, 8, -1]
    smaller = Plate(plain().cells[:, :4], PALETTE)
    plate, lost = touched.laid_on(smaller)
    assert plate is smaller
    assert lost == "what was touched by hand (6 cells) was for 7 x 5 beads, these are 4 x 5"


@pytest.mark.parametrize(
    "stroke",
    [{"klp": [35, 1]}, {"klp": [-1, 1]}, {"klp": [0, 36]}, {"klp": [0, 0]}, {"klp": [0]},
     {"klp": "many"}, {"klp": [1 << 70, 1]}, {"klp": [0, 35, 0, 35]}],
)  # fmt: skip
def test_cells_that_are_not_there_are_refused(stroke: dict[str, list[int]]) -> None:
    with pytest.raises(OptionError, match="cells"):
        Touched.nothing((WIDTH, HEIGHT)).with_stroke(stroke)


@pytest.mark.parametrize("data", [b"", b"[]", b'{"size": [2]}', b'{"size": ["a", 1], "beads": {}}'])
def test_a_damaged_file_is_refused(data: bytes) -> None:
    with pytest.raises(OptionError, match="cannot be read"):
        Touched.read(data)
