"""Specks on a plate: the share, and the search's count around one cell."""

from __future__ import annotations

import numpy as np
import pytest

from img2plate.base.specks import speck_share, specks_of
from img2plate.plate.search.specks import specks_around


def test_specks_by_hand() -> None:
    cells = np.array([[0, 0, 1], [2, -1, 1], [2, 3, -1]], np.int16)
    assert specks_of(cells).tolist() == [[False] * 3, [False] * 3, [False, True, False]]
    assert speck_share(cells) == pytest.approx(1 / 7)
    assert speck_share(np.full((2, 2), -1, np.int16)) == 0


def test_the_search_counts_the_same_specks() -> None:
    cells = np.random.default_rng(3).integers(-1, 3, (9, 7)).astype(np.int16)
    alone = np.pad(specks_of(cells), 1)
    for y, x in np.ndindex(cells.shape):
        around = alone[y : y + 3, x : x + 3]
        wanted = around[1].sum() + around[0, 1] + around[2, 1]
        assert specks_around(cells, y, x) == wanted
