"""The search: what it keeps up is what the meters' filters give; it never makes things worse."""

from __future__ import annotations

import os
import subprocess
import sys
from dataclasses import replace

import numpy as np
import pytest
import skimage.data
from support import TESTS, make_palette

from img2plate.base.specks import speck_share
from img2plate.colour.look_error import View, blur, look_error
from img2plate.colour.palette import Palette
from img2plate.image.grid import Grid
from img2plate.image.sample import finer, sample
from img2plate.image.sizing import SizeWish, frame
from img2plate.plate.search import Effort, choose_colours, search, search_with_specks
from img2plate.plate.search.engine import Engine
from img2plate.plate.search.filters import space_of, terms_of
from img2plate.plate.search.pairs import pair_cost
from img2plate.plate.search.specks import specks_around
from img2plate.plate.search.total import total_cost
from img2plate.plate.shade.looks import AIMS, S_CIELAB, TRUE, Sight, aim_for
from img2plate.plate.shade.match import nearest
from img2plate.tally.effort import colour_changes

AIM = AIMS["balanced"]
SHORT = Effort(sweeps=3)


def photo(side: int, per_cell: int = 6) -> Grid:
    pixels = skimage.data.coffee()
    rgba = np.dstack([pixels, np.full(pixels.shape[:2], 255, np.uint8)])
    framing = frame((rgba.shape[1], rgba.shape[0]), SizeWish(side, side, "cover"))
    return sample(rgba, framing, per_cell=per_cell)


def start_for(side: int, palette: Palette) -> np.ndarray:
    return nearest(photo(side, 1).rgb, palette, difference="hyab")


def cost(cells: np.ndarray, picture: Grid, palette: Palette) -> float:
    return Engine(picture, cells, palette, AIM, None, settle=False).cost()


def error(cells: np.ndarray, picture: Grid, palette: Palette, view: View) -> float:
    shown = palette.linear.astype(np.float32)[cells]
    return look_error(picture.rgb, shown, view, cover=cells >= 0)


@pytest.mark.parametrize("sight", AIM.sights, ids=lambda s: f"{s.meter} {s.metres}")
def test_filters_on_cells_are_the_filters_on_pixels(sight: Sight) -> None:
    """What the search sees of a plate is the drawn plate under the meter's filters."""
    palette, each = make_palette(30, seed=1), 12
    cells = start_for(24, palette)
    engine = Engine(photo(24), cells, palette, replace(AIM, sights=(sight,)), None)
    engine.refresh()
    seen, margin = engine.state.seen, engine.scene.ring.shape[3] // 2
    if sight.has_ring:
        inside = slice(margin, -margin)
        seen = seen + engine.state.far[0, :, inside, inside].transpose(1, 2, 0)[..., None]
    space, view = space_of(sight.meter), View(sight.metres, palette.pitch_mm)
    drawn = palette.linear[cells].repeat(each, 0).repeat(each, 1) @ space.from_rgb.T
    planes = [
        blur(np.ascontiguousarray(drawn[..., c], np.float32), terms, view.cell_degrees / each, each)
        for c, terms in enumerate(terms_of(sight, palette.pitch_mm))
    ]
    side, step = sight.side, each // sight.side
    exact = np.stack(planes).reshape(3, 24, side, step, 24, side, step).mean((3, 6))
    expected = exact.transpose(1, 3, 0, 2, 4).reshape(24, 24, 3, side * side)
    spread = expected.std(axis=(0, 1, 3))
    assert (np.abs(seen - expected).mean(axis=(0, 1, 3)) < 0.05 * spread).all()


def test_what_is_kept_up_within_a_sweep_is_what_it_is_worked_out_to_be() -> None:
    palette = make_palette(40, seed=2)
    engine = Engine(photo(32), start_for(32, palette), palette, AIM, None)
    assert engine.sweep(0.0, 0) > 150
    seen, far = engine.state.seen.copy(), engine.state.far.copy()
    engine.refresh()
    np.testing.assert_allclose(seen, engine.state.seen, atol=2e-4)
    margin = engine.scene.ring.shape[3] // 2
    inside = np.s_[:, :, margin:-margin, margin:-margin]
    assert np.abs(far[inside] - engine.state.far[inside]).mean() < 0.01


