"""Plates of a figure that share boards: apart, each whole on one page, its letters beside it."""

from __future__ import annotations

from collections import Counter
from itertools import combinations, pairwise
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pypdfium2
import pytest
from figures_for_tests import PALETTE, figure, part
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.lib.stride_tricks import sliding_window_view
from reader import tile_pages
from scipy.optimize import isotonic_regression

from img2plate.base.lengths import PAPERS
from img2plate.solid.box.build import Figure
from img2plate.solid.equal import equal_plates
from img2plate.solid.spec import JoinSpec, ShelfSpec
from img2plate.typeset.figure.boards import APART_MM, share_boards
from img2plate.typeset.figure.counts import count_figure
from img2plate.typeset.figure.drawings import draw_all
from img2plate.typeset.figure.edge_letters import _never_falling, spread
from img2plate.typeset.figure.laying import plan_figure
from img2plate.typeset.figure.sheets import write_figure_sheets
from img2plate.typeset.sheets.printing import Printing


@settings(deadline=None, max_examples=60)
@given(
    st.lists(st.tuples(st.integers(1, 40), st.integers(1, 40), st.sampled_from([4.0, 4.3])),
             min_size=1, max_size=14),
    st.sampled_from([(29, 29), (20, 33)]),
    st.sampled_from([2.6, 5.0]),
)  # fmt: skip
def test_plates_of_a_board_are_apart_inside_it_and_of_one_thickness(sizes, room, pitch) -> None:
    pieces = [
        SimpleNamespace(plate=SimpleNamespace(size=(wide, high)), thickness_mm=thick)
        for wide, high, thick in sizes
    ]
    boards = share_boards(pieces, range(len(pieces)), room, pitch)
    assert Counter(at.number for board in boards for at in board) == Counter(range(len(pieces)))
    for board in boards:
        assert len({pieces[at.number].thickness_mm for at in board}) == 1
        boxes = [(at.column, at.row, *pieces[at.number].plate.size) for at in board]
        fits = all(x + w <= room[0] and y + h <= room[1] for x, y, w, h in boxes)
        assert fits or len(board) == 1
        for (x, y, w, h), (a, b, c, d) in combinations(boxes, 2):
            gap = max(a - x - w, x - a - c, b - y - h, y - b - d) * pitch
            assert gap >= APART_MM


def test_a_board_of_its_own_only_for_what_needs_it() -> None:
    small = SimpleNamespace(plate=SimpleNamespace(size=(5, 5)), thickness_mm=4.0)
    assert len(share_boards([small] * 9, range(9), (29, 29), 5.0)) == 1


@given(
    st.lists(st.tuples(st.floats(0, 100), st.floats(1, 9)), min_size=1, max_size=8),
    st.lists(st.floats(20, 80).map(lambda at: (at, at + 3)), max_size=1),
)
def test_words_on_an_edge_do_not_overlap_and_stay_where_they_may(words, taken) -> None:
    wanted, lengths = [at for at, _ in words], [length for _, length in words]
    places = spread(wanted, lengths, taken)
    assert len(places) == len(words)
    spans = sorted((p - w / 2, p + w / 2) for p, w in zip(places, lengths, strict=True))
    assert all(one[1] <= two[0] + 1e-6 for one, two in pairwise(spans))
    if len(words) == 1:
        assert all(spans[0][1] <= a + 1e-9 or spans[0][0] >= b - 1e-9 for a, b in taken)
        if not taken:
            assert places == pytest.approx(wanted)


@given(st.lists(st.floats(-50, 50), min_size=1, max_size=12))
def test_values_that_never_fall_are_those_of_scipy(values) -> None:
    assert _never_falling(values) == pytest.approx(isotonic_regression(values).x, abs=1e-9)


@pytest.fixture(scope="module")
def tower() -> Figure:
    low = part(12, 14, 8, name="low", colour=2, shelves=(ShelfSpec(4, 2),))
    high = part(12, 12, 8, name="high", at=(0, 1, 8), lid="lift")
    join = JoinSpec("join 1", ("low", "top"), ("high", "bottom"), "plus", 3, colour=3)
    return figure(low, high, joins=(join,))


@pytest.fixture(scope="module")
def sheets(tower: Figure, tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("boards") / "s.pdf"
    plan = plan_figure(tower, Printing(PAPERS["A4"]), board=(29, 29))
    write_figure_sheets(path, tower, count_figure(tower), draw_all(tower), plan)
    return path


def test_each_plate_is_read_back_from_one_page(tower: Figure, sheets: Path) -> None:
    """Equal ones once, cell by cell, by a reader that knows the rulers and the words only."""
    pages = [page.cells(PALETTE.srgb, PALETTE.pitch_mm) for page in tile_pages(sheets)]
    firsts = [group[0] for group in equal_plates(tower.pieces)]
    assert len(pages) < len(firsts) / 2
    for number in firsts:
        found = sum(_times(page, tower.pieces[number].plate.cells) for page in pages)
        assert found == 1, tower.pieces[number].title


def _times(page: np.ndarray, cells: np.ndarray) -> int:
    """How often a plate lies on a page."""
    if any(side < wanted for side, wanted in zip(page.shape, cells.shape, strict=True)):
        return 0
    windows = sliding_window_view(page, cells.shape)
    return int((windows == cells).all(axis=(2, 3)).sum())


def test_each_page_lists_its_plates_and_how_often_they_are_made(
    tower: Figure, sheets: Path
) -> None:
    document = pypdfium2.PdfDocument(sheets)
    texts = [page.get_textpage().get_text_bounded() for page in document]
    document.close()
    boards = [text for text in texts if text.startswith("Board ") and "this way up" in text]
    assert boards
    for number, *others in equal_plates(tower.pieces):
        page = next(t for t in texts if "this way up" in t and tower.pieces[number].title in t)
        if others:
            assert f"make {len(others) + 1}" in page
            assert all(str(other + 1) in page for other in others)
