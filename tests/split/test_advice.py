"""What would save boards, and when a plate is a lot of work."""

from __future__ import annotations

import numpy as np
import pytest

from img2plate.split.advice import board_advice, margin_advice, work_warning


@pytest.mark.parametrize(
    ("size", "said"),
    [
        ((29, 29), []),
        ((58, 29), []),
        ((60, 58), ["2 columns of beads fewer would save a column of 2 boards; see `width` (58)"]),
        ((30, 20), ["1 column of beads fewer would save a board; see `width` (29)"]),
        ((36, 29), ["7 columns of beads fewer would save a board; see `width` (29)"]),
        ((37, 29), []),
        ((58, 59), ["1 row of beads fewer would save a row of 2 boards; see `height` (58)"]),
    ],
)
def test_beads_that_cost_a_board(size: tuple[int, int], said: list[str]) -> None:
    assert list(board_advice(size, (29, 29))) == said


def test_boards_that_are_no_squares() -> None:
    assert board_advice((15, 14), (14, 7))[0].endswith("see `width` (14)")
    assert len(board_advice((15, 15), (14, 7))) == 2


def test_empty_margins() -> None:
    filled = np.zeros((10, 12), bool)
    assert margin_advice(filled) == ()
    filled[2:9, 1:12] = True
    assert "1 column and 3 rows" in margin_advice(filled)[0]
    filled[:, 5] = True
    assert margin_advice(filled)[0].startswith("1 column at the sides")
    assert margin_advice(np.ones((3, 3), bool)) == ()


def test_a_lot_of_work() -> None:
    assert work_warning(20_000, 22.2) == ""
    assert "20,001 beads" in work_warning(20_001, 22.2)
    assert "about 25 hours" in work_warning(9_000, 25.0)
