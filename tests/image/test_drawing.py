"""Drawings on their cells: few flat colours, whole lines, sharp corners, nothing in between."""

from __future__ import annotations

import numpy as np
import pytest
from drawn_pictures import EACH, anchor, letter, line, on_cells, softly
from PIL import ImageDraw
from plain_pictures import LETTERS
from scipy.ndimage import label

from img2plate.colour.spaces import linear2bytes
from img2plate.image.drawing.drawn import draw_cells
from img2plate.image.drawing.mixes import share_of_line
from img2plate.image.drawing.paths import line_cells
from img2plate.image.drawing.place import mirrored
from img2plate.image.grid import Grid
from img2plate.image.sample import sample
from img2plate.image.sizing import Framing


def shown(grid: Grid) -> np.ndarray:
    """(h, w, 3) bytes."""
    return linear2bytes(grid.rgb)


@pytest.mark.parametrize("degrees", [0, 8, 22, 45, 63, 90, 117, 160])
@pytest.mark.parametrize("width", [0.3, 0.6, 0.9, 1.2])
def test_a_line_is_whole_and_in_its_own_colour(width: float, degrees: float) -> None:
    for shift in (0.0, 0.5, 0.3):
        grid = on_cells(line(width, degrees, shift)).grid
        levels = shown(grid)[..., 0]
        assert ((levels < 16) | (levels == 255)).all()
        dark = levels < 16
        _, pieces = label(dark, np.ones((3, 3)))
        assert pieces == 1
        height, across = (np.ptp(np.nonzero(dark)[axis]) + 1 for axis in (0, 1))
        assert max(height, across) >= 18 * max(abs(np.cos(np.radians(degrees))), 0.7) - 1.6
        if width < 1:
            assert dark.sum() <= 1.15 * max(height, across) + 1, "one bead wide"


def test_letters_of_whole_beads_come_out_bead_for_bead() -> None:
    """BAY 7, 7 beads high and a third of a bead off the pegs: the cells are moved to them."""
    truth = np.zeros((13, 30), np.bool_)
    for place, sign in enumerate("BAY7"):
        bits = [[bit == "1" for bit in row] for row in LETTERS[sign].split()]
        truth[3:10, 2 + 6 * place : 7 + 6 * place] = bits
    pixels = np.full((13 * EACH, 30 * EACH, 4), 255, np.uint8)
    pixels[truth.repeat(EACH, 0).repeat(EACH, 1), :3] = (23, 58, 107)
    drawn = on_cells(np.roll(pixels, (3, 3), axis=(0, 1)))
    assert drawn.framing.box[:2] == pytest.approx((3, 3), abs=1.01)
    np.testing.assert_array_equal(shown(drawn.grid)[..., 0] < 100, truth)


def test_letters_seven_beads_high_are_told_apart() -> None:
    """Each is more like its own outline than like any other letter's, moved by up to a bead.

    Z is left out: in this typeface it is a 2 with a corner.
    """
    signs = "ABDEFHKLMNOPRSTUVXY234579"
    plates = {s: (shown(on_cells(letter(s, 7)).grid)[..., 0] < 128) * 1.0 for s in signs}
    outlines = {s: _coverage(letter(s, 7)) for s in signs}
    for sign, plate in plates.items():
        likeness = {other: _alike(plate, outline) for other, outline in outlines.items()}
        assert max(likeness, key=likeness.__getitem__) == sign


def _coverage(pixels: np.ndarray) -> np.ndarray:
    """(h, w) how much of each cell is ink."""
    ink = 1 - (pixels[..., 0] - 23.0) / (242 - 23)
    return ink.reshape(12, EACH, 12, EACH).mean(axis=(1, 3))


def _alike(plate: np.ndarray, outline: np.ndarray) -> float:
    """Best correlation over moves of a bead."""
    moves = [(y, x) for y in (-1, 0, 1) for x in (-1, 0, 1)]
    return max(
        float(np.corrcoef(np.roll(plate, move, (0, 1)).ravel(), outline.ravel())[0, 1])
        for move in moves
    )


@pytest.mark.parametrize("middle", [15.0, 14.5, 15.2, 14.7])
def test_a_symmetric_drawing_stays_symmetric(middle: float) -> None:
    grid = on_cells(anchor(middle)).grid
    columns = np.flatnonzero(grid.filled.any(axis=0))
    part = np.s_[:, columns[0] : columns[-1] + 1]
    assert (grid.filled[part] == grid.filled[part][:, ::-1]).all()
    assert (shown(grid)[part] == shown(grid)[part][:, ::-1]).all()
    assert len(np.unique(shown(grid)[grid.filled], axis=0)) == 2


