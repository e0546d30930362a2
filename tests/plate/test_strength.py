"""What of a plate comes apart, beside brute force with scipy's labels; bridges beside all ways."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import array_shapes, arrays
from scipy import ndimage

from img2plate.plate.strength import bridges
from img2plate.plate.strength.bridges import find_bridges
from img2plate.plate.strength.hanging import hanging
from img2plate.plate.strength.strength import look_at, pieces_of


def masks(side: int) -> st.SearchStrategy[np.ndarray]:
    shapes = array_shapes(min_dims=2, max_dims=2, max_side=side)
    return arrays(bool, shapes).filter(lambda mask: bool(mask.any()))


def drawn(*rows: str) -> np.ndarray:
    return np.array([[letter != "." for letter in row] for row in rows])


def parts_without(filled: np.ndarray, row: int, column: int) -> list[int]:
    """Sizes of what is left of a piece when one bead is taken out of it, largest first."""
    labels = ndimage.label(filled)[0]
    rest = labels == labels[row, column]
    rest[row, column] = False
    return sorted(np.bincount(ndimage.label(rest)[0].ravel())[1:].tolist(), reverse=True)


@given(masks(8))
def test_what_hangs_by_a_bead_is_what_comes_off_without_it(filled: np.ndarray) -> None:
    found = hanging(filled, pieces_of(filled)[0])
    for row, column in np.argwhere(filled):
        parts = parts_without(filled, row, column)
        assert found[row, column] == (parts[1] if len(parts) > 1 else 0)
    assert not found[~filled].any()


@given(masks(9))
def test_pieces_are_those_of_scipy_and_all_but_the_largest_are_named(filled: np.ndarray) -> None:
    found = look_at(filled)
    labels, count = ndimage.label(filled)
    sizes = sorted(np.bincount(labels.ravel())[1:].tolist(), reverse=True)
    assert found.pieces == count
    assert [place.beads for place in found.loose] == sizes[1:]
    for place in (*found.loose, *found.necks, *found.thin):
        assert filled[place.row - 1, place.column - 1]


def test_places_are_told_from_one_and_by_kind() -> None:
    found = look_at(drawn("###....##", "###....##", "###......", "...#.....", ".....#..."))
    assert [(p.column, p.row, p.beads) for p in found.loose] == [(8, 1, 4), (4, 4, 1), (6, 5, 1)]
    assert found.corners == ((4, 4),)
    assert "4 pieces, once corner to corner" in found.notes[0]
    neck = look_at(drawn("###.###", "#######", "###.###"))
    assert [tuple(p) for p in neck.necks] == [(4, 2, 9)]
    assert not neck.thin
    line = look_at(drawn("##....##", "########"))
    assert [(p.row, p.beads) for p in line.thin] == [(2, 4)]
    assert not line.necks
    assert look_at(np.ones((5, 5), bool)).is_sound


def fewest(filled: np.ndarray) -> int:
    """By trying all sets of empty cells, the small ones first."""
    empty = np.argwhere(~filled)
    for many in range(len(empty) + 1):
        for cells in itertools.combinations(range(len(empty)), many):
            tried = filled.copy()
            tried[tuple(empty[list(cells)].T)] = True
            if ndimage.label(tried)[1] == 1:
                return many
    raise AssertionError


SMALL = [np.random.default_rng(seed).random((4, 4)) < 0.4 for seed in range(25)]


@pytest.mark.parametrize("most", [6, 0], ids=["exact", "spanning tree"])
def test_bridges_are_the_fewest_or_within_what_is_stated(
    most: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(bridges, "MOST_EXACT_PIECES", most)
    for filled in SMALL:
        found, best = find_bridges(filled), fewest(filled)
        many = int(found.cells.sum())
        assert not (found.cells & filled).any()
        assert ndimage.label(filled | found.cells)[1] == 1
        assert found.least <= best <= many
        assert not found.is_exact or many == best
        assert many == best if most and ndimage.label(filled)[1] <= most else many <= 2 * best


@given(masks(14))
def test_bridges_of_any_plate_join_it_with_none_to_spare(filled: np.ndarray) -> None:
    found = find_bridges(filled)
    both = filled | found.cells
    assert ndimage.label(both)[1] == 1
    for row, column in np.argwhere(found.cells):
        without = both.copy()
        without[row, column] = False
        assert ndimage.label(without)[1] > 1
