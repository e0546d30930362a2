"""Error diffusion on a case worked by hand, and by rules that always hold."""

from __future__ import annotations

import numpy as np
import pytest
from PIL import Image
from support import make_palette, read_table

from img2plate.base.errors import OptionError
from img2plate.colour.palette import Bead, Palette
from img2plate.image.grid import Grid
from img2plate.plate.shade import shading as front
from img2plate.plate.shade.diffuse import KERNELS, diffuse
from img2plate.plate.shade.shading import SHADINGS, ShadingOptions

BLACK_WHITE = Palette("two", (Bead("k", "k", (0, 0, 0)), Bead("w", "w", (255, 255, 255))))
MIDDLE = 0.18418651851244416
"""Linear light of L* = 50 (CIE 15: ((50 + 16) / 116)^3): nearer to white above, to black below."""


def shade(
    grid: Grid, palette: Palette, *, shading: str, strength: float = 1.0, seed: int = 0
) -> np.ndarray:
    options = ShadingOptions(shading, strength=strength, seed=seed)
    return front.shade(grid, palette, options).cells


def grey_grid(light: np.ndarray) -> Grid:
    rgb = np.repeat(light[..., None], 3, axis=2).astype(np.float32)
    return Grid(rgb, np.ones(light.shape, np.float32))


def test_floyd_steinberg_on_six_cells_worked_by_hand() -> None:
    """Floyd and Steinberg 1976: 7, 3, 5, 1 sixteenths; the second row from the right (serpentine).

    Targets .20 .10 .30 over .10 .20 .10; white from .184 up.
    Row 1 from the left. .20: white, misses -.8: right -.35, below -.25, below right -.05.
        .10 - .35 = -.25: black, misses -.25: right -.1094, below left -.0469, below -.0781, below
        right -.0156. .30 - .1094 = .1906: white, misses -.8094: below left -.1518, below -.2529.
    Row 2 from the right. .10 - .0156 - .2529 = -.1686: black, left gets -.0737.
        .20 - .05 - .0781 - .1518 - .0737 = -.1536: black, left gets -.0672. The last: black.
    Without the neighbours' error (strength 0) .20 in row 2 is white.
    """
    light = np.array([[0.20, 0.10, 0.30], [0.10, 0.20, 0.10]])
    cells = shade(grey_grid(light), BLACK_WHITE, shading="floyd-steinberg")
    np.testing.assert_array_equal(cells, [[1, 0, 1], [0, 0, 0]])
    weaker = shade(grey_grid(light), BLACK_WHITE, shading="floyd-steinberg", strength=0.0)
    np.testing.assert_array_equal(weaker, [[1, 0, 1], [0, 1, 0]])


def test_serpentine_turns_the_kernel_over() -> None:
    """.20 .22: from the right .22 is white and starves .20, from the left the other way round."""
    pair = [0.20, 0.22]
    first = shade(grey_grid(np.array([pair])), BLACK_WHITE, shading="floyd-steinberg")
    second = shade(grey_grid(np.array([[0.0, 0.0], pair])), BLACK_WHITE, shading="floyd-steinberg")
    assert first[0].tolist() == [1, 0]
    assert second[1].tolist() == [0, 1]


@pytest.mark.parametrize("strength", [1.0, 0.6])
def test_floyd_steinberg_is_the_plain_loop_of_the_paper(strength: float) -> None:
    """Written again cell by cell, on grey ramps without hard edges."""
    rng = np.random.default_rng(9)
    light = 0.2 + 0.3 * rng.random((12, 17))
    want, cells = light.copy(), np.zeros(light.shape, int)
    for y in range(12):
        step = 1 if y % 2 == 0 else -1
        for x in range(17)[::step]:
            cells[y, x] = want[y, x] > MIDDLE
            miss = strength * (want[y, x] - cells[y, x])
            for dx, dy, share in ((1, 0, 7), (-1, 1, 3), (0, 1, 5), (1, 1, 1)):
                if 0 <= x + dx * step < 17 and y + dy < 12:
                    want[y + dy, x + dx * step] += miss * share / 16
    ours = shade(grey_grid(light), BLACK_WHITE, shading="floyd-steinberg", strength=strength)
    np.testing.assert_array_equal(ours, cells)


