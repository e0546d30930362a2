"""The look error in parts: the same numbers as the whole."""

from __future__ import annotations

import numpy as np
import pytest

from img2plate.colour.look_error import View, default_view, look_error, seen_opponent
from img2plate.colour.look_parts import responses, sampled_error, seen_picture, seen_plate

CHANCE = np.random.default_rng(7)


def pictures(width: int, height: int, per_cell: int) -> tuple[np.ndarray, np.ndarray]:
    """A picture with soft shapes, and a plate that is near to it; linear light."""
    y, x = np.mgrid[: height * per_cell, : width * per_cell] / per_cell
    waves = [np.sin(x / 3 + n) * np.cos(y / 4 - n) for n in range(3)]
    source = (0.5 + 0.4 * np.dstack(waves)).astype(np.float32)
    cells = source.reshape(height, per_cell, width, per_cell, 3).mean((1, 3))
    rough = 0.06 * CHANCE.standard_normal(cells.shape)
    return source, np.clip(np.round(cells * 4) / 4 + rough, 0, 1).astype(np.float32)


@pytest.mark.parametrize(
    ("size", "view"),
    [((9, 14), default_view((9, 14), 5)), ((30, 17), View(2.0, 5)), ((11, 8), View(0.3, 5))],
)
def test_matrices_blur_as_the_look_error_does(size: tuple[int, int], view: View) -> None:
    width, height = size
    per_cell = view.per_cell
    _, plate = pictures(width, height, per_cell)
    shown = plate.repeat(per_cell, axis=0).repeat(per_cell, axis=1)
    want = seen_opponent(shown, view, per_cell)
    got = seen_plate(plate, responses(size, view, per_cell), per_cell)
    step = per_cell // 3
    places = [np.arange(step // 2, side * per_cell, step) for side in (height, width)]
    assert np.abs(got - want[np.ix_(*places)]).max() < 1e-5


def test_a_change_of_beads_changes_both_alike() -> None:
    """Within 5 parts of 100 of what the error changes by: the samples are fewer."""
    size = width, height = 29, 22
    view = default_view(size, 5)
    source, plate = pictures(width, height, view.per_cell)
    cover = np.ones((height, width), np.bool_)
    cover[:4, :6] = False
    seen, told = seen_picture(source, view, cover), responses(size, view, view.per_cell)
    before = (
        look_error(source, plate, view, cover=cover),
        sampled_error(seen, plate, told, view.per_cell),
    )
    for rows, columns in ((slice(8, 9), slice(10, 11)), (slice(3, 9), slice(12, 25))):
        other = plate.copy()
        other[rows, columns] = 1 - other[rows, columns]
        by = look_error(source, other, view, cover=cover) - before[0]
        assert by > 0
        assert sampled_error(seen, other, told, view.per_cell) - before[1] == pytest.approx(
            by, rel=0.05
        )