def test_it_looks_better_than_the_nearest_beads_by_meters_that_it_does_not_aim_at() -> None:
    palette, picture = make_palette(48, seed=3), photo(40)
    start = start_for(40, palette)
    found = search(picture, start, palette, AIM)
    for metres, most in ((0.5, 1.0), (1.0, 0.92), (2.0, 0.9), (4.0, 0.9)):
        view = View(metres, palette.pitch_mm)
        before = error(start, picture, palette, view)
        assert error(found, picture, palette, view) < most * before


@pytest.mark.parametrize("metres", [1.0, 3.0])
def test_true_from_a_stated_distance_is_as_good_as_it_gets_from_there(metres: float) -> None:
    palette, picture = make_palette(48, seed=3), photo(32)
    start, view = start_for(32, palette), View(metres, palette.pitch_mm)
    aim = replace(aim_for(TRUE, metres), speck_price=0.0)
    found = search(picture, start, palette, aim)
    before = error(start, picture, palette, view)
    assert error(found, picture, palette, view) < 0.8 * before


def test_no_single_bead_does_better_in_a_small_plate() -> None:
    """Brute force over all single changes gains next to nothing."""
    palette, picture = make_palette(6, seed=4), photo(7)
    found = search(picture, start_for(7, palette), palette, AIM)
    now = cost(found, picture, palette)
    best = now
    for y, x in np.ndindex(found.shape):
        for k in range(len(palette)):
            tried = found.copy()
            tried[y, x] = k
            best = min(best, cost(tried, picture, palette))
    assert best > 0.97 * now


def test_an_exact_picture_stays() -> None:
    palette = make_palette(20, seed=6)
    cells = np.random.default_rng(0).integers(0, 20, (24, 31)).astype(np.int16)
    grid = Grid(palette.linear.astype(np.float32)[cells], np.ones(cells.shape, np.float32))
    found = search(finer(grid, 6), cells, palette, AIM)
    assert (found != cells).mean() < 0.02  # the near view wants it a little sharper


def test_another_plate_for_another_seed_that_looks_as_good() -> None:
    palette, picture = make_palette(30, seed=7), photo(40, 3)
    start = start_for(40, palette)
    plate = search(picture, start, palette, AIM, effort=SHORT)
    other = search(picture, start, palette, AIM, effort=replace(SHORT, seed=1))
    assert (other != plate).any()
    costs = [cost(cells, picture, palette) for cells in (other, plate)]
    assert costs[0] == pytest.approx(costs[1], rel=0.02)


ON_THREADS = """
import hashlib, numba
from plate.test_search import AIM, make_palette, photo, search, start_for
palette = make_palette(30, seed=7)
found = search(photo(40, 3), start_for(40, palette), palette, AIM)
print(numba.get_num_threads(), hashlib.sha256(found.tobytes()).hexdigest())
"""


def test_same_plate_on_one_thread_and_on_two() -> None:
    """In processes of their own: how many threads numba has is settled when it is loaded."""
    here = os.pathsep.join([str(TESTS), str(TESTS.parent)])
    said = []
    for count in ("1", "2"):
        env = os.environ | {"NUMBA_NUM_THREADS": count, "PYTHONPATH": here}
        command = [sys.executable, "-c", ON_THREADS]
        done = subprocess.run(command, env=env, capture_output=True, text=True, check=True)
        threads, digest = done.stdout.split()
        assert threads == count
        said.append(digest)
    assert said[0] == said[1]


def test_what_a_bead_is_said_to_cost_is_what_the_whole_plate_then_costs_more() -> None:
    """Neighbours, smooth areas, changes along rows and specks, summed apart from the loops."""
    palette, picture = make_palette(40, seed=2), photo(24)
    pairs = replace(AIM.pairs, plain=0.05, smooth=1.5, change=2.0)
    aim = replace(AIM, pairs=pairs, sights=AIM.sights[:1])
    engine = Engine(picture, start_for(24, palette), palette, aim, None, settle=False)
    engine.refresh()
    plan, cells = engine._plan(aim.speck_price, 0), engine.cells

    def neighbours(y: int, x: int) -> float:
        specks = float(plan.speck) * specks_around(cells, y, x)
        return pair_cost(engine.scene, engine.state, plan, y, x, cells[y, x]) + specks

    def whole() -> float:
        return total_cost(engine.scene, engine.state, plan)

    rng = np.random.default_rng(5)
    for y, x in rng.integers(0, 24, (25, 2)):
        before, own = whole(), neighbours(y, x)
        cells[y, x] = rng.integers(0, 40)  # what the views see is left as it was
        assert whole() - before == pytest.approx(neighbours(y, x) - own, abs=1e-2)