@pytest.mark.parametrize("name", sorted(KERNELS))
def test_kernels_are_the_published_ones(name: str) -> None:
    rows = [r for r in read_table("error-diffusion.csv") if r["kernel"].startswith(name)]
    rows = [r for r in rows if r["kernel"] in (name, f"{name}-3")]
    published = {(int(r["dx"]), int(r["dy"]), int(r["weight"])) for r in rows}
    assert set(KERNELS[name].weights) == published
    assert {int(r["divisor"]) for r in rows} == {KERNELS[name].divisor}


@pytest.mark.parametrize("name", sorted(KERNELS))
def test_one_cell_hands_on_the_published_shares(name: str) -> None:
    """A bright cell in the middle of black: what black cells after it are owed, seen by a ramp.

    Cells are grey just below the border; those that get enough error turn white first.
    """
    kernel = KERNELS[name]
    width = max(dx for dx, *_ in kernel.weights)
    light = np.full((1, 1 + width), MIDDLE - 0.02)
    light[0, 0] = MIDDLE - 0.001
    owed = {dx: weight / kernel.divisor for dx, dy, weight in kernel.weights if dy == 0}
    cells = shade(grey_grid(light), BLACK_WHITE, shading=name)
    want = list(light[0])
    for x in range(1 + width):
        made = want[x] > MIDDLE
        assert cells[0, x] == made
        for dx, share in owed.items():
            if x + dx <= width:
                want[x + dx] += (want[x] - made) * share


@pytest.mark.parametrize("name", sorted(KERNELS))
def test_light_is_kept_over_a_flat_area(name: str) -> None:
    kernel = KERNELS[name]
    share = sum(weight for *_, weight in kernel.weights) / kernel.divisor
    assert share == pytest.approx(1.0) or name == "atkinson"
    if share == pytest.approx(1.0):
        cells = diffuse(np.full((64, 64, 3), 0.3), np.ones((64, 64), bool), BLACK_WHITE, kernel)
        assert (cells == 1).mean() == pytest.approx(0.3, abs=0.02)


def test_a_picture_in_palette_colours_alone_is_left_as_it_is() -> None:
    """Nothing is missed, so nothing is handed on, whatever the kernel; Pillow does the same."""
    rng = np.random.default_rng(4)
    palette = make_palette(9, seed=2)
    cells = rng.integers(0, 9, (14, 18)).astype(np.int16)
    grid = Grid(palette.linear.astype(np.float32)[cells], np.ones(cells.shape, np.float32))
    for name in KERNELS:
        np.testing.assert_array_equal(shade(grid, palette, shading=name), cells)
    table = Image.new("P", (1, 1))
    table.putpalette(np.vstack([palette.srgb, np.repeat(palette.srgb[-1:], 247, 0)]).tobytes())
    pillow = Image.fromarray(palette.srgb[cells]).quantize(palette=table)
    np.testing.assert_array_equal(np.array(pillow.convert("RGB")), palette.srgb[cells])


def test_error_does_not_pass_a_hard_edge() -> None:
    light = np.full((20, 40), 0.03)
    light[:, 20:] = 0.95
    cells = shade(grey_grid(light), BLACK_WHITE, shading="floyd-steinberg")
    alone = shade(grey_grid(light[:, 20:]), BLACK_WHITE, shading="floyd-steinberg")
    dark = shade(grey_grid(light[:, :20]), BLACK_WHITE, shading="floyd-steinberg")
    assert (cells[:, 20:] == 1).sum() == (alone == 1).sum()
    assert (cells[:, :20] == 1).sum() == (dark == 1).sum()


def test_cells_without_a_bead_stay_empty_and_take_no_error() -> None:
    rng = np.random.default_rng(1)
    grid = Grid(
        rng.random((30, 30, 3), dtype=np.float32),
        (rng.random((30, 30)) > 0.4).astype(np.float32),
    )
    for shading in SHADINGS:
        cells = shade(grid, BLACK_WHITE, shading=shading)
        assert set(np.unique(cells)) <= {-1, 0, 1}
        np.testing.assert_array_equal(cells >= 0, grid.filled)
        assert cells.dtype == np.int16


def test_unknown_shading_and_strength() -> None:
    grid = grey_grid(np.zeros((2, 2)))
    with pytest.raises(OptionError, match="stripes"):
        shade(grid, BLACK_WHITE, shading="stripes")
    with pytest.raises(OptionError, match="`strength`"):
        shade(grid, BLACK_WHITE, shading="none", strength=1.5)
