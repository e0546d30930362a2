"""Plates turned, repeated, joined, edged and hung."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import array_shapes, arrays
from scipy import ndimage

from img2plate.base.errors import OptionError, SizeError
from img2plate.colour.palette_file import find_palette
from img2plate.plate.finish.finish import FinishOptions, finish
from img2plate.plate.finish.join import WAYS
from img2plate.plate.finish.turn import Repeat, parse_repeat, repeated
from img2plate.plate.plate import Plate

PALETTE = find_palette("quay-24")
CODE, OTHER = (bead.code for bead in PALETTE.beads[:2])
CELLS = arrays(
    np.int16, array_shapes(min_dims=2, max_dims=2, min_side=1, max_side=9),
    elements=st.integers(-1, 5),
).filter(lambda cells: bool((cells >= 0).any()))  # fmt: skip


def finished(cells: np.ndarray, **how: object) -> np.ndarray:
    return finish(Plate(cells, PALETTE), FinishOptions(**how)).plate.cells  # type: ignore[arg-type]


@given(CELLS)
def test_turns_and_mirrors_are_those_of_a_square(cells: np.ndarray) -> None:
    assert (finished(cells, rotate=90)[:, -1] == cells[0]).all()  # clockwise: the top comes right
    turned = finished(finished(cells, rotate=90), rotate=270)
    assert (turned == cells).all()
    both = finished(finished(cells, mirror="left-right"), mirror="top-bottom")
    assert (both == finished(cells, rotate=180)).all()


@given(CELLS, st.integers(1, 4), st.integers(1, 4), st.sampled_from(["", "half", "half-drop"]))
def test_a_repeat_has_each_bead_as_often_as_plates(
    cells: np.ndarray, across: int, down: int, half: str
) -> None:
    found = repeated(cells, Repeat(across, down, half))
    height, width = cells.shape
    assert found.shape == (height * down, width * across)
    for row in range(down):
        for column in range(across):
            aside = width // 2 if half == "half" and row % 2 else 0
            drop = height // 2 if half == "half-drop" and column % 2 else 0
            rows = np.arange(height) + row * height
            columns = (np.arange(width) + column * width + aside) % (width * across)
            rows = (rows + drop) % (height * down)
            assert (found[np.ix_(rows, columns)] == cells).all()


@given(CELLS, st.sampled_from(WAYS))
def test_each_way_of_joining_leaves_one_piece_and_takes_no_bead(
    cells: np.ndarray, way: str
) -> None:
    found = finished(cells, join=f"{way}:{CODE}")
    assert ndimage.label(found >= 0)[1] == 1
    assert (found[cells >= 0] == cells[cells >= 0]).all()
    assert set(found[(cells < 0) & (found >= 0)].tolist()) <= {0}


def test_an_outline_that_joins_may_grow_the_plate() -> None:
    cells = np.array([[3, -1, 5]], np.int16)
    assert finished(cells, join=f"outline:{CODE}", grow=True).tolist() == [
        [0, 0, 0, 0, 0], [0, 3, 0, 5, 0], [0, 0, 0, 0, 0],
    ]  # fmt: skip


def test_bridges_without_a_colour_take_the_nearest_beads() -> None:
    assert finished(np.array([[3, -1, -1, 5]]), join="bridges").tolist() == [[3, 3, 5, 5]]


@given(CELLS, st.integers(1, 3))
def test_an_outline_that_may_grow_has_all_beads_inside(cells: np.ndarray, wide: int) -> None:
    found = finished(cells, outline=f"{CODE}:{wide}", grow=True)
    assert found.shape == tuple(side + 2 * wide for side in cells.shape)
    assert (found[wide:-wide, wide:-wide][cells >= 0] == cells[cells >= 0]).all()
    far = ndimage.distance_transform_cdt(np.pad(cells, wide, constant_values=-1) < 0, "chessboard")
    assert ((found >= 0) == (far <= wide)).all()
    kept = finished(cells, outline=f"{CODE}:{wide}")
    assert (kept == found[wide:-wide, wide:-wide]).all()


def test_a_border_lies_on_the_plate_or_round_it() -> None:
    cells = np.full((6, 7), 4, np.int16)
    inside, outside = (
        finished(cells, border=f"2:{OTHER}"),
        finished(cells, border=f"2:{OTHER}", grow=True),
    )
    assert inside.shape == (6, 7)
    assert (inside == 4).sum() == 2 * 3
    assert outside.shape == (10, 11)
    assert (outside[2:-2, 2:-2] == 4).all()
    with pytest.raises(OptionError, match="leaves nothing"):
        finished(cells, border=f"3:{OTHER}")


@pytest.mark.parametrize("grow", [True, False])
@pytest.mark.parametrize("hole", [1, 2, 4])
def test_a_hole_has_two_beads_round_it_and_hangs_straight(grow: bool, hole: int) -> None:
    rows, columns = np.ogrid[:21, :25]
    disc = (rows - 10) ** 2 + (columns - 12) ** 2 <= 100
    found = finished(np.where(disc, 3, -1).astype(np.int16), loop=f"{hole}:{CODE}", grow=grow)
    assert ndimage.label(found >= 0)[1] == 1
    labels, many = ndimage.label(found < 0)
    outside = set(np.unique(np.concatenate([labels[0], labels[-1], labels[:, 0], labels[:, -1]])))
    (inner,) = set(range(1, many + 1)) - outside
    where = np.argwhere(labels == inner)
    assert len(where) == hole**2
    assert abs(where[:, 1].mean() - 12) <= 0.5
    ring = ndimage.binary_dilation(labels == inner, iterations=2) & (labels != inner)
    assert (found[ring] >= 0).all()
    assert found.shape[0] > 21 if grow else found.shape == (21, 25)


@pytest.mark.parametrize(
    "wrong",
    [{"rotate": 45}, {"join": "glue"}, {"join": "bridges:"}, {"outline": "zzz"}, {"grow": True},
     {"outline": f"{CODE}:0"}, {"border": CODE}, {"loop": "0"}, {"loop": "1:zzz"},
     {"join": "backing"}, {"loop": "9"}],
)  # fmt: skip
def test_what_makes_no_sense_is_told_with_its_option(wrong: dict[str, object]) -> None:
    with pytest.raises(OptionError) as told:
        finished(np.array([[1, -1, 1]], np.int16), **wrong)
    assert told.value.field in wrong


def test_a_repeat_is_read_and_has_a_limit() -> None:
    assert parse_repeat("3x2:half-drop") == (3, 2, "half-drop")
    for text in ("3", "3x2:", "3x2:third"):
        with pytest.raises(OptionError):
            parse_repeat(text)
    with pytest.raises(SizeError, match="`repeat` fewer times"):
        finished(np.zeros((100, 100), np.int16), repeat=Repeat(100, 100))
