"""Preview and swatches, by decoded pixels."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from support import make_palette, make_plate

from img2plate.colour.palette import Bead, Palette
from img2plate.colour.spaces import srgb2linear
from img2plate.plate.plate import Plate
from img2plate.typeset.beads import loose, pressed, stamp, stamp_pressed
from img2plate.typeset.preview import draw_picture, draw_preview, write_preview
from img2plate.typeset.swatches import draw_swatches


def test_a_loose_bead_is_a_ring_of_its_colour_round_a_hole() -> None:
    palette = make_palette(3)
    picture = loose(palette, 20)
    assert picture.shape == (4, 20, 20, 3)
    ring = picture[:3, 10, 2].astype(int)
    assert np.abs(ring - palette.srgb).max() < 60
    np.testing.assert_array_equal(picture[0, 9:11, 9:11], picture[3, 9:11, 9:11])
    np.testing.assert_array_equal(picture[0, 0, 0], picture[3, 0, 0])


def test_light_comes_from_the_upper_left() -> None:
    grey = np.argmin(np.abs(make_palette(50).srgb.astype(int) - 128).max(axis=1))
    bead = loose(make_palette(50), 24)[grey].astype(int).sum(axis=2)
    assert bead[4, 4] > bead[19, 19]


def test_holes_close_as_the_plate_gets_thinner() -> None:
    """Volume is kept: open at 4 mm, closed by 2.8 mm (worked out from the bead's size)."""
    palette = make_palette(2)
    open_hole, closed = pressed(palette, 24, 4.0), pressed(palette, 24, 2.8)
    ground, hole = open_hole[-1, 0, 0].astype(int), open_hole[0, 12, 12].astype(int)
    # Ground in shadow: neutral as it is, and darker.
    assert np.ptp(hole) < 10
    assert hole.sum() < 0.75 * ground.sum()
    assert not (closed[0, 12, 12] == hole).all()
    assert not (closed[0] == ground).all(axis=2).any()


def test_stamps_are_laid_cell_by_cell() -> None:
    stamps = np.arange(3 * 2 * 2 * 3, dtype=np.uint8).reshape(3, 2, 2, 3)
    cells = np.array([[0, 1], [-1, 0]], np.int16)
    picture = stamp(cells, stamps)
    np.testing.assert_array_equal(picture[:2, 2:], stamps[1])
    np.testing.assert_array_equal(picture[2:, :2], stamps[2])


def test_preview_is_bounded_and_the_same_each_time(tmp_path: Path) -> None:
    plate = make_plate(300, 200)
    write_preview(tmp_path / "a.png", plate)
    write_preview(tmp_path / "b.png", plate)
    assert (tmp_path / "a.png").read_bytes() == (tmp_path / "b.png").read_bytes()
    with Image.open(tmp_path / "a.png") as image:
        assert max(image.size) < 2600
    tiny = Plate(np.zeros((1, 1), np.int16), make_palette(1))
    assert min(draw_preview(tiny).size) > 60


def ring(*indices: int) -> Plate:
    """A disc of one bead round another."""
    greys = Palette("greys", tuple(Bead(f"g{v}", "", (v, v, v)) for v in (248, 236, 160, 24, 12)))
    cells = np.full((9, 9), indices[1], np.int16)
    cells[2:7, 2:7] = indices[0]
    cells[[0, 0, -1, -1], [0, -1, 0, -1]] = -1
    return Plate(cells, greys)


@pytest.mark.parametrize("edge", [0, 1, 2, 3, 4])
def test_every_plate_stands_off_its_ground(edge: int) -> None:
    """Near-white, grey or black at the edge: the ground differs, and the light one is preferred."""
    for plate in (ring(0, edge), ring(4, edge)):
        picture = np.asarray(draw_picture(plate))
        ground = picture[2, 2].astype(int)
        middle = picture[picture.shape[0] // 2]
        first = np.flatnonzero(np.abs(middle.astype(int) - ground).max(axis=1) > 24)[0]
        assert first < 80  # the edge of the plate is seen where it is
        assert (ground > 200).all() == (edge not in (0, 1))


def test_a_dark_plate_is_not_bleached_by_its_holes() -> None:
    """Under 7% of the light; with the bare ground in its holes it was 20%."""
    plate = Plate(np.zeros((12, 12), np.int16), Palette("dark", (Bead("d", "", (20, 22, 30)),)))
    seen = stamp_pressed(plate.cells, pressed(plate.palette, 24, 4.0))
    assert srgb2linear(seen[24:-24, 24:-24] / 255).mean() < 0.07


def test_swatches_show_every_colour() -> None:
    palette = make_palette(30)
    seen = np.asarray(draw_swatches(palette)).reshape(-1, 3).astype(int)
    for colour in palette.srgb:
        assert (np.abs(seen - colour).max(axis=1) < 26).any()