def test_a_price_on_changes_along_rows_leaves_fewer_of_them() -> None:
    palette, picture = make_palette(48, seed=8), photo(40)
    start = start_for(40, palette)
    plates = [
        search(picture, start, palette, replace(AIM, pairs=replace(AIM.pairs, change=p)))
        for p in (0.0, 4.0)
    ]
    free, paid = (colour_changes(cells) for cells in plates)
    assert paid < 0.9 * free


def test_price_and_share_of_specks() -> None:
    palette, picture = make_palette(48, seed=8), photo(40)
    start = start_for(40, palette)
    free, few = (
        search(picture, start, palette, replace(AIM, speck_price=p), effort=SHORT)
        for p in (0.0, 10.0)
    )
    assert speck_share(few) < 0.5 * speck_share(free)
    for most in (0.12, 0.03):
        held = search_with_specks(picture, start, palette, AIM, most, effort=SHORT)
        assert 0.4 * most < speck_share(held) <= most


def test_empty_and_bound_cells_stay_as_they_are() -> None:
    palette, picture = make_palette(24, seed=9), photo(30)
    rng = np.random.default_rng(3)
    start = start_for(30, palette)
    start[rng.random(start.shape) < 0.2] = -1
    free = rng.random(start.shape) < 0.7
    found = search(picture, start, palette, AIM, free=free, effort=SHORT)
    np.testing.assert_array_equal(found[~free], start[~free])
    np.testing.assert_array_equal(found < 0, start < 0)
    assert (found != start).any()


def test_it_stops_when_told_with_the_best_so_far() -> None:
    palette, picture = make_palette(24, seed=10), photo(24)
    start = start_for(24, palette)
    seen: list[float] = []

    def watch(done: float, cells: np.ndarray) -> bool:
        seen.append(done)
        assert cells.shape == start.shape
        return len(seen) == 2

    found = search(picture, start, palette, AIM, watch=watch)
    assert len(seen) == 2
    assert cost(found, picture, palette) < cost(start, picture, palette)


@pytest.mark.parametrize("shape", [(1, 1), (1, 7), (5, 1), (2, 3)])
def test_plates_smaller_than_any_filter(shape: tuple[int, int]) -> None:
    palette = make_palette(6, seed=11)
    rgb = np.random.default_rng(1).random((*shape, 3)).astype(np.float32)
    grid = Grid(rgb, np.ones(shape, np.float32))
    start = nearest(rgb, palette, difference="hyab")
    found = search(finer(grid, 3), start, palette, AIM)
    picture = finer(grid, 6)
    assert cost(found, picture, palette) <= cost(start, picture, palette) * 1.02


def test_fewer_colours_are_chosen_and_the_same_ones_each_time() -> None:
    palette = make_palette(30, seed=4)
    start, picture = start_for(20, palette), photo(20)
    before = start.copy()
    chosen = choose_colours(picture, start, palette, AIM, 5)
    assert len(chosen) == len(set(chosen.tolist())) == 5
    np.testing.assert_array_equal(chosen, choose_colours(picture, start, palette, AIM, 5))
    np.testing.assert_array_equal(start, before)
    all_used = choose_colours(picture, start, palette, AIM, 30)
    assert len(all_used) > 5


def test_colours_that_fixed_cells_need_are_kept() -> None:
    palette = make_palette(12, seed=4)
    start = start_for(20, palette)
    start[:2] = 11
    free = np.ones((20, 20), bool)
    free[:2] = False
    assert 11 in choose_colours(photo(20), start, palette, AIM, 4, free=free)


def test_a_stated_distance_shifts_the_weights_to_it() -> None:
    near, far = aim_for("balanced", 0.5), aim_for("balanced", 6.0)
    assert sum(s.weight for s in near.sights) == pytest.approx(sum(s.weight for s in AIM.sights))
    assert near.sights[0].weight > AIM.sights[0].weight > far.sights[0].weight
    assert {s.metres for s in far.sights} == {0.7, 6.0, 0.5, 2.0}
    assert aim_for(TRUE, 3.0).sights[0].meter == S_CIELAB
