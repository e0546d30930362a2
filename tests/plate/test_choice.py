"""Narrowed palettes and limits, for every shading."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import skimage.data
from hypothesis import given, settings
from hypothesis import strategies as st
from support import make_palette

from img2plate.base.errors import OptionError, StockError
from img2plate.colour.look_error import View, look_error
from img2plate.colour.palette_file import find_palette
from img2plate.image.grid import Grid
from img2plate.inventory.stock import Stock
from img2plate.plate.limits.choice import ChoiceOptions, shade_chosen
from img2plate.plate.shade.distinct import differences
from img2plate.plate.shade.shading import SHADINGS, ShadingOptions, shade
from img2plate.plate.shade.viewing import Viewing

PALETTE = make_palette(9, seed=3)


def photo_grid(height: int = 9, width: int = 8, seed: int = 0, hole: bool = True) -> Grid:
    rng = np.random.default_rng(seed)
    rgb = np.cumsum(rng.random((height, width, 3)), axis=1).astype(np.float32) / width
    cover = np.ones((height, width), np.float32)
    cover[0, 0] = 0 if hole else 1
    return Grid(rgb, cover)


def stock_of(counts: list[int]) -> Stock:
    owned = {f"c{i}": n for i, n in enumerate(counts)}
    return Stock(Path("stock.csv"), (), ("code", "count"), ",", owned, dict.fromkeys(owned, 2))


@pytest.mark.parametrize("shading", SHADINGS)
@settings(max_examples=3, deadline=None)
@given(seed=st.integers(0, 10_000), few=st.sampled_from([None, 4]))
def test_no_shading_ever_uses_a_bead_that_is_not_owned(
    shading: str, seed: int, few: int | None
) -> None:
    rng = np.random.default_rng(seed)
    counts = rng.integers(0, 16, 9)
    counts[rng.choice(9, 4, replace=False)] += 18
    grid = photo_grid(seed=seed)
    shaded = shade_chosen(
        grid, PALETTE, ShadingOptions(shading), ChoiceOptions(few), stock=stock_of(counts.tolist())
    )
    used = np.bincount(shaded.cells[shaded.cells >= 0], minlength=9)
    assert used.sum() == grid.filled.sum()
    assert (used <= counts).all()
    assert few is None or np.count_nonzero(used) <= few


def test_plenty_of_beads_change_nothing() -> None:
    grid, options = photo_grid(), ShadingOptions("floyd-steinberg")
    free = shade(grid, PALETTE, options)
    kept = shade_chosen(grid, PALETTE, options, stock=stock_of([999] * 9))
    np.testing.assert_array_equal(free.cells, kept.cells)
    assert not kept.notes


def test_too_few_beads_say_how_many_and_which_size_fits() -> None:
    grid = photo_grid(20, 10, hole=False)
    with pytest.raises(StockError, match=r"150 are missing; `width` 5 \(5 x 10\) would fit"):
        shade_chosen(grid, PALETTE, stock=stock_of([20, 30, 0, 0, 0, 0, 0, 0, 0]))


def test_codes_and_finishes_narrow_the_palette() -> None:
    palette = find_palette("sea-96")
    some = tuple(bead.code for bead in palette.beads[10:30])
    choice = ChoiceOptions(5, only=some, without=(some[0],), finish=("solid",))
    cells = shade_chosen(photo_grid(), palette, ShadingOptions("bayer"), choice).cells
    used = {palette.beads[i] for i in np.unique(cells[cells >= 0])}
    assert 1 < len(used) <= 5
    assert {bead.code for bead in used} <= set(some[1:])
    assert {bead.finish for bead in used} == {"solid"}


@pytest.mark.parametrize(
    ("choice", "word"),
    [
        (ChoiceOptions(0), "`colours`"),
        (ChoiceOptions(only=("nix",)), "`only`.*'nix'"),
        (ChoiceOptions(without=("nix",)), "`without`.*'nix'"),
        (ChoiceOptions(finish=("glow",)), "`finish`.*'glow'"),
        (ChoiceOptions(without=tuple(f"c{i}" for i in range(9))), "leave no colour"),
    ],
)
def test_a_choice_that_makes_no_sense(choice: ChoiceOptions, word: str) -> None:
    with pytest.raises(OptionError, match=word):
        choice.allowed(PALETTE)


def test_colours_chosen_by_the_search_look_more_like_the_picture_than_the_nearest_ones() -> None:
    """On a photo (scikit-image's) whose sky no bead matches: mixing wants other colours."""
    from img2plate.image.sample import sample
    from img2plate.image.sizing import SizeWish, frame
    from img2plate.plate.limits.subset import choose_columns

    pixels = skimage.data.rocket()
    rgba = np.dstack([pixels, np.full(pixels.shape[:2], 255, np.uint8)])
    framing = frame((rgba.shape[1], rgba.shape[0]), SizeWish(40, 30, "cover"))
    grid, palette, view = sample(rgba, framing), find_palette("css-named"), View(2.0, 5.0)
    options = ShadingOptions("search", specks="few")

    def looks(cells: np.ndarray, of: np.ndarray) -> float:
        fine = sample(rgba, framing, per_cell=view.per_cell)
        return look_error(fine.rgb, of[cells].astype(np.float32), view)

    off = differences(grid.rgb.reshape(-1, 3), palette, "hyab")
    nearest = choose_columns(off, 12)
    codes = tuple(palette.beads[i].code for i in nearest)
    picture = lambda per_cell: sample(rgba, framing, per_cell=per_cell)  # noqa: E731
    errors = []
    viewing = Viewing(view, picture, stated=True)
    owned = dict.fromkeys([bead.code for bead in palette.beads], 999)
    stock = Stock(Path("stock.csv"), (), ("code", "count"), ",", owned, dict.fromkeys(owned, 2))
    for choice, beads in (
        (ChoiceOptions(colours=12), None),
        (ChoiceOptions(only=codes), None),
        (ChoiceOptions(colours=12), stock),
    ):
        shaded = shade_chosen(grid, palette, options, choice, stock=beads, viewing=viewing)
        assert len(np.unique(shaded.cells)) <= 12
        errors.append(looks(shaded.cells, palette.linear))
    assert errors[0] < 0.97 * errors[1]
    assert errors[2] == errors[0]  # within a stock the search chooses too
