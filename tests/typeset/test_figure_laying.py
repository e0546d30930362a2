"""A figure's boards in rounds, its plates face down, its rows read out."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import numpy as np
import pytest
from figures_for_tests import figure, part
from PIL import Image
from reader import page_words

from img2plate.base.errors import OptionError
from img2plate.base.lengths import PAPERS
from img2plate.solid.box.build import Figure
from img2plate.solid.joints import Side
from img2plate.solid.spec import JoinSpec
from img2plate.tally.runs import runs_text
from img2plate.typeset.figure.counts import count_figure
from img2plate.typeset.figure.drawings import Drawings
from img2plate.typeset.figure.face_down import laid_face_down
from img2plate.typeset.figure.follow import write_figure_follow
from img2plate.typeset.figure.laying import plan_figure
from img2plate.typeset.figure.sheets import write_figure_sheets
from img2plate.typeset.follow.shared import described
from img2plate.typeset.sheets.printing import Printing

BOARD = (11, 13)
PRINTING = Printing(PAPERS["A4"], mirrored=True, runs=True)


@pytest.fixture(scope="module")
def made() -> Figure:
    """A small hut on one whose floor takes two boards."""
    low, high = part(12, 10, 6, name="low"), part(9, 7, 5, name="high", at=(1, 1, 6), colour=2)
    join = JoinSpec("neck", ("low", "top"), ("high", "bottom"), "strip", 3, colour=3)
    return figure(low, high, joins=(join,))


@pytest.mark.parametrize("owned", [2, 3, 5])
def test_every_plate_is_laid_once_and_no_round_takes_more_boards(made: Figure, owned: int) -> None:
    rounds = plan_figure(made, PRINTING, board=BOARD, owned=owned).rounds
    assert len(rounds) > 1
    assert [each.number for each in rounds] == list(range(1, len(rounds) + 1))
    assert Counter(n for each in rounds for n in each.plates) == Counter(range(len(made.pieces)))
    for each, after in zip(rounds, (*rounds[1:], None), strict=True):
        taken = sum(laid.boards for laid in each.laid)
        assert taken <= owned
        # None waits that would have room: the next one would be too much.
        assert after is None or taken + after.laid[0].boards > owned
    large = {n for n, piece in enumerate(made.pieces) if piece.plate.size[0] > BOARD[0]}
    wide = {n for each in rounds for laid in each.laid if laid.boards > 1 for n in laid.plates}
    assert wide == large


def test_what_cannot_be_laid_at_once_is_told(made: Figure) -> None:
    assert plan_figure(made, PRINTING, board=BOARD, owned=99).rounds == ()
    with pytest.raises(OptionError, match=r"plate 1 .low front. takes 2 boards at once, and you"):
        plan_figure(made, PRINTING, board=BOARD, owned=1)
    with pytest.raises(OptionError, match="0 is not a number of boards"):
        plan_figure(made, PRINTING, board=BOARD, owned=0)


def test_face_down_each_plate_is_its_mirror_image_and_joints_keep_their_letters(
    made: Figure,
) -> None:
    laid = laid_face_down(made)
    for one, other in zip(made.pieces, laid.pieces, strict=True):
        np.testing.assert_array_equal(other.plate.cells, one.plate.cells[:, ::-1])
        assert {*map(tuple, other.voxels.tolist())} == {*map(tuple, one.voxels.tolist())}
    swapped = {"left": "right", "right": "left"}
    for joint, same in zip(made.joints, laid.joints, strict=True):
        assert (joint.letter, joint.plates) == (same.letter, same.plates)
        for side, mirrored in zip(joint.sides, same.sides, strict=True):
            if side.edge == "inside":  # either end of a slot will do
                assert mirrored.edge == "inside"
                continue
            width = made.pieces[side.piece].plate.size[0]
            edge = swapped.get(side.edge, side.edge)
            assert mirrored == Side(side.piece, edge, side.row, width - 1 - side.column)


def test_pages_and_the_page_to_follow_say_it(made: Figure, tmp_path: Path) -> None:
    counts, plan = count_figure(made), plan_figure(made, PRINTING, board=BOARD, owned=2)
    rounds = plan.rounds
    blank = Image.new("RGB", (8, 8))  # drawings are looked at elsewhere
    drawings = Drawings(blank, blank, [blank], [blank])
    write_figure_sheets(tmp_path / "s.pdf", made, counts, drawings, plan)
    texts = [" ".join(text.split()) for text in page_words(tmp_path / "s.pdf")]
    (order,) = (text for text in texts if text.startswith(f"{len(rounds)} rounds on 2 boards"))
    for each in rounds:
        for laid in each.laid:
            assert laid.name[1:] in order
    plates = [text for text in texts if "this way up" in text]
    names = {" ".join(laid.name.split()[:2]) for each in rounds for laid in each.laid}
    shared = {name.capitalize() for name in names if name.startswith("board")}
    assert shared == {" ".join(t.split()[:2]) for t in plates if t.startswith("Board ")} != set()
    assert all("MIRRORED: front faces down" in text for text in plates)
    assert all("seen from inside" in text for text in plates if "press to 4 mm," in text)
    # Rows of a plate that has its board for itself, as they lie: from the other end.
    by_itself = [lying[0] for lying in plan.boards if len(lying) == 1]
    alone = next(at for at in by_itself
                 if len(plan.cutter(made.pieces[at.number].plate).tiles) == 1)  # fmt: skip
    plate = made.pieces[alone.number].plate
    rows = next(t for t in texts if t.startswith(f"{alone.number + 1} Rows to read out"))
    for number, row in enumerate(plate.cells, 1):
        assert f"{number} {runs_text(row[::-1], plate.palette)}" in rows

    write_figure_follow(tmp_path / "f.html", made, counts, plan)
    page = described((tmp_path / "f.html").read_text(encoding="utf-8"))
    assert page["faceDown"]
    for board in {plate["board"] for plate in page["plates"]} - {0}:
        head = next(text for text in plates if text.startswith(f"Board {board} "))
        for plate in page["plates"]:
            if plate["board"] == board:
                assert made.pieces[plate["group"][0]].title in head
    round_of = {n: each.number for each in rounds for n in each.plates}
    assert all(tile[7] == round_of[tile[8]] for tile in page["tiles"])