def test_soft_edges_are_no_colours_and_a_real_grey_is_one() -> None:
    def draw(pen: ImageDraw.ImageDraw, cell: float) -> None:
        pen.rectangle((4.3 * cell, 4.3 * cell, 11.6 * cell, 15 * cell), fill="#000000")
        pen.rectangle((14.4 * cell, 4.3 * cell, 19 * cell, 15 * cell), fill="#808080")

    levels = shown(on_cells(softly((24, 20), "#ffffff", draw)).grid)[..., 0]
    assert set(np.unique(levels)) == {0, 128, 255}
    around_black = levels[3:17, 3:13]
    assert set(np.unique(around_black)) == {0, 255}, "no grey rim round black"


def test_thin_lines_on_nothing_get_beads() -> None:
    def draw(pen: ImageDraw.ImageDraw, cell: float) -> None:
        pen.ellipse((3 * cell, 3 * cell, 21 * cell, 21 * cell), outline="black",
                    width=round(0.4 * cell))  # fmt: skip

    grid = on_cells(softly((24, 24), "#00000000", draw)).grid
    _, pieces = label(~grid.filled)
    assert pieces == 2, "a whole ring parts inside from outside"
    assert (shown(grid)[grid.filled] == 0).all()


def test_a_margin_round_a_drawing_stays_empty() -> None:
    def draw(pen: ImageDraw.ImageDraw, cell: float) -> None:
        pen.rectangle((5 * cell, 5 * cell, 12 * cell, 12 * cell), fill="black")

    pixels = softly((20, 20), "#e0e0d0", draw)
    drawn = draw_cells(pixels, Framing((30, 20), (-50.0, 0.0, 250.0, 200.0)), source="")
    assert drawn is not None
    wanted = np.zeros((20, 30), np.bool_)
    wanted[:, 5:25] = True
    np.testing.assert_array_equal(drawn.grid.filled, wanted)


def test_a_gradient_is_averaged_and_lines_in_it_stay() -> None:
    part = np.linspace(60, 230, 24 * EACH)
    pixels = np.full((20 * EACH, 24 * EACH, 4), 255, np.uint8)
    pixels[..., 0], pixels[..., 1] = part, 40 + part / 2
    pixels[8 * EACH + 2 : 8 * EACH + 7, 2 * EACH : -2 * EACH, :3] = 0
    grid = on_cells(pixels).grid
    assert grid.flat is not None
    means = sample(pixels, Framing((24, 20), (0.0, 0.0, 240.0, 200.0))).rgb
    np.testing.assert_allclose(grid.rgb[12:, 2:-2], means[12:, 2:-2], atol=0.03)
    assert (grid.rgb[:, 4:-4].max(axis=2) < 0.01).any(axis=0).all(), "the line is whole"
    assert (grid.flat[12:] == -1).all()


def test_a_picture_without_flat_areas_is_left_to_averages() -> None:
    noise = np.random.default_rng(0).integers(0, 256, (200, 200, 4), dtype=np.uint8)
    noise[..., 3] = 255
    assert draw_cells(noise, Framing((20, 20), (0.0, 0.0, 200.0, 200.0)), source="") is None


def test_a_step_of_a_line_is_one_bead_and_a_corner_stays() -> None:
    step = np.zeros((1, 6, 6), np.float32)
    step[0, 2, :3], step[0, 3, 3:], step[0, 3, 2] = 1, 1, 0.2
    assert not line_cells(step)[0, 3, 2]
    corner = np.zeros((1, 6, 6), np.float32)
    corner[0, 2, :4], corner[0, 2:, 3] = 1, 1
    corner[0, 2, 3] = 0.7
    assert line_cells(corner)[0, 2, 3]


def test_mirroring_keeps_the_left_half() -> None:
    cells = np.arange(10, dtype=np.int16).reshape(2, 5)
    np.testing.assert_array_equal(mirrored(cells, 2.5 * EACH, EACH)[0], [0, 1, 2, 1, 0])
    np.testing.assert_array_equal(mirrored(cells, 2 * EACH, EACH)[0], [0, 1, 1, 0, 4])
    np.testing.assert_array_equal(mirrored(cells, None, EACH), cells)


def test_the_share_of_a_line_between_two_sides_is_found() -> None:
    line, one, two = (np.array(c, np.float32) for c in ([0, 0, 0, 255], [255] * 4, [0] * 4))
    mixed = (0.5 * line + 0.3 * one + 0.2 * two)[None]
    share, off = share_of_line(mixed, line, one[None], two[None])
    assert share[0] == pytest.approx(0.5, abs=1e-3)
    assert off[0] == pytest.approx(0, abs=0.1)
