"""Clean enlargements by whole numbers: found from the gaps between edges alone."""

from __future__ import annotations

import cv2
import numpy as np
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from img2plate.image.native.exact import exact_grid

SIDES, PITCHES = st.integers(9, 40), st.integers(2, 20)


def noisy_sprite(seed: int, width: int, height: int) -> np.ndarray:
    """Each cell of a colour of its own, so that every line carries an edge."""
    pixels = np.random.default_rng(seed).integers(0, 256, (height, width, 4), dtype=np.uint8)
    pixels[..., 3] = 255
    return pixels


@given(st.integers(0, 999), SIDES, SIDES, PITCHES)
def test_what_pillow_enlarges_comes_back(seed: int, width: int, height: int, pitch: int) -> None:
    truth = noisy_sprite(seed, width, height)
    size = (width * pitch, height * pitch)
    found = exact_grid(np.array(Image.fromarray(truth).resize(size, Image.Resampling.NEAREST)))
    assert found is not None
    assert found.cell_px == (pitch, pitch)
    np.testing.assert_array_equal(found.pixels, truth)


@given(st.integers(0, 999), st.integers(4, 20), st.tuples(*[st.integers(0, 30)] * 4))
def test_cells_cut_at_the_border_stay_when_half_of_them_is_there(
    seed: int, pitch: int, cut: tuple[int, int, int, int]
) -> None:
    truth = noisy_sprite(seed, 40, 38)
    big = cv2.resize(truth, None, fx=pitch, fy=pitch, interpolation=cv2.INTER_NEAREST)
    left, top, right, bottom = cut
    found = exact_grid(big[top : len(big) - bottom, left : big.shape[1] - right])
    kept = [
        slice(round_half_up(low / pitch), n - round_half_up(high / pitch))
        for low, high, n in ((top, bottom, 38), (left, right, 40))
    ]
    assert found is not None
    np.testing.assert_array_equal(found.pixels, truth[tuple(kept)])


def round_half_up(cells: float) -> int:
    """So many cells are gone when so much is cut: of half a cell, half is still there."""
    return int(np.ceil(cells - 0.5))


def test_a_faint_edge_in_a_flat_sprite_counts_as_much_as_a_strong_one() -> None:
    truth = np.full((24, 24, 4), 255, np.uint8)
    truth[4:20, 6:19, :3] = 90
    truth[9:12, 8, 0] += 2
    truth[5, 9:14, 1] += 1
    found = exact_grid(truth.repeat(3, axis=0).repeat(3, axis=1))
    assert found is not None
    assert found.cells == (24, 24)


def test_axes_of_different_pitch_are_told_apart_and_doubled_lines_stay_squares() -> None:
    truth = noisy_sprite(2, 14, 12)
    uneven = exact_grid(truth.repeat(9, axis=0).repeat(6, axis=1))
    doubled = exact_grid(truth.repeat(8, axis=0).repeat(4, axis=1))
    assert uneven is not None
    assert doubled is not None
    assert (uneven.cells, uneven.cell_px) == ((14, 12), (6.0, 9.0))
    assert (doubled.cells, doubled.cell_px) == ((14, 24), (4.0, 4.0))


def test_pictures_that_are_not_of_equal_squares_have_none() -> None:
    truth = noisy_sprite(1, 20, 20)
    doubled = truth.repeat(2, axis=0).repeat(2, axis=1)
    assert exact_grid(truth) is None
    assert exact_grid(np.delete(doubled, 7, axis=0)) is None  # one line is single
    assert exact_grid(np.zeros((40, 40, 4), np.uint8)) is None
    stripes = np.zeros((60, 60, 4), np.uint8)
    stripes[20:40] = 255
    assert exact_grid(stripes) is None  # too few edges to tell
